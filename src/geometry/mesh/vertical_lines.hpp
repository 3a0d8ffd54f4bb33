// SPDX-License-Identifier: GPL-3.0-or-later
// Which triangles does each of some vertical lines cross? The lines are binned on a grid and the
// triangles streamed past them, so no tree over the mesh is built and every answer is exact.
#pragma once

#include "geometry/mesh/predicates.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <span>
#include <vector>

namespace pourwright {

/// Orientation in plan of triangle abc: the sign of its normal's z, exactly.
inline int plan_orientation(const Vec3& a, const Vec3& b, const Vec3& c) {
  return orient2d(a.x(), a.y(), b.x(), b.y(), c.x(), c.y());
}

/// A vertical line, moved aside by nothing measurable so that it never meets an edge or a vertex: first a
/// little from `at` towards `toward` (only its x and y count; may be `at` itself), then by (ε, ε²). A line
/// through an edge or a vertex of a surface so crosses exactly one triangle of each sheet.
struct VerticalLine {
  Vec3 at, toward;
};

/// Is the line left of the directed line ab in plan? Never "on" it unless a and b coincide in plan.
inline bool left_of(const Vec3& a, const Vec3& b, const VerticalLine& l) {
  if (const int s = orient2d(a.x(), a.y(), b.x(), b.y(), l.at.x(), l.at.y()); s != 0) return s > 0;
  if (const int s = orient2d(a.x(), a.y(), b.x(), b.y(), l.toward.x(), l.toward.y()); s != 0) return s > 0;
  if (a.y() != b.y()) return b.y() < a.y();
  return b.x() > a.x();
}

/// Does the line cross triangle abc, whose plan orientation is `sign` (not 0)?
inline bool crosses(const Vec3& a, const Vec3& b, const Vec3& c, int sign, const VerticalLine& l) {
  const bool left = sign > 0;
  return left_of(a, b, l) == left && left_of(b, c, l) == left && left_of(c, a, l) == left;
}

/// Which of two planes is higher where the line meets them: +1 when that of s is, −1 when that of t is, 0
/// when they are one plane. Exact. Precondition: neither is vertical.
inline int compare_heights(const std::array<Vec3, 3>& s, const std::array<Vec3, 3>& t,
                           const VerticalLine& l) {
  struct Estimate {
    double z, error;
  };
  const auto estimate = [&l](const std::array<Vec3, 3>& c) {
    constexpr double unit = 4.5e-16;  // four roundings
    const Vec3 u = c[1] - c[0], v = c[2] - c[0];
    const double dx = l.at.x() - c[0].x(), dy = l.at.y() - c[0].y();
    const double nz = u.x() * v.y() - u.y() * v.x();
    const double nz_error = unit * (std::abs(u.x() * v.y()) + std::abs(u.y() * v.x()));
    const double rise = (u.z() * v.y() - u.y() * v.z()) * dx + (u.x() * v.z() - u.z() * v.x()) * dy;
    const double rise_error = 2 * unit *
                              ((std::abs(u.z() * v.y()) + std::abs(u.y() * v.z())) * std::abs(dx) +
                               (std::abs(u.x() * v.z()) + std::abs(u.z() * v.x())) * std::abs(dy));
    const double q = rise / nz;
    const double left = std::abs(nz) - nz_error;
    const double error =
        left > 0 ? (rise_error + std::abs(q) * nz_error) / left : std::numeric_limits<double>::infinity();
    return Estimate{c[0].z() + q, error + unit * (std::abs(c[0].z()) + std::abs(q))};
  };
  const Estimate a = estimate(s), b = estimate(t);
  if (a.z - b.z > a.error + b.error) return 1;
  if (b.z - a.z > a.error + b.error) return -1;
  return compare_heights_exact(s, t, l.at, l.toward);
}

/// Is p above (+1), on (0) or below (−1) the plane of abc? Exact. Precondition: plan orientation `sign` is
/// not 0.
inline int above_plane(const Vec3& a, const Vec3& b, const Vec3& c, int sign, const Vec3& p) {
  return sign * orient3d(a, b, c, p);
}

/// Calls visit(line number, triangle number, plan orientation ±1) for every crossing, triangles in order.
/// Vertical triangles are never crossed. O(lines + triangles + tested pairs); a pair is tested when the line
/// lies in a grid cell that the triangle's plan box touches.
template <class Visit>
void for_each_crossing(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                       std::span<const VerticalLine> lines, Visit&& visit) {
  if (lines.empty()) return;
  double x0 = lines[0].at.x(), x1 = x0, y0 = lines[0].at.y(), y1 = y0;
  for (const auto& [p, toward] : lines) {
    x0 = std::min(x0, p.x());
    x1 = std::max(x1, p.x());
    y0 = std::min(y0, p.y());
    y1 = std::max(y1, p.y());
  }
  const auto side =
      static_cast<std::size_t>(std::clamp(std::sqrt(static_cast<double>(lines.size())), 1.0, 2048.0));
  const double fx = x1 > x0 ? static_cast<double>(side) / (x1 - x0) : 0;
  const double fy = y1 > y0 ? static_cast<double>(side) / (y1 - y0) : 0;
  const auto cell = [side](double v, double low, double f) {
    const double c = (v - low) * f;  // may be far outside, or 0·∞ at the low end
    return !(c > 0)                         ? std::size_t{0}
           : c >= static_cast<double>(side) ? side - 1
                                            : static_cast<std::size_t>(c);
  };
  std::vector<Index> start(side * side + 1, 0), order(lines.size());
  const auto bin = [&](const Vec3& p) { return cell(p.y(), y0, fy) * side + cell(p.x(), x0, fx); };
  for (const VerticalLine& l : lines) ++start[bin(l.at)];
  Index sum = 0;
  for (Index& s : start) s = sum += s;
  for (std::size_t i = lines.size(); i-- > 0;) order[--start[bin(lines[i].at)]] = static_cast<Index>(i);

  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Vec3 &a = vertices[triangles[t][0]], &b = vertices[triangles[t][1]], &c = vertices[triangles[t][2]];
    const double tx0 = std::min({a.x(), b.x(), c.x()}), tx1 = std::max({a.x(), b.x(), c.x()});
    const double ty0 = std::min({a.y(), b.y(), c.y()}), ty1 = std::max({a.y(), b.y(), c.y()});
    if (tx1 < x0 || tx0 > x1 || ty1 < y0 || ty0 > y1) continue;
    int sign = 2;  // not known yet
    const std::size_t cx0 = cell(tx0, x0, fx), cx1 = cell(tx1, x0, fx);
    for (std::size_t cy = cell(ty0, y0, fy), cy1 = cell(ty1, y0, fy); cy <= cy1; ++cy) {
      for (Index i = start[cy * side + cx0]; i < start[cy * side + cx1 + 1]; ++i) {
        const Vec3& p = lines[order[i]].at;
        if (p.x() < tx0 || p.x() > tx1 || p.y() < ty0 || p.y() > ty1) continue;
        if (sign == 2) sign = plan_orientation(a, b, c);
        if (sign != 0 && crosses(a, b, c, sign, lines[order[i]]))
          visit(order[i], static_cast<Index>(t), sign);
      }
      if (sign == 0) break;
    }
  }
}

}  // namespace pourwright

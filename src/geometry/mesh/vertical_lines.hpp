// SPDX-License-Identifier: GPL-3.0-or-later
// Which triangles does the vertical line through each of some points cross? The points are binned on a grid and the
// triangles streamed past them, so no tree over the mesh is built and every answer is exact.
#pragma once

#include <algorithm>
#include <span>
#include <vector>

#include "geometry/mesh/predicates.hpp"

namespace pourwright {

/// Orientation in plan of triangle abc: the sign of its normal's z, exactly.
inline int plan_orientation(const Vec3& a, const Vec3& b, const Vec3& c) {
  return orient2d(a.x(), a.y(), b.x(), b.y(), c.x(), c.y());
}

/// Is p, moved by (ε, ε²), left of the directed line ab in plan? Symbolic perturbation: never "on" it unless a and b
/// coincide in plan, so a line through an edge or a vertex of a surface crosses exactly one triangle of each sheet.
inline bool left_of(const Vec3& a, const Vec3& b, const Vec3& p) {
  const int s = orient2d(a.x(), a.y(), b.x(), b.y(), p.x(), p.y());
  if (s != 0) return s > 0;
  const double dy = b.y() - a.y();
  if (dy != 0) return dy < 0;
  return b.x() - a.x() > 0;
}

/// Does the vertical line through the perturbed p cross triangle abc, whose plan orientation is `sign` (not 0)?
inline bool crosses(const Vec3& a, const Vec3& b, const Vec3& c, int sign, const Vec3& p) {
  const bool left = sign > 0;
  return left_of(a, b, p) == left && left_of(b, c, p) == left && left_of(c, a, p) == left;
}

/// Height of the plane of abc above (x, y). Precondition: plan_orientation is not 0.
inline double height_at(const Vec3& a, const Vec3& b, const Vec3& c, double x, double y) {
  const Vec3 n = (b - a).cross(c - a);
  return a.z() - (n.x() * (x - a.x()) + n.y() * (y - a.y())) / n.z();
}

/// Is p above (+1), on (0) or below (−1) the plane of abc? Exact. Precondition: plan orientation `sign` is not 0.
inline int above_plane(const Vec3& a, const Vec3& b, const Vec3& c, int sign, const Vec3& p) {
  return sign * orient3d(a, b, c, p);
}

/// Calls visit(point number, triangle number, plan orientation ±1) for every crossing, triangles in order.
/// Vertical triangles are never crossed. O(points + triangles + tested pairs); a pair is tested when the point lies in
/// a grid cell that the triangle's plan box touches.
template <class Visit>
void for_each_crossing(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                       std::span<const Vec3> points, Visit&& visit) {
  if (points.empty()) return;
  double x0 = points[0].x(), x1 = x0, y0 = points[0].y(), y1 = y0;
  for (const Vec3& p : points) {
    x0 = std::min(x0, p.x());
    x1 = std::max(x1, p.x());
    y0 = std::min(y0, p.y());
    y1 = std::max(y1, p.y());
  }
  const auto side = static_cast<std::size_t>(
      std::clamp(std::sqrt(static_cast<double>(points.size())), 1.0, 2048.0));
  const double fx = x1 > x0 ? static_cast<double>(side) / (x1 - x0) : 0;
  const double fy = y1 > y0 ? static_cast<double>(side) / (y1 - y0) : 0;
  const auto cell = [side](double v, double low, double f) {
    const double c = (v - low) * f;
    return c <= 0 ? std::size_t{0} : std::min(side - 1, static_cast<std::size_t>(c));
  };
  std::vector<Index> start(side * side + 1, 0), order(points.size());
  const auto bin = [&](const Vec3& p) { return cell(p.y(), y0, fy) * side + cell(p.x(), x0, fx); };
  for (const Vec3& p : points) ++start[bin(p)];
  Index sum = 0;
  for (Index& s : start) s = sum += s;
  for (std::size_t i = points.size(); i-- > 0;) order[--start[bin(points[i])]] = static_cast<Index>(i);

  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Vec3 &a = vertices[triangles[t][0]], &b = vertices[triangles[t][1]], &c = vertices[triangles[t][2]];
    const double tx0 = std::min({a.x(), b.x(), c.x()}), tx1 = std::max({a.x(), b.x(), c.x()});
    const double ty0 = std::min({a.y(), b.y(), c.y()}), ty1 = std::max({a.y(), b.y(), c.y()});
    if (tx1 < x0 || tx0 > x1 || ty1 < y0 || ty0 > y1) continue;
    int sign = 2;  // not known yet
    const std::size_t cx0 = cell(tx0, x0, fx), cx1 = cell(tx1, x0, fx);
    for (std::size_t cy = cell(ty0, y0, fy), cy1 = cell(ty1, y0, fy); cy <= cy1; ++cy) {
      for (Index i = start[cy * side + cx0]; i < start[cy * side + cx1 + 1]; ++i) {
        const Vec3& p = points[order[i]];
        if (p.x() < tx0 || p.x() > tx1 || p.y() < ty0 || p.y() > ty1) continue;
        if (sign == 2) sign = plan_orientation(a, b, c);
        if (sign != 0 && crosses(a, b, c, sign, p)) visit(order[i], static_cast<Index>(t), sign);
      }
      if (sign == 0) break;
    }
  }
}

}  // namespace pourwright

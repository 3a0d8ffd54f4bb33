// SPDX-License-Identifier: GPL-3.0-or-later
// Which way is up, when nobody says so.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/patches.hpp"
#include "geometry/mesh/edges.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include <Eigen/Eigenvalues>
#include <fmt/format.h>

namespace pourwright {
namespace {

/// Another axis must hold this much more than the one modelled: dents in a bottom are no reason to turn a
/// mold that holds the same both ways up.
constexpr double clearly_more = 1.02;
/// Each step towards the face of the hull looks at every vertex once; a dozen are usual.
constexpr int most_pivots = 64;

/// The axis directions, the one that is usually modelled first.
constexpr std::array<std::string_view, 6> names{"+z", "-z", "+y", "-y", "+x", "-x"};
const std::array<Vec3, 6> axes{Vec3::UnitZ(),  -Vec3::UnitZ(), Vec3::UnitY(),
                               -Vec3::UnitY(), Vec3::UnitX(),  -Vec3::UnitX()};

double cross(const Vec3& o, const Vec3& a, const Vec3& b) {
  return (a.x() - o.x()) * (b.y() - o.y()) - (a.y() - o.y()) * (b.x() - o.x());
}

/// Area of the convex hull of the points seen along z (A. M. Andrew, Inf. Process. Lett. 9(5), 1979).
double plan_hull_area(std::vector<Vec3> points) {
  std::sort(points.begin(), points.end(),
            [](const Vec3& a, const Vec3& b) { return std::pair(a.x(), a.y()) < std::pair(b.x(), b.y()); });
  std::vector<Vec3> hull;
  const auto chain = [&](auto first, auto last) {
    const std::size_t base = hull.size();
    for (auto it = first; it != last; ++it) {
      while (hull.size() >= base + 2 && cross(hull[hull.size() - 2], hull.back(), *it) <= 0) hull.pop_back();
      hull.push_back(*it);
    }
    hull.pop_back();
  };
  chain(points.begin(), points.end());
  chain(points.rbegin(), points.rend());
  double area = 0;
  for (std::size_t i = 1; i + 1 < hull.size(); ++i) area += cross(hull[0], hull[i], hull[i + 1]);
  return area / 2;
}

/// No liquid stands outside the convex hull, and that lies in the prism over what is seen along `up`: the
/// most a body can hold, whichever way it stands.
double most_held(const ClosedBody& body, const Vec3& up) {
  const Eigen::Matrix3d frame = frame_with_up(up);
  std::vector<Vec3> points;
  points.reserve(body.vertices().size());
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const Vec3& p : body.vertices()) {
    points.push_back(frame * p);
    low = std::min(low, points.back().z());
    high = std::max(high, points.back().z());
  }
  return plan_hull_area(std::move(points)) * (high - low) - in_cubic_millimetres(body.volume().value);
}

}  // namespace

Volume held_with(const ClosedBody& body, const Vec3& up) {
  CavityOptions o;
  o.up = up;
  o.look_further = false;
  Volume held;
  if (const auto r = find_cavities(body, o))
    for (const Cavity& c : r->cavities.list())
      if (c.parent == 0 && c.kind != CavityKind::sealed) held += c.capacity.value;
  return held;
}

std::vector<OtherWay> other_ways(const ClosedBody& body, const Vec3& up, Volume more) {
  std::vector<OtherWay> out;
  if (most_held(body, up) <= in_cubic_millimetres(more)) return out;
  for (const Vec3& axis : axes) {
    if (axis.dot(up.normalized()) > 0.999) continue;
    const Volume holds = held_with(body, axis);
    if (holds > more) out.push_back({axis, holds});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const OtherWay& a, const OtherWay& b) { return a.holds > b.holds; });
  return out;
}

Expected<Pose> choose_up(const ClosedBody& body) {
  std::array<double, 6> held{};
  std::size_t best = 0;
  for (std::size_t k = 0; k < axes.size(); ++k) {
    held[k] = in_millilitres(held_with(body, axes[k]));
    // As modelled wins a tie: +z comes first.
    if (held[k] > clearly_more * held[best]) best = k;
  }
  if (held[best] == 0) return Pose{axes[0], "no axis direction makes it hold liquid: +z kept"};
  if (best == 0) return Pose{axes[0], fmt::format("+z is up: it holds most there, {:.1f} ml", held[0])};
  return Pose{axes[best], fmt::format("{} is up: it holds {:.1f} ml there, {:.1f} ml as modelled",
                                      names[best], held[best], held[0])};
}

std::optional<Vec3> rim_normal(const std::vector<Vec3>& vertices, const Vec3& above, const Vec3& up) {
  if (vertices.size() < 3) return std::nullopt;
  const Eigen::Matrix3d frame = frame_with_up(up);
  std::vector<Vec3> points;
  points.reserve(vertices.size());
  double size = 0;
  for (const Vec3& p : vertices) {
    points.push_back(frame * (p - above));
    size = std::max(size, points.back().norm());
  }
  // The face of the upper hull that a vertical line through `above` leaves by: three corners round the line,
  // of which one gives way to the point farthest above their plane until there is none. Begins with three
  // corners far below, which are no points of the body.
  std::array<Vec3, 3> corner;
  for (int k = 0; k < 3; ++k) {
    const double a = 2 * std::numbers::pi * k / 3;
    corner[static_cast<std::size_t>(k)] = Vec3(8 * size * std::cos(a), 8 * size * std::sin(a), -8 * size);
  }
  int made_up = 3;
  std::array<bool, 3> real{};
  for (int step = 0; step < most_pivots; ++step) {
    const Vec3 n = (corner[1] - corner[0]).cross(corner[2] - corner[0]);
    if (!(n.z() > 0)) return std::nullopt;
    const Vec3 plane = n / n.norm();
    const Vec3* farthest = nullptr;
    double above_by = 1e-9 * size;
    for (const Vec3& p : points)
      if (const double d = plane.dot(p - corner[0]); d > above_by) {
        above_by = d;
        farthest = &p;
      }
    if (farthest == nullptr) {
      if (made_up > 0) return std::nullopt;
      return Vec3(frame.transpose() * plane);
    }
    // Of the three triangles that the new point makes with a side of the old one, the one round the line.
    std::size_t leaves = 3;
    double best = -std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < 3; ++k) {
      std::array<Vec3, 3> t = corner;
      t[k] = *farthest;
      double least = std::numeric_limits<double>::infinity(), whole = cross(t[0], t[1], t[2]);
      if (!(whole > 0)) continue;
      for (std::size_t j = 0; j < 3; ++j)
        least = std::min(least, cross(Vec3::Zero(), t[j], t[(j + 1) % 3]) / whole);
      if (least > best) {
        best = least;
        leaves = k;
      }
    }
    if (leaves == 3) return std::nullopt;
    corner[leaves] = *farthest;
    if (!real[leaves]) --made_up;
    real[leaves] = true;
  }
  return std::nullopt;
}

Expected<Pose> rim_up(const ClosedBody& body, const Vec3& up) {
  CavityOptions o;
  o.up = up;
  o.look_further = false;
  const auto found = find_cavities(body, o);
  if (!found) return found.error();
  // Over its largest cavity; a body that holds nothing as it is, over its middle.
  Vec3 above = body.box().centre();
  Volume largest;
  for (const Cavity& c : found->cavities.list())
    if (c.kind != CavityKind::sealed && c.capacity.value > largest) {
      largest = c.capacity.value;
      above = found->cavities.wetted(c.id).middle;
    }
  const auto normal = rim_normal(body.vertices(), above, up);
  if (!normal)
    return fail(Code::holds_nothing, "the body has no rim to show which way is up", "say it with --up X,Y,Z");
  const double degrees = std::acos(std::min(1.0, normal->dot(up.normalized()))) * 180 / std::numbers::pi;
  return Pose{*normal,
              fmt::format("up is {:.3f}, {:.3f}, {:.3f}: square to the plane of the rim, which leans "
                          "by {:.1f}° as modelled",
                          normal->x(), normal->y(), normal->z(), degrees)};
}

namespace {

Expected<Pose> border_up(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                         const Box& box) {
  std::vector<Index> rim;
  for_each_edge(triangles, vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() != 1) return;
    rim.push_back(v);
    rim.push_back(uses[0].other);
  });
  if (rim.size() < 6)
    return fail(Code::not_closed, "the surface has no open rim to show which way is up", "say it with --up");
  const Vec3 origin = box.centre();
  Vec3 middle = Vec3::Zero();
  for (const Index v : rim) middle += vertices[v] - origin;
  middle /= static_cast<double>(rim.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Index v : rim) {
    const Vec3 d = vertices[v] - origin - middle;
    spread += d * d.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> principal(spread);
  Vec3 up = principal.eigenvectors().col(0);  // least spread: the normal of the rim's plane
  // The mold lies below its rim.
  double side = 0;
  for (const Vec3& p : vertices) side += (p - origin - middle).dot(up);
  if (side > 0) up = -up;
  const double flat = std::sqrt(std::max(0.0, principal.eigenvalues()[0]) / static_cast<double>(rim.size()));
  return Pose{
      up,
      fmt::format("up is {:.3f}, {:.3f}, {:.3f}: square to the plane of the rim, which is flat to {:.2g} mm",
                  up.x(), up.y(), up.z(), flat)};
}

}  // namespace

Expected<Pose> rim_up(const Surface& surface) {
  return border_up(surface.vertices, surface.triangles, surface.box);
}
Expected<Pose> rim_up(const OpenSurface& surface) {
  return border_up(surface.vertices(), surface.triangles(), surface.box());
}

}  // namespace pourwright

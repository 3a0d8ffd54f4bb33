// SPDX-License-Identifier: GPL-3.0-or-later
// Other ways a body could stand: the axis directions, and its rim level. Law: a direction is swept only where
// the room round the body leaves something to be found; the plane of the rim is the face of the upper convex
// hull over the cavity, so the rim need not be flat.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/patches.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Each step towards the face of the hull looks at every vertex once; a dozen are usual.
constexpr int most_pivots = 64;

/// The axis directions, the one that is usually modelled first.
const std::array<Vec3, 6> six_axes{Vec3::UnitZ(),  -Vec3::UnitZ(), Vec3::UnitY(),
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
  for (const Vec3& axis : six_axes) {
    if (axis.dot(up.normalized()) > 0.999) continue;
    const Volume holds = held_with(body, axis);
    if (holds > more) out.push_back({axis, holds});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const OtherWay& a, const OtherWay& b) { return a.holds > b.holds; });
  return out;
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

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Signs of determinants, exact for coordinates up to 1e30 mm: a floating-point filter first (J. R. Shewchuk,
// Adaptive Precision Floating-Point Arithmetic and Fast Robust Geometric Predicates, 1997, bounds A), exact
// arithmetic only where the filter cannot tell.
#pragma once

#include <pourwright/mesh.hpp>

#include <array>
#include <cmath>

namespace pourwright {

int orient2d_exact(double ax, double ay, double bx, double by, double cx, double cy);
int orient3d_exact(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d);
/// See compare_heights in vertical_lines.hpp.
int compare_heights_exact(const std::array<Vec3, 3>& s, const std::array<Vec3, 3>& t, const Vec3& at,
                          const Vec3& toward);

/// +1 when a, b, c turn counter-clockwise in the plane, −1 clockwise, 0 collinear.
inline int orient2d(double ax, double ay, double bx, double by, double cx, double cy) {
  const double left = (ax - cx) * (by - cy);
  const double right = (ay - cy) * (bx - cx);
  const double det = left - right;
  // The constant covers products that are too small for a relative error.
  const double bound = 3.3306690738754716e-16 * (std::abs(left) + std::abs(right)) + 1e-290;
  if (det > bound) return 1;
  if (-det > bound) return -1;
  // Equal coordinates make the determinant exactly zero or a single product; settle those without big
  // numbers.
  if ((ax == cx && ax == bx) || (ay == cy && ay == by)) return 0;
  return orient2d_exact(ax, ay, bx, by, cx, cy);
}

/// +1 when d lies on the side of plane abc to which the normal (b−a)×(c−a) points, −1 on the other, 0 on it.
inline int orient3d(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  const Vec3 u = a - d, v = b - d, w = c - d;
  const double p1 = v.x() * w.y(), q1 = w.x() * v.y();
  const double p2 = w.x() * u.y(), q2 = u.x() * w.y();
  const double p3 = u.x() * v.y(), q3 = v.x() * u.y();
  const double det = u.z() * (p1 - q1) + v.z() * (p2 - q2) + w.z() * (p3 - q3);
  const double permanent = (std::abs(p1) + std::abs(q1)) * std::abs(u.z()) +
                           (std::abs(p2) + std::abs(q2)) * std::abs(v.z()) +
                           (std::abs(p3) + std::abs(q3)) * std::abs(w.z());
  const double bound = 7.7715611723761027e-16 * permanent + 1e-290;
  if (det > bound) return -1;
  if (-det > bound) return 1;
  for (int k = 0; k < 3; ++k)
    if (a[k] == b[k] && a[k] == c[k] && a[k] == d[k]) return 0;
  return orient3d_exact(a, b, c, d);
}

/// Two of the three coordinates: a projection along the third axis.
struct Plan {
  int i, j;
};
inline int turn(const Plan& d, const Vec3& a, const Vec3& b, const Vec3& c) {
  return orient2d(a[d.i], a[d.j], b[d.i], b[d.j], c[d.i], c[d.j]);
}
/// A projection in which abc keeps an area, the roomiest first. Any when it has none.
inline Plan plan_with_area(const Vec3& a, const Vec3& b, const Vec3& c) {
  constexpr Plan plans[3] = {{1, 2}, {2, 0}, {0, 1}};
  int widest = 0;
  (b - a).cross(c - a).cwiseAbs().maxCoeff(&widest);
  // Rounding may have hidden or invented the normal of a sliver.
  for (int k = 0; k < 3; ++k)
    if (const Plan& d = plans[(widest + k) % 3]; turn(d, a, b, c) != 0) return d;
  return plans[widest];
}

}  // namespace pourwright

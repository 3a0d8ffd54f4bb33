// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies with flat faces for tests of volume: closed, outward facing, welded.
#pragma once

#include "support/shapes.hpp"

#include <utility>
#include <vector>

namespace shapes {

/// Corners at the origin, (a, 0, 0), (0, b, 0) and (0, 0, c).
inline TriangleSoup right_tetrahedron(double a, double b, double c) {
  const Vec3 o(0, 0, 0), x(a, 0, 0), y(0, b, 0), z(0, 0, c);
  Builder s;
  s.triangle(o, y, x);
  s.triangle(o, x, z);
  s.triangle(o, z, y);
  s.triangle(x, y, z);
  return s.take();
}

/// A rectangle x0 × y0 at the bottom and x1 × y1 at height h, both centred.
inline TriangleSoup tapered_block(double x0, double y0, double x1, double y1, double h) {
  const double sx[4] = {-0.5, 0.5, 0.5, -0.5}, sy[4] = {-0.5, -0.5, 0.5, 0.5};
  const auto low = [&](int k) { return Vec3(x0 * sx[k % 4], y0 * sy[k % 4], 0); };
  const auto top = [&](int k) { return Vec3(x1 * sx[k % 4], y1 * sy[k % 4], h); };
  Builder b;
  b.quad(low(3), low(2), low(1), low(0));
  b.quad(top(0), top(1), top(2), top(3));
  for (int k = 0; k < 4; ++k) b.quad(low(k), low(k + 1), top(k + 1), top(k));
  return b.take();
}

/// A box with a rectangular hollow that is open at the top: in_hi.z() == hi.z().
inline TriangleSoup tray(const Vec3& lo, const Vec3& hi, const Vec3& in_lo, const Vec3& in_hi) {
  const auto at = [](const Vec3& a, const Vec3& b, int k, double z) {
    const double x[4] = {a.x(), b.x(), b.x(), a.x()}, y[4] = {a.y(), a.y(), b.y(), b.y()};
    return Vec3(x[k % 4], y[k % 4], z);
  };
  Builder b;
  b.quad(at(lo, hi, 3, lo.z()), at(lo, hi, 2, lo.z()), at(lo, hi, 1, lo.z()), at(lo, hi, 0, lo.z()));
  b.quad(at(in_lo, in_hi, 0, in_lo.z()), at(in_lo, in_hi, 1, in_lo.z()), at(in_lo, in_hi, 2, in_lo.z()),
         at(in_lo, in_hi, 3, in_lo.z()));
  for (int k = 0; k < 4; ++k) {
    b.quad(at(lo, hi, k, lo.z()), at(lo, hi, k + 1, lo.z()), at(lo, hi, k + 1, hi.z()),
           at(lo, hi, k, hi.z()));
    b.quad(at(lo, hi, k, hi.z()), at(lo, hi, k + 1, hi.z()), at(in_lo, in_hi, k + 1, hi.z()),
           at(in_lo, in_hi, k, hi.z()));
    b.quad(at(in_lo, in_hi, k, hi.z()), at(in_lo, in_hi, k + 1, hi.z()), at(in_lo, in_hi, k + 1, in_lo.z()),
           at(in_lo, in_hi, k, in_lo.z()));
  }
  return b.take();
}

/// A convex polygon (y, z), counter-clockwise, stretched from x = 0 to `length`.
inline TriangleSoup prism(const std::vector<std::pair<double, double>>& section, double length) {
  const auto at = [&](std::size_t k, double x) {
    const auto& p = section[k % section.size()];
    return Vec3(x, p.first, p.second);
  };
  Builder b;
  for (std::size_t k = 0; k < section.size(); ++k) {
    b.quad(at(k, 0), at(k + 1, 0), at(k + 1, length), at(k, length));
    if (k < 2) continue;
    b.triangle(at(0, length), at(k - 1, length), at(k, length));
    b.triangle(at(0, 0), at(k, 0), at(k - 1, 0));
  }
  return b.take();
}

}  // namespace shapes

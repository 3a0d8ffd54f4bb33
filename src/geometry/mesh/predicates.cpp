// SPDX-License-Identifier: GPL-3.0-or-later
// Signs of determinants where doubles cannot tell, in exact rational arithmetic. Law: these are the signs of
// the coordinates as given; nothing is rounded on the way.
#include "geometry/mesh/predicates.hpp"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Exact_rational.h>

namespace pourwright {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

int orient2d_exact(double ax, double ay, double bx, double by, double cx, double cy) {
  return static_cast<int>(
      CGAL::orientation(Kernel::Point_2(ax, ay), Kernel::Point_2(bx, by), Kernel::Point_2(cx, cy)));
}

int orient3d_exact(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  const auto point = [](const Vec3& p) { return Kernel::Point_3(p.x(), p.y(), p.z()); };
  return static_cast<int>(CGAL::orientation(point(a), point(b), point(c), point(d)));
}

namespace {

using Rational = CGAL::Exact_rational;

/// Height of a plane above a point in plan and its slopes there.
struct ExactPlane {
  Rational z, slope_x, slope_y;
  ExactPlane(const std::array<Vec3, 3>& t, const Vec3& p) {
    // Typed, because an expression of rationals must not outlive its terms.
    const auto from_first = [&](const Vec3& v, int k) {
      return Rational(Rational(v[k]) - Rational(t[0][k]));
    };
    const Rational ux = from_first(t[1], 0), uy = from_first(t[1], 1), uz = from_first(t[1], 2);
    const Rational vx = from_first(t[2], 0), vy = from_first(t[2], 1), vz = from_first(t[2], 2);
    const Rational nz = ux * vy - uy * vx;
    slope_x = (uz * vy - uy * vz) / nz;
    slope_y = (ux * vz - uz * vx) / nz;
    z = Rational(t[0].z()) + slope_x * from_first(p, 0) + slope_y * from_first(p, 1);
  }
};

int sign_of(const Rational& r) {
  return r > 0 ? 1 : r < 0 ? -1 : 0;
}

}  // namespace

int compare_heights_exact(const std::array<Vec3, 3>& s, const std::array<Vec3, 3>& t, const Vec3& at,
                          const Vec3& toward) {
  const ExactPlane a(s, at), b(t, at);
  if (const int d = sign_of(a.z - b.z); d != 0) return d;
  const Rational along_x = a.slope_x - b.slope_x, along_y = a.slope_y - b.slope_y;
  const Rational aside = along_x * (Rational(toward.x()) - Rational(at.x())) +
                         along_y * (Rational(toward.y()) - Rational(at.y()));
  if (const int d = sign_of(aside); d != 0) return d;
  if (const int d = sign_of(along_x); d != 0) return d;
  return sign_of(along_y);
}

}  // namespace pourwright

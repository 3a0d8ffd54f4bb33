// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/predicates.hpp"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>

namespace pourwright {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

int orient2d_exact(double ax, double ay, double bx, double by, double cx, double cy) {
  return static_cast<int>(CGAL::orientation(Kernel::Point_2(ax, ay), Kernel::Point_2(bx, by), Kernel::Point_2(cx, cy)));
}

int orient3d_exact(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  const auto point = [](const Vec3& p) { return Kernel::Point_3(p.x(), p.y(), p.z()); };
  return static_cast<int>(CGAL::orientation(point(a), point(b), point(c), point(d)));
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/cavity/capacity.hpp"

namespace pourwright {

double add_fluxes(FluxCheck& check, const std::array<Vec3, 3>& triangle, const Vec3& origin) {
  const Vec3 p = triangle[0] - origin, q = triangle[1] - origin, r = triangle[2] - origin;
  const Vec3 area = 0.5 * (q - p).cross(r - p);
  check.x -= (p.x() + q.x() + r.x()) / 3 * area.x();
  check.y -= (p.y() + q.y() + r.y()) / 3 * area.y();
  check.open_x += area.x();
  check.open_y += area.y();
  return area.norm();
}

double add_fluxes_below(FluxCheck& check, const std::array<Vec3, 3>& triangle, double h, const Vec3& origin) {
  // Clip to the half space below h: a triangle or a quadrilateral remains.
  std::array<Vec3, 4> kept;
  std::size_t n = 0;
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec3 &p = triangle[k], &q = triangle[k == 2 ? 0 : k + 1];
    if (p.z() <= h) kept[n++] = p;
    if ((p.z() <= h) != (q.z() <= h)) {
      Vec3 cut = p + (q - p) * ((h - p.z()) / (q.z() - p.z()));
      cut.z() = h;
      kept[n++] = cut;
    }
  }
  double area = 0;
  for (std::size_t k = 2; k < n; ++k) area += add_fluxes(check, {kept[0], kept[k - 1], kept[k]}, origin);
  return area;
}

}  // namespace pourwright

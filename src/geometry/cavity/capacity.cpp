// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/cavity/capacity.hpp"

namespace pourwright {

void add_fluxes(FluxCheck& check, const std::array<Vec3, 3>& triangle, double h, const Vec3& origin) {
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
  for (std::size_t k = 2; k < n; ++k) {
    const Vec3 p = kept[0] - origin, q = kept[k - 1] - origin, r = kept[k] - origin;
    const Vec3 area = 0.5 * (q - p).cross(r - p);
    const Vec3 middle = (p + q + r) / 3;
    check.x -= middle.x() * area.x();
    check.y -= middle.y() * area.y();
    check.z += (h - origin.z() - middle.z()) * area.z();
    check.open_x += area.x();
    check.open_y += area.y();
  }
}

}  // namespace pourwright

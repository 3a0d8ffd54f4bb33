// SPDX-License-Identifier: GPL-3.0-or-later
// Sums over the wetted wall for the capacity, kept about an origin near the cavity, so that a mold far from
// the file's origin loses no digits.
#include "geometry/cavity/capacity.hpp"

namespace pourwright {

void WallSum::add(const std::array<Vec3, 3>& triangle, bool counts) {
  add_local(triangle[0] - origin, triangle[1] - origin, triangle[2] - origin, counts);
}

void WallSum::add_local(const Vec3& p, const Vec3& q, const Vec3& r, bool counts) {
  const Vec3 normal = 0.5 * (q - p).cross(r - p), middle = (p + q + r) / 3;
  const double size = normal.norm();
  x -= middle.x() * normal.x();
  y -= middle.y() * normal.y();
  open_x += normal.x();
  open_y += normal.y();
  area += size;
  if (!counts) return;
  counted += size;
  weighted += size * middle;
}

void WallSum::add_below(const std::array<Vec3, 3>& triangle, double h, bool counts) {
  // Clip to the half space below h: a triangle or a quadrilateral remains.
  h -= origin.z();
  std::array<Vec3, 4> kept;
  std::size_t n = 0;
  for (std::size_t k = 0; k < 3; ++k) {
    // Cut near the origin: far from it the cut would be rounded to what can be written there.
    const Vec3 p = triangle[k] - origin, q = triangle[k == 2 ? 0 : k + 1] - origin;
    if (p.z() <= h) kept[n++] = p;
    if ((p.z() <= h) != (q.z() <= h)) {
      Vec3 cut = p + (q - p) * ((h - p.z()) / (q.z() - p.z()));
      cut.z() = h;
      kept[n++] = cut;
    }
  }
  for (std::size_t k = 2; k < n; ++k) add_local(kept[0], kept[k - 1], kept[k], counts);
}

}  // namespace pourwright

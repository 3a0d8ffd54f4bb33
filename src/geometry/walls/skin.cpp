// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/walls/skin.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::thickness {

/// Along the normal, twice the area long.
Vec3 Skin::across(Index triangle) const {
  const Triangle& t = triangles_[triangle];
  const Vec3& a = vertices_[t[0]];
  return (vertices_[t[1]] - a).cross(vertices_[t[2]] - a);
}

/// Facets weigh by their area: a wide flat one beside a narrow fillet stays flat.
Vec3 Skin::normal(const Vec3& at, Index triangle) const {
  static const double edge = std::cos(std::acos(-1.0) / 6);
  const Triangle& t = triangles_[triangle];
  const Vec3 own = across(triangle), unit = own.normalized();
  Vec3 sum = Vec3::Zero();
  for (std::size_t k = 0; k < 3; ++k) {
    Vec3 corner = Vec3::Zero();
    for (const Index u : fans_.at(t[k])) {
      const Vec3 n = across(u);
      if (n.dot(unit) > edge * n.norm()) corner += n;
    }
    // The share of the corner: the area of the triangle between the point and the side opposite.
    const Vec3 &p = vertices_[t[(k + 1) % 3]], &q = vertices_[t[(k + 2) % 3]];
    const double share = unit.dot((p - at).cross(q - at)) / own.norm();
    if (corner.squaredNorm() > 0) sum += std::max(share, 0.0) * corner.normalized();
  }
  return sum.squaredNorm() > 0 ? Vec3(sum.normalized()) : unit;
}

}  // namespace pourwright::thickness

// SPDX-License-Identifier: GPL-3.0-or-later
// Normals of the curved surface that facets stand for (B. T. Phong, Commun. ACM 18(6), 1975, with corners
// weighed by area). Law: across an edge of more than 30° no normal turns towards the other side.
#include "geometry/walls/skin.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::thickness {

void Skin::move_to(std::span<const Vec3> vertices) {
  vertices_ = vertices;
  facets_.clear();
  facets_.reserve(triangles_.size());
  for (const Triangle& t : triangles_) {
    const Vec3& a = vertices[t[0]];
    const Vec3 across = (vertices[t[1]] - a).cross(vertices[t[2]] - a);
    const double length = across.norm();
    facets_.push_back({(length > 0 ? Vec3(across / length) : Vec3(Vec3::Zero())).cast<float>(),
                       static_cast<float>(length / 2)});
  }
}

/// Facets weigh by their area: a wide flat one beside a narrow fillet stays flat.
Vec3 Skin::normal(const Vec3& at, Index triangle) const {
  static const auto edge = static_cast<float>(std::cos(std::acos(-1.0) / 6));
  const Triangle& t = triangles_[triangle];
  const Facet& own = facets_[triangle];
  const Vec3 unit = own.normal.cast<double>();
  Vec3 sum = Vec3::Zero();
  for (std::size_t k = 0; k < 3; ++k) {
    Eigen::Vector3f corner = Eigen::Vector3f::Zero();
    for (const Index u : fans_.at(t[k])) {
      const Facet& f = facets_[u];
      if (f.normal.dot(own.normal) > edge) corner += f.area * f.normal;
    }
    // The share of the corner: the area of the triangle between the point and the side opposite.
    const Vec3 &p = vertices_[t[(k + 1) % 3]], &q = vertices_[t[(k + 2) % 3]];
    const double share = unit.dot((p - at).cross(q - at));
    if (corner.squaredNorm() > 0) sum += std::max(share, 0.0) * corner.normalized().cast<double>();
  }
  return sum.squaredNorm() > 0 ? Vec3(sum.normalized()) : Vec3(unit.normalized());
}

}  // namespace pourwright::thickness

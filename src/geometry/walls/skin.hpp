// SPDX-License-Identifier: GPL-3.0-or-later
// The curved surface that facets stand for.
#pragma once

#include <pourwright/mesh.hpp>

#include "geometry/mesh/fans.hpp"

#include <span>

namespace pourwright::thickness {

/// Normals that turn evenly from facet to facet, as on the curve; across an edge of more than 30° they do
/// not.
class Skin {
 public:
  /// Both must outlive the skin.
  Skin(std::span<const Vec3> vertices, std::span<const Triangle> triangles)
      : vertices_(vertices), triangles_(triangles), fans_(vertices.size(), triangles) {}

  /// Outward unit normal at a point of a triangle.
  Vec3 normal(const Vec3& at, Index triangle) const;

 private:
  Vec3 across(Index triangle) const;

  std::span<const Vec3> vertices_;
  std::span<const Triangle> triangles_;
  Fans fans_;
};

}  // namespace pourwright::thickness

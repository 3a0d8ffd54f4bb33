// SPDX-License-Identifier: GPL-3.0-or-later
// The curved surface that facets stand for.
#pragma once

#include <pourwright/mesh.hpp>

#include <span>
#include <vector>

namespace pourwright::thickness {

/// Which triangles meet at each vertex: triangle[start[v] … start[v + 1]). O(n), 14 bytes per triangle.
struct Fans {
  Fans(std::size_t vertex_count, std::span<const Triangle> triangles);
  std::vector<Index> start, triangle;
};

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

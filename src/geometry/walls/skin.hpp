// SPDX-License-Identifier: GPL-3.0-or-later
// The curved surface that facets stand for.
#pragma once

#include <pourwright/mesh.hpp>

#include "geometry/mesh/fans.hpp"

#include <span>
#include <vector>

namespace pourwright::thickness {

struct Facet {
  Eigen::Vector3f normal;  ///< outward unit normal; zero without an area
  float area;              ///< mm²
};

/// Normals that turn evenly from facet to facet, as on the curve; across an edge of more than 30° they do
/// not. 16 bytes a triangle, and the fans.
class Skin {
 public:
  /// Both must outlive the skin.
  Skin(std::span<const Vec3> vertices, std::span<const Triangle> triangles)
      : triangles_(triangles), fans_(vertices.size(), triangles) {
    move_to(vertices);
  }
  /// The same triangles, with their corners elsewhere.
  void move_to(std::span<const Vec3> vertices);

  /// Outward unit normal at a point of a triangle.
  Vec3 normal(const Vec3& at, Index triangle) const;

  std::span<const Vec3> vertices() const { return vertices_; }
  std::span<const Triangle> triangles() const { return triangles_; }
  const Fans& fans() const { return fans_; }
  const Facet& facet(Index triangle) const { return facets_[triangle]; }

 private:
  std::span<const Vec3> vertices_;
  std::span<const Triangle> triangles_;
  Fans fans_;
  std::vector<Facet> facets_;
};

}  // namespace pourwright::thickness

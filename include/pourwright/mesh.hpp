// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles: what was read (TriangleSoup) and what is known about how they meet (Surface).
#pragma once

#include <pourwright/units.hpp>

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <Eigen/Geometry>

namespace pourwright {

using Vec3 = Eigen::Vector3d;  ///< millimetres once the file's unit has been applied
using Index = std::uint32_t;
inline constexpr Index none = 0xFFFFFFFFu;
using Triangle = std::array<Index, 3>;

struct Box {
  Vec3 low = Vec3::Constant(std::numeric_limits<double>::infinity());
  Vec3 high = Vec3::Constant(-std::numeric_limits<double>::infinity());
  void add(const Vec3& p) {
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
  }
  bool empty() const { return !(low.x() <= high.x()); }
  Vec3 centre() const { return low + (high - low) / 2; }
  Vec3 size() const { return high - low; }
};

/// Anything read. Vertices whose coordinates agree bit for bit are one vertex (−0 equals +0); every
/// coordinate is finite; every index is in range; every vertex is used. Nothing else is promised, so it has
/// no volume.
struct TriangleSoup {
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;
};

/// Box of the vertices that triangles use, mm; empty for none. O(n).
Box bounds(const TriangleSoup& soup);

/// Half-edge h = 3·triangle + k runs from corner k to corner k+1 of its triangle.
using HalfEdge = Index;

/// How triangles meet along edges and at vertices, counted over the triangles as read (after dropping those
/// that use one vertex twice).
struct Census {
  std::size_t triangles = 0;
  std::size_t degenerate = 0;      ///< use one vertex twice; dropped
  std::size_t boundary_edges = 0;  ///< one triangle
  std::size_t odd_edges = 0;       ///< an odd number of triangles (boundary edges included)
  std::size_t misoriented_edges =
      0;  ///< not used equally often in both directions (boundary edges not included)
  std::size_t nonmanifold_edges = 0;  ///< more than two triangles
  std::size_t shells = 0;             ///< components connected across edges
  // one place of each defect, for messages; meaningful when the count is not zero
  Vec3 boundary_at = Vec3::Zero(), misoriented_at = Vec3::Zero(), nonmanifold_at = Vec3::Zero();

  bool closed() const { return triangles > 0 && odd_edges == 0; }
  bool oriented() const { return misoriented_edges == 0; }
  bool edge_manifold() const { return nonmanifold_edges == 0; }
};

/// Welded, indexed triangles with adjacency and their census.
struct Surface {
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;  ///< no triangle uses one vertex twice
  std::vector<Index> shell;         ///< per triangle, 0 … census.shells−1, numbered by first triangle
  Census census;
  Box box;
};

/// Builds adjacency and counts defects. Never fails: an empty soup gives an empty surface, and what is not
/// closed, not oriented or not manifold is counted, not mended. Triangles that use one vertex twice are
/// dropped; the others keep their order. O(n) expected time, about 30 bytes per triangle while it runs.
/// Consumes the soup: its arrays become the surface's.
Surface make_surface(TriangleSoup soup);

}  // namespace pourwright

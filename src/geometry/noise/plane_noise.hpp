// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

#include <array>
#include <optional>
#include <vector>

namespace pourwright::scatter {

/// Triangles, and what is asked of them more than once.
struct FacetList {
  FacetList(std::vector<Vec3> at, std::vector<Triangle> of);

  std::vector<Vec3> points;
  std::vector<Triangle> triangles;
  std::vector<Vec3> across;  ///< per triangle: its normal, as long as twice its area
  std::vector<double> size;  ///< per triangle: that length
  double reach = 0;          ///< the largest coordinate
};

/// The two half-edges of every edge that two triangles share.
using SharedEdges = std::vector<std::array<HalfEdge, 2>>;
SharedEdges shared_edges(const FacetList& facets);

/// Standard deviation of vertices about the plane faces that they stand for; nothing when those are plane, or
/// too few to tell.
std::optional<double> noise_of_planes(const FacetList& facets, const SharedEdges& edges);

}  // namespace pourwright::scatter

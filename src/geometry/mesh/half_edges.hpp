// SPDX-License-Identifier: GPL-3.0-or-later
// Steps round triangles, and across their edges.
#pragma once

#include <pourwright/mesh.hpp>

#include <vector>

namespace pourwright {

/// The half-edges after and before this one round their triangle.
inline HalfEdge next(HalfEdge h) {
  return h % 3 == 2 ? h - 2 : h + 1;
}
inline HalfEdge previous(HalfEdge h) {
  return h % 3 == 0 ? h + 2 : h - 1;
}

/// For each half-edge 3t+k the one across its edge, `none` at a border. Where more than two triangles meet at
/// an edge, they are paired across the wedges of void between them, so that material touching along an edge
/// is told apart. Precondition: every edge is used equally often in both directions, or once. O(n), 24 bytes
/// per triangle.
std::vector<HalfEdge> pair_half_edges(const std::vector<Vec3>& vertices,
                                      const std::vector<Triangle>& triangles);

/// Edges of more than two triangles round which material and void do not take turns: the bodies that meet
/// there do not face the same way, or one lies inside the other. Counting the directions of the triangles
/// alone cannot see it.
struct MixedEdges {
  std::size_t count = 0;
  Vec3 at = Vec3::Zero();  ///< middle of the first
};
MixedEdges find_mixed_edges(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles);

/// Splits every vertex into one for each fan of triangles round it, so that surfaces that only touch at a
/// point or an edge are told apart. Rewrites `triangles` (vertex ids >= vertices.size() are new) and returns,
/// for each new vertex, the one it stands on. O(n).
std::vector<Index> split_fans(std::size_t vertex_count, std::vector<Triangle>& triangles,
                              const std::vector<HalfEdge>& opposite);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// The join tree of the void above a surface: which pools exist at each height and where they meet.
#pragma once

#include <pourwright/mesh.hpp>

#include <cstdint>
#include <vector>

namespace pourwright {

/// A pool from the height at which it starts to exist to the height at which it spills or merges.
struct PoolNode {
  enum class Kind : std::uint8_t {
    pool,
    unknown,  ///< a patch that could not be placed; it follows whatever it meets and holds nothing itself
    nothing,  ///< not a pool: outside, or existed over less than a plateau
  };
  Kind kind = Kind::pool;
  bool spills = false;        ///< spills outside at its brim
  double birth = 0;           ///< lowest point of its liquid
  double formed = 0;          ///< birth for a leaf, the merge height for a parent
  double brim = 0;            ///< meaningful when `spills` or when it has a parent
  Index birth_vertex = none;  ///< numbers of the input's vertices
  Index brim_vertex = none;
  Index parent = none;       ///< node it merges into
  Index absorbed_by = none;  ///< not a node of its own: part of that one
  std::vector<Index> children;
};

struct JoinTree {
  std::vector<PoolNode> nodes;       ///< children before parents
  std::vector<Index> triangle_node;  ///< per triangle, `none` when its lowest vertex lies outside every pool
  std::size_t rays = 0, contradictions = 0, orphans = 0;

  /// The node that stands for `node` now, following absorptions with path halving.
  Index resolve(Index node) {
    while (nodes[node].absorbed_by != none) {
      const Index up = nodes[node].absorbed_by;
      if (nodes[up].absorbed_by == none) return up;
      node = nodes[node].absorbed_by = nodes[up].absorbed_by;
    }
    return node;
  }
};

/// A surface with each vertex split into one for each fan of triangles round it. The same whichever way is
/// up.
struct SplitSurface {
  std::vector<Triangle> triangles;  ///< vertices beyond the given ones are extra fans
  std::vector<Index> origin;        ///< the vertex that each extra fan stands on
  std::vector<bool> border;         ///< per fan; empty when the surface is closed
};
SplitSurface split_surface(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                           bool open);

/// Sweeps the vertices from the bottom up (z of `vertices` is height). `open` says that the surface has a
/// border, which lies outside. `plateau`: height differences below this are one level. Precondition:
/// triangles free of overlap, facing the void, consistently oriented. O(n log n).
JoinTree build_join_tree(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, bool open,
                         double plateau);
/// The same of a surface split already, perhaps with its vertices turned since.
JoinTree build_join_tree(const std::vector<Vec3>& vertices, const SplitSurface& split, bool open,
                         double plateau);

}  // namespace pourwright

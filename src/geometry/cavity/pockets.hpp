// SPDX-License-Identifier: GPL-3.0-or-later
// Air that cannot leave: the same sweep from the top down. A pocket is what a pool is upside down; its brim
// is the lip, the height at which rising liquid closes the last way out.
#pragma once

#include <pourwright/mesh.hpp>

#include "geometry/cavity/capacity.hpp"
#include "geometry/cavity/join_tree.hpp"

#include <vector>

namespace pourwright {

struct Pocket {
  double lip = 0, top = 0;
  Index lip_vertex = none;
  std::vector<Index> apexes;     ///< vertices at the local tops, highest first
  std::vector<Index> triangles;  ///< its surface
  std::vector<Column> columns;   ///< the same upside down: heights are −z

  /// Room in it above `level` (at least the lip).
  double above(double level) const;
};

/// Pockets that open to the outside at their lip, deeper than `plateau`. Heights are z of `vertices`; `split`
/// is of the same surface. O(n log n).
std::vector<Pocket> find_pockets(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                 const SplitSurface& split, bool open, double plateau);

}  // namespace pourwright

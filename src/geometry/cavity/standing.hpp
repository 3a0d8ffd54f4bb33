// SPDX-License-Identifier: GPL-3.0-or-later
// Pools of a join tree asked for by a vertex of their wall: for bodies that were changed and swept again.
#pragma once

#include "geometry/cavity/join_tree.hpp"

#include <vector>

namespace pourwright {

/// The pool that stands at `vertex` and reaches up to `level` or higher: the smallest. `none` when it spills
/// lower, or is a closed void. O(triangles).
Index pool_reaching(const JoinTree& tree, const std::vector<Triangle>& triangles, Index vertex, double level);

/// What a pool holds up to `level`, with the pools that are in it, mm³. O(triangles).
double held_by(const JoinTree& tree, const std::vector<Vec3>& vertices,
               const std::vector<Triangle>& triangles, Index pool, double level);

}  // namespace pourwright

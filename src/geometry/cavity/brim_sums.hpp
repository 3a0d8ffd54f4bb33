// SPDX-License-Identifier: GPL-3.0-or-later
// What every pool of a join tree holds at its own brim.
#pragma once

#include "geometry/cavity/capacity.hpp"
#include "geometry/cavity/join_tree.hpp"

#include <span>
#include <vector>

namespace pourwright {

struct BrimSum {
  double volume = 0;
  double opening =
      0;  ///< free surface; a wall that starts within a plateau of the brim is rim and not surface
  double plan_size = 0;  ///< Σ |plan area| of the wall, the measure of rounding
};

/// `columns` of node n are those from start[n] to start[n+1]; their heights, like brims here, are above
/// `datum`. A root that spills nowhere is a closed void and is summed whole. O(n) while few triangles reach
/// above the brim of their own pool, O(n log² n) at worst, however deep the tree.
std::vector<BrimSum> sum_to_brims(const JoinTree& tree, std::span<const Column> columns,
                                  std::span<const std::size_t> start, double datum, double plateau);

}  // namespace pourwright

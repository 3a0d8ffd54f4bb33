// SPDX-License-Identifier: GPL-3.0-or-later
// What is asked of a body once its cavities are known: what keeps them from filling, or from holding; and a
// second look through columns at what the surface says.
#pragma once

#include <pourwright/cavity.hpp>

#include "geometry/cavity/join_tree.hpp"
#include "geometry/cavity/patches.hpp"

#include <vector>

namespace pourwright {

class SpanGrid;

struct LookInput {
  const std::vector<Vec3>& points;  ///< in the frame with z up
  const std::vector<Triangle>& triangles;
  const SplitSurface& split;
  const Cavities::Patches& patches;
  bool open;
  double plateau;
  bool air_only = false;
  double bridge = 0;        ///< level slits below this are closed to the column check
  double least_depth = 0;   ///< shallower pools are the surface's noise
  double floor_detail = 0;  ///< pools smaller than this share of what is held are not listed
  Box box = {};             ///< of the points; set by look_further

  /// A place in the file's frame; the grain of the arithmetic is no place.
  Vec3 in_file(const Vec3& p) const;
  Vec3 in_frame(const Vec3& p) const { return patches.frame * p; }
};

/// Air traps, drains, flat ceilings, rims; and the column check of the capacities. Adds to `out`.
/// O(n log n + columns² · crossings).
void look_further(const LookInput& in, CavityResult& out);

// Its parts. `list` is that of `out`.

/// Of a scan: the height at which its rim stands but for dents, and bites out of a rim that is level
/// otherwise.
void look_at_rims(const LookInput& in, std::vector<Cavity>& list, CavityResult& out);

/// Compares what the cavities hold with what columns hold, both ways.
void check_by_columns(const LookInput& in, const SpanGrid& grid, std::vector<Cavity>& list,
                      CavityResult& out);

/// Passages below a brim: what a region would hold if they were plugged.
void find_drains(const LookInput& in, const SpanGrid& grid, CavityResult& out);

}  // namespace pourwright

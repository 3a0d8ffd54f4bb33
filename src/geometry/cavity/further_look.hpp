// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/cavity.hpp>

#include "geometry/cavity/join_tree.hpp"
#include "geometry/cavity/patches.hpp"

#include <vector>

namespace pourwright {

struct LookInput {
  const std::vector<Vec3>& points;  ///< in the frame with z up
  const std::vector<Triangle>& triangles;
  const SplitSurface& split;
  const Cavities::Patches& patches;
  bool open;
  double plateau;
  bool air_only = false;
  double bridge = 0;  ///< level slits below this are closed to the column check
};

/// What keeps the cavities found from filling, or from holding: air traps, drains, flat ceilings; and the
/// column check of the capacities. Adds to `out`.
class FurtherLook;
void look_further(const LookInput& in, CavityResult& out);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What the walls round a body's cavities look like from inside: a vessel's outside runs along its inside, a
// mold's is a block.
#pragma once

#include <pourwright/cavity.hpp>

#include <optional>

namespace pourwright {

struct WallShape {
  double along = 0;    ///< share of the cavities' wall with an outside that runs along it, about as far away
  double upright = 0;  ///< share of the outer sides that stand upright, to 2°
  Length wall;         ///< median thickness of material behind the cavities' wall
  double rim = 0;      ///< width of the level rim, in thicknesses of the wall
  int equal = 0;       ///< most filled cavities that hold the same to a hundredth
};

/// Of the filled cavities; nothing when there are none. Some hundred rays: O(n log n) for the tree they need.
std::optional<WallShape> wall_shape(const ClosedBody& body, const CavityResult& found, const Vec3& up);

}  // namespace pourwright

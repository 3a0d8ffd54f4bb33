// SPDX-License-Identifier: GPL-3.0-or-later
// Cavities filled to the level asked for: how much, how deep, and the bodies cast in them.
#pragma once

#include <pourwright/cavity.hpp>

#include <utility>
#include <vector>

namespace pourwright {

/// One filled cavity.
struct Filled {
  int cavity = 0;
  Length level;  ///< along up
};
struct Filling {
  Interval<Volume> sum;  ///< before doubts about the mesh
  std::vector<Filled> each;
  Length deepest;  ///< of liquid
};
/// A volume is what the whole mold takes: several cavities share it in proportion to what they hold. Fails
/// when a level lies outside a cavity, or the volume is more than they hold.
Expected<Filling> fill(const Cavities& cavities, const FillLevel& level);

struct Casting {
  std::vector<TriangleSoup> pieces;
  std::vector<Length> levels;  ///< to which each of them was filled
};
struct CastingOptions {
  Vec3 up = Vec3::UnitZ();
  bool without_air = false;  ///< pieces lack what caught air keeps out
  /// A rim that is level but for rounding lets a film out over it, of no thickness that matters; it would be
  /// all that the walls' measure sees. For that measure the liquid stays a micrometre below.
  bool without_film = false;
};
/// The cast body of each filled cavity. One that cannot be closed is left out.
Casting cast(const ClosedBody& body, const Cavities& cavities, const Filling& filling,
             const CastingOptions& options);
Casting cast(const OpenSurface& body, const Cavities& cavities, const Filling& filling,
             const CastingOptions& options);

}  // namespace pourwright

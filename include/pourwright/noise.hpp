// SPDX-License-Identifier: GPL-3.0-or-later
// How far the vertices of a scan scatter about the surface that they stand for, and what that leaves in doubt
// of its volume: docs/algorithms/interval.md#noise.
#pragma once

#include <pourwright/mesh.hpp>

namespace pourwright {

/// How far vertices scatter about the surface that they stand for.
struct Noise {
  Length
      spread;  ///< standard deviation along the normal; zero when the surface is smooth or too coarse to tell
  Volume volume;  ///< half width of the enclosed volume on that account
};
/// From vertices that stand out from their neighbors in turns, this way and that, as only noise does. Looks
/// at a sample: O(1) for large meshes whose triangles lie in the order of the surface, else O(n).
Noise find_noise(const Surface& surface);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// How far the vertices of a scan scatter about the surface that they stand for, and what that leaves in doubt
// of its volume: docs/algorithms/interval.md#noise. One estimate for volumes, rims and walls.
#pragma once

#include <pourwright/mesh.hpp>

#include <span>

namespace pourwright {

struct Noise {
  Length spread;  ///< standard deviation along the normal; zero when clean, or too coarse to tell
  Length reach;   ///< vertices r apart go together as exp(−r²/2·reach²); zero when each is on its own
  Length edge;    ///< typical edge where it was measured
  Volume volume;  ///< half width of the enclosed volume on that account
};

/// From what polynomials through neighbouring vertices leave of their heights. Clean parts of the body count
/// for nothing. Looks at a sample of at most 65,536 triangles; O(n) for the volume of what is noisy.
Noise find_noise(std::span<const Vec3> vertices, std::span<const Triangle> triangles);
Noise find_noise(const Surface& surface);

}  // namespace pourwright

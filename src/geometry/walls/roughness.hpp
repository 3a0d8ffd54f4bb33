// SPDX-License-Identifier: GPL-3.0-or-later
// Roughness of a scan: how much, and the surface without it.
#pragma once

#include "geometry/walls/skin.hpp"

#include <vector>

namespace pourwright::thickness {

struct Roughness {
  double sigma = 0;  ///< mm, of one vertex along the normal; zero when the surface is clean
  double edge = 0;   ///< mm, typical length of an edge where it was measured
};

/// Roughness is what changes sign from one vertex to the next where the surface is flat or gently curved.
/// Clean facets, however coarse, bend one way. From a few thousand vertices and their rings.
Roughness measure_roughness(const Skin& skin);

/// Vertices moved so that faces agree with their neighbours' normals wherever these are alike; edges stay.
/// O(n), about 50 bytes per triangle while it runs.
std::vector<Vec3> without_roughness(const Skin& skin, const Roughness& roughness);

}  // namespace pourwright::thickness

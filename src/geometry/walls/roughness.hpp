// SPDX-License-Identifier: GPL-3.0-or-later
// Roughness of a scan: how much, and the surface without it.
#pragma once

#include "geometry/walls/skin.hpp"

#include <vector>

namespace pourwright::thickness {

struct Roughness {
  double sigma = 0;  ///< mm, of one vertex along the normal; zero when the surface is clean
  double edge = 0;   ///< mm, typical length of an edge where it was measured
  double reach = 0;  ///< mm, over which vertices go together
};

/// The noise of the surface, as far as thicknesses feel it.
Roughness measure_roughness(const Skin& skin);

/// Vertices moved so that faces agree with their neighbours' normals wherever these are alike; edges stay.
/// O(n), about 50 bytes per triangle while it runs.
std::vector<Vec3> without_roughness(const Skin& skin, const Roughness& roughness);

}  // namespace pourwright::thickness

// SPDX-License-Identifier: GPL-3.0-or-later
// What neighbouring measurements agree on, where single ones are led astray by a rough surface.
#pragma once

#include <pourwright/walls.hpp>

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/walls/roughness.hpp"

#include <optional>
#include <vector>

namespace pourwright::thickness {

struct Agreement {
  /// The thickness that the neighbours of each place, and itself, agree on; nothing where they do not, or are
  /// too few.
  std::vector<std::optional<double>> ball;
  /// The thinnest of them, followed down its slope to the end of its sheet; nothing when no place has
  /// agreement.
  std::optional<WallSample> least;
};

/// A plane through the thicknesses of the places round each one on the same sheet, without those that
/// contradict the most of them (J. W. Tukey's biweight); the mesh's vertices are as many witnesses and no
/// more. The thinnest is the one with the lowest upper bound, moved back by what noise moves the lowest of so
/// many. O(n log n).
Agreement agreement_of(const RayScene& scene, const std::vector<WallSample>& places, double spacing,
                       const Roughness& roughness);

}  // namespace pourwright::thickness

// SPDX-License-Identifier: GPL-3.0-or-later
// What neighbouring measurements agree on, where single ones are led astray by a rough surface.
#pragma once

#include <pourwright/walls.hpp>

#include "geometry/walls/ray_scene.hpp"

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
/// contradict the most of them (J. W. Tukey's biweight). `edge` is the typical edge of the mesh, within which
/// noise is no independent witness. The thinnest is the one with the lowest upper bound, so that noise is not
/// taken for a thin wall. O(n log n).
Agreement agreement_of(const RayScene& scene, const std::vector<WallSample>& places, double spacing,
                       double edge);

}  // namespace pourwright::thickness

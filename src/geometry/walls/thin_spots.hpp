// SPDX-License-Identifier: GPL-3.0-or-later
// Thin places that hang together, and how they stand on the thick body.
#pragma once

#include <pourwright/walls.hpp>

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/walls/samples.hpp"

#include <functional>

namespace pourwright::thickness {

struct SpotSearch {
  const RayScene& scene;
  const std::vector<WallSample>& samples;  ///< spread evenly
  double spacing = 0;                      ///< between them
  double limit = 0;
  std::size_t further = 16'000;  ///< how many more places may be measured around thin ones
  std::function<std::optional<WallSample>(const Place&)> measure;
  double least =
      0;  ///< on a rough surface, what the whole body agrees on as its least; single places say less
  /// What places so far apart agree on, where single ones cannot be believed.
  std::function<void(std::vector<WallSample>&, double spacing)> agree;
};

/// The most exposed first. O((samples + further) · log) and as many further measurements.
std::vector<ThinSpot> find_thin_spots(const SpotSearch& search);

}  // namespace pourwright::thickness

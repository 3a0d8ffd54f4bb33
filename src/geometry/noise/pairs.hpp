// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "geometry/noise/plane_noise.hpp"

namespace pourwright::scatter {

/// Corners of plane faces may all lie at their edges, so that no vertex is flat all round. Then the fourth
/// corner of two triangles that all but share a plane tells: of independent heights it stands off the plane
/// of the other three by √(1 + Σw²) standard deviations, w being its weights in them. Zero when the pairs do
/// not tell.
double noise_of_pairs(const FacetList& facets, const SharedEdges& edges);

}  // namespace pourwright::scatter

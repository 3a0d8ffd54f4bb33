// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "geometry/noise/plane_noise.hpp"

namespace pourwright::scatter {

/// Standard deviation of independent noise, from vertices that stand out from their rings in turns, this way
/// and that; zero when there is none, or detail hides it. O(n).
double noise_of_rings(const FacetList& facets);

}  // namespace pourwright::scatter

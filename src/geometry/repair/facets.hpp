// SPDX-License-Identifier: GPL-3.0-or-later
// The flat faces round a hole, continued.
#pragma once

#include "geometry/repair/borders.hpp"
#include "geometry/repair/fillings.hpp"

namespace pourwright::mending {

/// Whether the border lies in one plane, as that of a missing flat face does and that of any other hole
/// hardly ever.
bool is_flat(const BorderLine& line);

/// Continues the flat faces round a hole until they meet: exact where a model is made of planes. Nothing
/// where the surface round the hole is curved or the faces do not meet in one way. Adds at most one point:
/// the corner in which three planes meet. O(n · planes).
std::optional<Filling> continue_facets(const Workpiece& w, const BorderLine& line);

}  // namespace pourwright::mending

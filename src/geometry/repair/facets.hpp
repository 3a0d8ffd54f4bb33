// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "geometry/repair/borders.hpp"
#include "geometry/repair/fillings.hpp"

namespace pourwright::mending {

/// Continues the flat faces round a hole until they meet: exact where a model is made of planes. Nothing
/// where the surface round the hole is curved or the faces do not meet in one way.
std::optional<Filling> continue_facets(const Workpiece& w, const BorderLine& line);

}  // namespace pourwright::mending

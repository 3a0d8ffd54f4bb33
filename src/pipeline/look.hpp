// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "pipeline/measure.hpp"

namespace pourwright {

/// A card does not wait for larger meshes than this.
inline constexpr std::size_t most_for_card = 200'000;

/// Adds walls and release to a file measured with its meshes kept. What cannot be inspected is left out and
/// said in a note.
void look(Measured& measured, const Inspection& how);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers and names that can hardly be meant: each is refused or told with the slip that is likely.
#pragma once

#include <pourwright/material.hpp>
#include <pourwright/split.hpp>

#include <optional>
#include <vector>

namespace pourwright::slips {

/// Powder per liquid against the mix's own: the decimal point lost ("32"), liquid first ("1:3").
std::optional<Problem> in_ratio(Ratio given, Ratio own);
/// Kilograms per cubic metre without their unit ("1860"), a lost point.
std::optional<Problem> in_density(Density given);
/// Degrees Fahrenheit without their letter ("75").
std::optional<Problem> in_room(Temperature given);

/// A density that is far from the catalogue's, which may be of the powder or of another mix.
std::optional<Note> far_density(Density given, Density own);
/// Pigments that nobody listed; with the nearest name when there is one.
void unknown_pigments(const std::vector<PigmentDose>& doses, const std::vector<Pigment>& known, Notes& notes);
/// A cup that is called like a pigment and has none in it.
void pigment_as_cup(const Cup& cup, const std::vector<Pigment>& known, Notes& notes);

}  // namespace pourwright::slips

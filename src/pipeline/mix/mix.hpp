// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/pipeline.hpp>

namespace pourwright {

/// Common practice for pouring one mold, where nobody says.
inline const Duration usual_pour = Duration(40);

/// Picks the scale for a batch of about `amount`.
void choose_scale(ChosenMix& chosen, Mass amount);
/// What a batch from this liquid weighs, roughly.
Mass batch_from(const Mix& mix, Mass liquid);
/// How the batch is weighed, with the names of pigments as the user wrote them.
RecipeOptions weighing_options(const ChosenMix& chosen, const std::vector<PigmentDose>& pigments);
std::optional<BatchCost> cost_of(const std::vector<Part>& parts, const ChosenMix& chosen);

/// Where the density comes from, which decides how sure a weight made from a volume is.
Note density_note(const Mix& mix);

}  // namespace pourwright

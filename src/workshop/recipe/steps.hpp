// SPDX-License-Identifier: GPL-3.0-or-later
// What a scale's step does to a weight, and the checks every recipe shares.
#pragma once

#include <pourwright/recipe.hpp>

#include <optional>
#include <string_view>
#include <vector>

namespace pourwright::recipe {

/// Above these (1000 t, in steps of 1 t) nothing is weighed, and below them no product here leaves 64 bits.
constexpr Mass heaviest = Mass::micrograms(1'000'000'000'000'000);

constexpr Mass coarsest = Mass::micrograms(1'000'000'000'000);

/// Rounding moves a weight of fewer steps than this by more than one percent.
constexpr std::int64_t fewest_steps = 50;

/// The coarsest step of the form 1, 2 or 5 times a power of ten that cuts `exact` into at least fewest_steps.
/// Never under a microgram.
Mass finer_step(Mass exact);

/// A warning when `exact`, the weight before rounding, is less than fewest_steps of `step`.
std::optional<Note> coarse_step_note(std::string_view part, Mass exact, Mass step);

/// "0.1": a step as people say it.
std::string step_text(Mass step);

/// Doses must not be negative, nor together pass the ceiling (100 % at most). The sum, or why not.
Expected<Ratio> sum_of_doses(const std::vector<PigmentDose>& doses, Ratio ceiling, std::string_view where);

/// A note when the sum of doses comes within a tenth of the ceiling.
std::optional<Note> near_ceiling_note(Ratio sum, Ratio ceiling, std::string_view where);

}  // namespace pourwright::recipe

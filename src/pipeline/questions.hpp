// SPDX-License-Identifier: GPL-3.0-or-later
// What a card asks: files of which it is not clear what is cast, with what each answer takes.
#pragma once

#include <pourwright/pipeline.hpp>

#include "pipeline/measure.hpp"

#include <array>
#include <optional>
#include <vector>

namespace pourwright {

/// Least and most that the molds of the workshop take, as it lists and has recorded them; nothing from fewer
/// than two.
std::optional<std::array<Volume, 2>> usual_amounts(const ChosenMix& chosen, const MixSettings& settings);

/// The files that are sure count as evidence about those that are not.
void weigh_neighbours(std::vector<Measured>& measured);

/// The question about a file, not yet weighed; nothing when its reading is sure, or all answers take the
/// same.
std::optional<Question> question_about(const MeasureRow& row, int copies, const ChosenMix& chosen);

/// What each answer takes in grams, with the card's mix, scale and allowance. Without molds on the card the
/// scale is picked by the largest answer.
std::optional<Problem> weigh_answers(ChosenMix chosen, const MixSettings& settings, CardReport& card);

/// An amount that cannot be weighed is a sign of the wrong unit: the units that would make sense are named.
Problem with_units(Problem problem, const std::vector<const Measured*>& molds);

}  // namespace pourwright

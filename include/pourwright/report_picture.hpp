// SPDX-License-Identifier: GPL-3.0-or-later
// The words on the picture of a mold.
#pragma once

#include <pourwright/picture_words.hpp>
#include <pourwright/report.hpp>

#include <optional>

namespace pourwright {

/// What the mesh tells. `walls`: of what is coloured by thickness; nothing: not measured, and `why_not` says
/// why unless it is empty.
PictureWords picture_words(const MeasureRow& row, const std::optional<Walls>& walls,
                           const std::string& why_not, const TextStyle& style);
/// The grams of a mold on the pour card beside it.
void add_card_words(PictureWords& words, const CardReport& card, const CardMold& mold,
                    const TextStyle& style);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Volume to grams on the user's scale. All arithmetic on whole scale steps: parts always add up to the total.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <pourwright/material.hpp>
#include <pourwright/units.hpp>

namespace pourwright {

struct Part {
  std::string name;   ///< "liquid", "powder", or a pigment's name
  Mass mass;          ///< a whole number of scale steps
};

/// Pigment by its share of the mix (liquid + powder).
struct PigmentDose {
  std::string name;
  Ratio dose;
};

struct RecipeOptions {
  Mass scale_step = Mass::grams(1);
  Ratio allowance;                    ///< share added to what the molds hold
  std::vector<PigmentDose> pigments;
};

/// One batch as it is weighed: liquid first, powder from the rounded liquid, then pigments.
struct Recipe {
  Mass mix;                 ///< liquid + powder (+ pigments): exactly the sum of the parts
  std::vector<Part> parts;  ///< in weighing order
  Ratio ratio_asked;
  Ratio ratio_weighed;      ///< powder/liquid after rounding
  Ratio drift;              ///< ratio_weighed/ratio_asked − 1
  Notes notes;              ///< step too coarse (< 50 steps in a part), pigment near its ceiling, …
};

/// A batch of at least `wanted` (before rounding) of mix: liquid = wanted/(1+ratio) to the step, powder =
/// ratio × that liquid to the step; if the sum falls short of `wanted`, the liquid is raised by one step.
/// With pigments `wanted` counts them. Fails when wanted <= 0 or the doses pass the mix's ceiling.
Expected<Recipe> weigh_for_total(const Mix& mix, Mass wanted, const RecipeOptions& options);

/// A batch from the liquid already in the cup: powder = ratio × liquid, exactly as poured (102 g at 3.2 is
/// 326.4 g). The liquid is kept as given even when it is off the step.
Expected<Recipe> weigh_for_liquid(const Mix& mix, Mass liquid, const RecipeOptions& options);

/// What one mold takes.
struct MoldDemand {
  std::string name;
  int copies = 1;
  Interval<Volume> fill;    ///< of one copy
};

struct MoldRow {
  std::string name;
  int copies = 1;
  Interval<Mass> mix;       ///< all copies, allowance included; value a whole number of steps
  std::vector<Part> parts;  ///< adds up exactly to mix.value
};

/// One batch for several molds. The rows' values and parts add up exactly to the total's (largest remainder on
/// whole steps); each row is at least what its volume needs, to within one step.
struct Tray {
  std::vector<MoldRow> rows;
  Recipe total;
};
Expected<Tray> weigh_tray(const Mix& mix, const std::vector<MoldDemand>& molds, const RecipeOptions& options);

/// Splits `total` (a whole number of steps) in proportion to `weights` by the largest-remainder method (Hamilton):
/// the parts add up to the total and each is less than one step from its quota. Ties go to the earlier part.
/// Precondition: weights >= 0 with a positive sum.
std::vector<Mass> largest_remainder(Mass total, const std::vector<double>& weights, Mass step);
/// The integer core of the above.
std::vector<std::int64_t> largest_remainder(std::int64_t total, const std::vector<std::int64_t>& weights);

}  // namespace pourwright

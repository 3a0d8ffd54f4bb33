// SPDX-License-Identifier: GPL-3.0-or-later
// One mix divided over cups, each with its own colour.
#pragma once

#include <pourwright/recipe.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

struct Cup {
  std::string name;
  std::optional<Ratio> share;         ///< of the mix; one cup may leave it out and takes the rest
  std::vector<PigmentDose> pigments;  ///< shares of this cup's mix, on top of it
};

struct SplitOptions {
  Mass scale_step = Mass::grams(1);       ///< of the scale that weighs the mix into the cups
  Mass pigment_step = Mass::grams(0.01);  ///< of the scale that weighs pigment
  Ratio pigment_ceiling = Ratio::percent(3);
};

/// A pigment too small to weigh, thinned with plain mix: stir `pigment` into `mix`, put `take` of that in the
/// cup.
struct MasterBatch {
  std::string pigment_name;
  Mass pigment;  ///< 50 steps of the pigment scale
  Mass mix;      ///< plain mix stirred into it
  Mass take;  ///< of the two together; at least 50 steps, and it counts as the cup's mix but for its pigment
};

struct FilledCup {
  std::string name;
  Ratio share;
  Mass mix;                    ///< a whole number of scale steps
  std::vector<Part> pigments;  ///< whole pigment steps, in the order of the doses
  Mass pigment;                ///< their sum
  std::vector<MasterBatch> masters;
};

struct Split {
  Mass mix;                     ///< exactly the sum of the cups' mix
  std::vector<FilledCup> cups;  ///< in the order given
  Notes notes;  ///< rounded down to the step, a cup or pigment too small to weigh, near the ceiling
};

/// Divides `total` by largest remainder, so that the cups add up exactly and each is less than a step from
/// its share. A total off the step is rounded down, never up: no more can be poured than is there. Fails with
/// shares_invalid when a share is not positive, two are left out, or they do not add up to 100 %; with
/// pigment_over_ceiling naming the cup; with usage when there is no cup or two have the same name; and with
/// amount_not_positive when the total is less than a step.
Expected<Split> split_mix(Mass total, const std::vector<Cup>& cups, const SplitOptions& options);

}  // namespace pourwright

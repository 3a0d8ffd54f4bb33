// SPDX-License-Identifier: GPL-3.0-or-later
// What a scale's step means for a part, and the limits on doses.
#include "workshop/recipe/steps.hpp"

#include <pourwright/numbers.hpp>

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::recipe {

Mass finer_step(Mass exact) {
  std::int64_t best = 1;
  for (std::int64_t decade = 1; decade <= heaviest.in_micrograms(); decade *= 10)
    for (const std::int64_t digit : {1, 2, 5})
      if (digit * decade * fewest_steps <= exact.in_micrograms()) best = digit * decade;
  return Mass::micrograms(best);
}

std::string step_text(Mass step) {
  return grams_text(step, step);
}

std::optional<Note> coarse_step_note(std::string_view part, Mass exact, Mass step) {
  if (exact <= Mass{} || exact >= step * fewest_steps) return std::nullopt;
  const double worst = 50 * step.in_grams() / exact.in_grams();  // half a step, in percent of the part
  const Mass finer = finer_step(exact);
  return Note{"step-too-coarse",
              fmt::format("a {} g scale can be {} % off for {}; {} g is enough", step_text(step),
                          significant(std::min(worst, 100.0), 2), part, step_text(finer)),
              true};
}

Expected<Ratio> sum_of_doses(const std::vector<PigmentDose>& doses, Ratio ceiling, std::string_view where) {
  ceiling = std::min(ceiling, Ratio::percent(100));
  Ratio sum;
  for (const PigmentDose& dose : doses) {
    if (dose.dose < Ratio{})
      return fail(Code::bad_number, fmt::format("the dose of {} is less than nothing", dose.name),
                  "give it as a share of the mix, like 2 %");
    // Checked at each dose, so that the sum of absurd ones cannot run over.
    sum = dose.dose > ceiling ? dose.dose : sum + dose.dose;
    if (sum > ceiling)
      return fail(Code::pigment_over_ceiling,
                  fmt::format("{} would get {} % pigment or more; it bears {} %", where,
                              fixed(sum.in_percent(), 2), fixed(ceiling.in_percent(), 2)),
                  "lower the doses, or raise pigment-ceiling in the catalogue if the supplier allows it");
  }
  return sum;
}

std::optional<Note> near_ceiling_note(Ratio sum, Ratio ceiling, std::string_view where) {
  if (sum <= Ratio{} || sum.in_millionths() * 10 < ceiling.in_millionths() * 9) return std::nullopt;
  return Note{"pigment-near-ceiling",
              fmt::format("{} gets {} % pigment; its ceiling is {} %.", where, fixed(sum.in_percent(), 2),
                          fixed(ceiling.in_percent(), 2)),
              false};
}

}  // namespace pourwright::recipe

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include "workshop/recipe/steps.hpp"

#include <cstdlib>

#include <fmt/format.h>

namespace pourwright {
namespace {

using recipe::heaviest;

std::optional<Problem> check(const Mix& mix, Mass amount, const RecipeOptions& options) {
  if (amount <= Mass{})
    return fail(Code::amount_not_positive, "the amount to mix is not more than nothing", "give it in grams");
  if (amount > heaviest)
    return fail(Code::bad_quantity, "the amount to mix is more than 1000 t", "check the unit");
  if (options.scale_step <= Mass{} || options.scale_step > recipe::coarsest)
    return fail(Code::bad_quantity, "the scale's step is not a weight", "give it like 1 g or 0.1 g");
  if (mix.ratio <= Ratio{} || mix.ratio > Ratio::millionths(1'000'000'000))
    return fail(Code::bad_number, "the mixing ratio is not between 0 and 1000",
                "it is powder per liquid by mass, like 3.2");
  return std::nullopt;
}

/// Everything that follows from the liquid, in micrograms. `exact` is each part before it was rounded.
struct Weights {
  std::vector<Mass> rounded, exact;
  Mass total;
  void add(Mass e, Mass r) {
    exact.push_back(e);
    rounded.push_back(r);
    total += r;
  }
};

/// m·r to a whole number of steps with a single rounding: rounding to the microgram first could tip a half.
Mass times_to_step(Mass m, Ratio r, Mass step) {
  return step * multiply_divide(m.in_micrograms(), r.in_millionths(), step.in_micrograms() * 1'000'000);
}

Weights from_liquid(const Mix& mix, Mass liquid, const RecipeOptions& options) {
  Weights w;
  w.add(liquid, liquid);
  w.add(liquid * mix.ratio, times_to_step(liquid, mix.ratio, options.scale_step));
  const Mass base = w.total;
  for (const PigmentDose& pigment : options.pigments)
    w.add(base * pigment.dose, times_to_step(base, pigment.dose, options.scale_step));
  return w;
}

std::optional<Note> drift_note(const Recipe& recipe) {
  if (std::abs(recipe.drift.in_millionths()) < 5'000) return std::nullopt;
  return Note{"ratio-drift",
              fmt::format("Rounding to the scale makes the ratio {} instead of {} ({}{} %).",
                          fixed(recipe.ratio_weighed.value(), 3), fixed(recipe.ratio_asked.value(), 3),
                          recipe.drift > Ratio{} ? "+" : "", fixed(recipe.drift.in_percent(), 1)),
              false};
}

Recipe describe(const Mix& mix, const Weights& w, const RecipeOptions& options, Ratio doses) {
  Recipe r;
  r.mix = w.total;
  for (std::size_t i = 0; i < w.rounded.size(); ++i) {
    const std::string& name = i == 0   ? mix.liquid_name
                              : i == 1 ? mix.powder_name
                                       : options.pigments[i - 2].name;
    r.parts.push_back({name, w.rounded[i]});
    if (auto note = recipe::coarse_step_note(name, w.exact[i], options.scale_step)) r.notes.push_back(*note);
  }
  r.ratio_asked = mix.ratio;
  const std::int64_t million = 1'000'000;
  r.ratio_weighed =
      Ratio::millionths(multiply_divide(w.rounded[1].in_micrograms(), million, w.rounded[0].in_micrograms()));
  r.drift = Ratio::millionths(
      multiply_divide(r.ratio_weighed.in_millionths(), million, r.ratio_asked.in_millionths()) - million);
  if (auto note = drift_note(r)) r.notes.push_back(*note);
  if (auto note = recipe::near_ceiling_note(doses, mix.pigment_ceiling, "the mix")) r.notes.push_back(*note);
  return r;
}

}  // namespace

// The batch grows with the liquid, so the smallest liquid that suffices is found by halving.
Expected<Recipe> weigh_for_total(const Mix& mix, Mass wanted, const RecipeOptions& options) {
  if (auto problem = check(mix, wanted, options)) return *problem;
  const auto doses = recipe::sum_of_doses(options.pigments, mix.pigment_ceiling, "the mix");
  if (!doses) return doses.error();
  const Mass step = options.scale_step;
  std::int64_t too_few = 0, enough = round_up_to(wanted, step).in_micrograms() / step.in_micrograms();
  while (enough - too_few > 1) {
    const std::int64_t middle = too_few + (enough - too_few) / 2;
    (from_liquid(mix, step * middle, options).total >= wanted ? enough : too_few) = middle;
  }
  return describe(mix, from_liquid(mix, step * enough, options), options, *doses);
}

Expected<Recipe> weigh_for_liquid(const Mix& mix, Mass liquid, const RecipeOptions& options) {
  if (auto problem = check(mix, liquid, options)) return *problem;
  const auto doses = recipe::sum_of_doses(options.pigments, mix.pigment_ceiling, "the mix");
  if (!doses) return doses.error();
  return describe(mix, from_liquid(mix, liquid, options), options, *doses);
}

}  // namespace pourwright

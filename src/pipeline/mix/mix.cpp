// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/mix/mix.hpp"

#include <pourwright/pipeline_learn.hpp>

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {

Expected<ChosenMix> choose_mix(const MixSettings& settings) {
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  auto mix = find_mix(*catalogue, settings.material.empty() ? catalogue->default_mix : settings.material);
  if (!mix) return mix.error();
  ChosenMix out;
  out.mix = std::move(*mix);
  if (settings.ratio && *settings.ratio != out.mix.ratio) {
    if (settings.ratio->in_millionths() <= 0)
      return fail(Code::amount_not_positive, "the ratio must be more than nothing",
                  "give powder per liquid, for example 3.2");
    std::string text =
        fmt::format("ratio {:.6g} instead of {:.6g}", settings.ratio->value(), out.mix.ratio.value());
    if (!settings.density)
      text += fmt::format("; the density of {} g/ml belongs to {:.6g}, so give --density too",
                          fixed(in_grams_per_millilitre(out.mix.density), 2), out.mix.ratio.value());
    out.notes.push_back({"ratio-given", std::move(text), !settings.density});
    out.mix.ratio = *settings.ratio;
  }
  if (settings.density) {
    if (!(in_grams_per_millilitre(*settings.density) > 0))
      return fail(Code::amount_not_positive, "the density must be more than nothing",
                  "give g/ml of the poured mix, for example 1.82");
    out.mix.density = *settings.density;
    out.mix.density_from = DensityFrom::option;
    out.mix.density_spread = Ratio();
  }
  out.allowance = settings.allowance.value_or(out.mix.allowance);
  if (out.allowance.in_millionths() < 0 || out.allowance > Ratio::percent(100))
    return fail(Code::usage, "the allowance must lie between 0 % and 100 %", "5% is common practice");
  if (settings.scale_step) {
    out.scale_step = *settings.scale_step;
  } else if (const auto& scales = catalogue->scales; !settings.workshop.empty() && !scales.empty()) {
    // The scale of the workshop that carries the most is the one for mixing.
    out.scale_step = std::max_element(scales.begin(), scales.end(), [](const Scale& a, const Scale& b) {
                       return a.capacity < b.capacity;
                     })->step;
  } else {
    out.scale_step = Mass::grams(0.1);
  }
  if (out.scale_step <= Mass())
    return fail(Code::amount_not_positive, "the scale's step must be more than nothing");
  return out;
}

Note density_note(const Mix& mix) {
  const std::string value = fixed(in_grams_per_millilitre(mix.density), 2);
  switch (mix.density_from) {
    case DensityFrom::cup_test:
      return {"density-measured", fmt::format("density {} g/ml of the poured mix, from a cup test", value),
              false};
    case DensityFrom::option:
      return {"density-given", fmt::format("density {} g/ml of the poured mix, as given", value), false};
    case DensityFrom::records:
      return {"density-learned",
              fmt::format("density {} g/ml of the poured mix, from the workshop's records", value), false};
    case DensityFrom::generic:
    case DensityFrom::components:
      break;
  }
  return {"density-not-measured",
          fmt::format("density {} g/ml is {}{}, ±{:.2g} %: pour a cup of known volume and weigh it", value,
                      mix.density_from == DensityFrom::generic ? "a " : "", name(mix.density_from),
                      mix.density_spread.in_percent()),
          true};
}

Expected<MixResult> mix(const MixRequest& request, const MixSettings& settings) {
  const int given = (request.volume ? 1 : 0) + (request.total ? 1 : 0) + (request.liquid ? 1 : 0);
  if (given != 1)
    return fail(Code::usage,
                given == 0 ? "say how much: --ml, --grams or --liquid"
                           : "--ml, --grams and --liquid contradict each other: give one of them",
                "for example: pourwright mix --liquid 102g");
  auto chosen = choose_mix(settings);
  if (!chosen) return chosen.error();
  if (request.volume) use_learned_density(settings, *chosen);
  const RecipeOptions options{chosen->scale_step, chosen->allowance, settings.pigments};
  const auto wanted = [&] {
    if (request.total) return *request.total;
    const Mass bare = *request.volume * chosen->mix.density;
    return bare + bare * chosen->allowance;
  };
  auto recipe = request.liquid ? weigh_for_liquid(chosen->mix, *request.liquid, options)
                               : weigh_for_total(chosen->mix, wanted(), options);
  if (!recipe) return recipe.error();
  if (request.volume && chosen->mix.density_from != DensityFrom::records)
    chosen->notes.push_back(density_note(chosen->mix));
  MixResult out{std::move(*chosen), std::move(*recipe), {}};
  out.cautions = cautions_for(out.chosen.mix, out.recipe.mix);
  return out;
}

}  // namespace pourwright

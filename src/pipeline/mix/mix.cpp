// SPDX-License-Identifier: GPL-3.0-or-later
// The mix of an order with everything that changes it (ratio, density, room, scales), and a recipe from it.
// The law: where a density came from travels with it.
#include "pipeline/mix/mix.hpp"

#include <pourwright/pipeline_learn.hpp>

#include "pipeline/mix/slips.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {

namespace {

std::optional<Problem> use_ratio(const MixSettings& settings, ChosenMix& out) {
  if (!settings.ratio || *settings.ratio == out.mix.ratio) return std::nullopt;
  if (settings.ratio->in_millionths() <= 0)
    return fail(Code::amount_not_positive, "the ratio must be more than 0",
                "give powder per liquid, for example 3.2");
  if (auto slip = slips::in_ratio(*settings.ratio, out.mix.ratio)) return slip;
  const Ratio before = out.mix.ratio;
  const bool computed = out.mix.density_from == DensityFrom::components;
  std::string text = fmt::format("ratio {:.6g} instead of {:.6g}", settings.ratio->value(), before.value());
  if (!settings.density && !computed)
    text += fmt::format("; the density of {} g/ml belongs to {:.6g}, so give --density too",
                        fixed(in_grams_per_millilitre(out.mix.density), 2), before.value());
  out.notes.push_back({"ratio-given", std::move(text), !settings.density && !computed});
  out.mix.ratio = *settings.ratio;
  out.mix.density = poured_density(out.mix);
  out.density_given = true;  // what the records know belongs to another ratio
  return std::nullopt;
}

/// The scale of the workshop that carries the most, until the size of the batch is known.
void use_scales(const MixSettings& settings, const Catalogue& catalogue, ChosenMix& out) {
  out.scale_step = settings.scale_step.value_or(Mass::grams(0.1));
  if (settings.scale_step || settings.workshop.empty() || catalogue.scales.empty()) return;
  out.scales = catalogue.scales;
  const auto strongest =
      std::max_element(out.scales.begin(), out.scales.end(),
                       [](const Scale& a, const Scale& b) { return a.capacity < b.capacity; });
  out.scale_step = strongest->step;
  out.scale = strongest->name;
}

}  // namespace

std::filesystem::path workshop_folder(const std::filesystem::path& workshop) {
  std::error_code error;
  return std::filesystem::is_regular_file(workshop, error) ? workshop.parent_path() : workshop;
}

MixSettings with_workshop_of_file(MixSettings settings, const std::filesystem::path& workshop) {
  const bool named = settings.workshop_from == WorkshopFrom::named && !settings.workshop.empty();
  if (named || settings.workshop_from == WorkshopFrom::left) return settings;
  settings.workshop = workshop;
  settings.workshop_from = WorkshopFrom::named;
  if (!settings.ledger.empty()) settings.ledger = workshop_folder(workshop) / "ledger.db";
  return settings;
}

Expected<ChosenMix> choose_mix(const MixSettings& settings) {
  auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  auto mix = find_mix(*catalogue, settings.material.empty() ? catalogue->default_mix : settings.material);
  if (!mix) return mix.error();
  ChosenMix out;
  out.mix = std::move(*mix);
  out.mix.workshop = settings.workshop.string();
  out.habits = catalogue->habits.value_or(Habits{});
  if (settings.cup) out.habits.cup = *settings.cup;
  if (settings.residue) out.habits.residue = *settings.residue;
  out.room = settings.room ? settings.room : out.habits.room;
  if (out.room) {
    if (auto slip = slips::in_room(*out.room)) return *slip;
    MixInRoom there = in_room(out.mix, *out.room);
    out.mix = std::move(there.mix);
    out.room_notes = std::move(there.times);
    for (Note& n : out.room_notes)  // a card says the times themselves
      if (!n.warning) n.brief = "times follow the room, a guide";
    out.notes = out.room_notes;
    if (there.ratio) out.notes.push_back(std::move(*there.ratio));
  }
  if (auto problem = use_ratio(settings, out)) return *problem;
  if (settings.density) {
    if (!(in_grams_per_millilitre(*settings.density) > 0))
      return fail(Code::amount_not_positive, "the density must be more than 0 g/ml",
                  "give g/ml of the poured mix, for example 1.82");
    if (auto slip = slips::in_density(*settings.density)) return *slip;
    if (auto far = slips::far_density(*settings.density, out.mix.density))
      out.notes.push_back(std::move(*far));
    out.density_given = true;
    out.mix.density = *settings.density;
    out.mix.density_from = DensityFrom::option;
    out.mix.density_spread = Ratio();
  }
  out.allowance = settings.allowance ? settings.allowance : out.mix.allowance;
  if (out.allowance && (*out.allowance < Ratio() || *out.allowance > Ratio::percent(100)))
    return fail(Code::usage, "the allowance must lie between 0 % and 100 %",
                "leave it out, and as much is added as the forecast asks for");
  use_scales(settings, *catalogue, out);
  if (out.scale_step <= Mass())
    return fail(Code::amount_not_positive, "the scale's step must be more than 0 g");
  out.pigments = std::move(catalogue->pigments);
  slips::unknown_pigments(settings.pigments, out.pigments, out.notes);
  out.leftovers = std::move(catalogue->leftovers);
  out.supplies = std::move(catalogue->supplies);
  return out;
}

void choose_scale(ChosenMix& chosen, Mass amount) {
  const Scale* scale = scale_for_batch(chosen.scales, chosen.mix, amount, chosen.habits.cup);
  if (scale == nullptr) return;
  chosen.scale = scale->name;
  chosen.scale_step = scale->step;
}

Mass batch_from(const Mix& mix, Mass liquid) {
  double whole = 0;
  for (const Proportion& p : proportions(mix)) whole += static_cast<double>(p.millionths) / 1e6;
  return Mass::grams(std::min(liquid.in_grams() * whole, 1e9));
}

RecipeOptions weighing_options(const ChosenMix& chosen, const std::vector<PigmentDose>& pigments) {
  RecipeOptions options;
  options.scale_step = chosen.scale_step;
  options.allowance = chosen.allowance.value_or(Ratio());
  options.pigments = pigments;
  options.scales = chosen.scales;
  options.scale = chosen.scale;
  options.cup = chosen.habits.cup;
  Catalogue known;
  known.pigments = chosen.pigments;
  for (const PigmentDose& d : pigments)
    if (const Pigment* p = find_pigment(known, d.name)) {
      options.known.push_back(*p);
      options.known.back().name = d.name;
    }
  return options;
}

std::optional<BatchCost> cost_of(const std::vector<Part>& parts, const ChosenMix& chosen) {
  if (chosen.supplies.empty()) return std::nullopt;
  BatchCost out;
  out.currency = chosen.habits.currency;
  Amount sum;
  for (const Part& p : parts) {
    const auto supply = std::find_if(chosen.supplies.begin(), chosen.supplies.end(),
                                     [&](const SupplyPrice& s) { return s.name == p.name; });
    const auto price = supply == chosen.supplies.end() ? std::nullopt : per_kilogram(*supply);
    if (price)
      sum += cost_of(p.mass, *price);
    else
      out.missing.push_back(p.name);
  }
  if (out.missing.size() == parts.size()) return std::nullopt;
  out.total = rounded(sum, out.currency);
  return out;
}

Note density_note(const Mix& mix) {
  Mix bare = mix;
  std::string chips;
  if (mix.density_from != DensityFrom::option && mix.density_from != DensityFrom::records &&
      std::erase_if(bare.components, [](const Component& c) { return c.kind == ComponentKind::chips; }) > 0) {
    chips = fmt::format("; {} with the chips in it", fixed(in_grams_per_millilitre(mix.density), 2));
    bare.density = poured_density(bare);
  }
  const std::string value = fixed(in_grams_per_millilitre(bare.density), 2);
  switch (mix.density_from) {
    case DensityFrom::cup_test:
      return {"density-measured", fmt::format("density {} g/ml, from a cup test{}", value, chips), false};
    case DensityFrom::option:
      return {"density-given", fmt::format("density {} g/ml, as given", value), false};
    case DensityFrom::records:
      return {"density-learned", fmt::format("density {} g/ml, from the workshop's records", value), false};
    case DensityFrom::generic:
    case DensityFrom::components:
      break;
  }
  return {"density-not-measured",
          fmt::format(
              "nobody has weighed this mix: its density of {} g/ml is {}, ±{:.2g} %{}; weigh a cup of known "
              "volume and record it (pourwright learn cup)",
              value, mix.density_from == DensityFrom::generic ? "a table's" : "computed from its parts",
              mix.density_spread.in_percent(), chips),
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
  if (request.volume) {
    const MoldOfCard room{{}, 1, Interval<Volume>::exactly(*request.volume), true};
    auto need = batch_need(*chosen, {room}, settings);
    if (!need) return need.error();
    chosen->mix = std::move(need->mix);
    chosen->allowance = need->allowance;
    chosen->notes.insert(chosen->notes.end(), need->notes.begin(), need->notes.end());
    chosen->notes.push_back(std::move(need->added));
  }
  const auto wanted = [&] {
    if (request.total) return *request.total;
    const Mass bare = *request.volume * chosen->mix.density;
    return bare + bare * chosen->allowance.value_or(Ratio());
  };
  choose_scale(*chosen, request.liquid ? batch_from(chosen->mix, *request.liquid) : wanted());
  const RecipeOptions options = weighing_options(*chosen, settings.pigments);
  auto recipe = request.liquid ? weigh_for_liquid(chosen->mix, *request.liquid, options)
                               : weigh_for_total(chosen->mix, wanted(), options);
  if (!recipe) return recipe.error();
  if (request.volume && chosen->mix.density_from != DensityFrom::records)
    chosen->notes.push_back(density_note(chosen->mix));
  recipe->notes.insert(recipe->notes.begin(), chosen->notes.begin(), chosen->notes.end());
  MixReport report{chosen->mix, chosen->scale_step, chosen->scale, std::move(*recipe), {}, {}};
  report.cautions = cautions_for(report.mix, report.recipe.mix);
  report.cost = cost_of(report.recipe.parts, *chosen);
  return MixResult{std::move(*chosen), std::move(report)};
}

}  // namespace pourwright

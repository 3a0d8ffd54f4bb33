// SPDX-License-Identifier: GPL-3.0-or-later
// A mix divided over cups, by options or by a plan of several steps, and what it costs.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_split.hpp>

#include "pipeline/mix/mix.hpp"
#include "pipeline/mix/slips.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string_view trimmed(std::string_view s) {
  while (!s.empty() && s.front() == ' ') s.remove_prefix(1);
  while (!s.empty() && s.back() == ' ') s.remove_suffix(1);
  return s;
}

Expected<PigmentDose> parse_part(std::string_view text) {
  const auto equals = text.rfind('=');
  if (equals == std::string_view::npos || trimmed(text.substr(0, equals)).empty())
    return fail(Code::bad_quantity, fmt::format("“{}” is not NAME=DOSE", text), "for example Kelp=2%");
  const auto dose = parse_percent(trimmed(text.substr(equals + 1)));
  if (!dose) return dose.error();
  return PigmentDose{std::string(trimmed(text.substr(0, equals))), *dose};
}

/// The length of the first piece: a comma between digits is a decimal comma, "Kelp=1,5%".
std::size_t first_piece(std::string_view s) {
  const auto digit = [&](std::size_t i) { return i < s.size() && s[i] >= '0' && s[i] <= '9'; };
  for (std::size_t i = 0; i < s.size(); ++i)
    if (s[i] == ',' && !(i > 0 && digit(i - 1) && digit(i + 1))) return i;
  return s.size();
}

/// How the mix itself is weighed, and how much of it there is.
struct Base {
  std::optional<Recipe> recipe;
  Mass total;
};
Expected<Base> base_of(const SplitRequest& request, ChosenMix& chosen) {
  const int given = (request.there ? 1 : 0) + (request.total ? 1 : 0) + (request.liquid ? 1 : 0);
  if (given != 1)
    return fail(Code::usage,
                given == 0 ? "say how much mix there is: --grams, or --liquid"
                           : "--grams and --liquid contradict each other: give one of them",
                "for example --grams 640g");
  choose_scale(chosen, request.there   ? *request.there
                       : request.total ? *request.total
                                       : batch_from(chosen.mix, *request.liquid));
  if (request.there) return Base{std::nullopt, *request.there};
  const RecipeOptions options = weighing_options(chosen, {});
  auto recipe = request.liquid ? weigh_for_liquid(chosen.mix, *request.liquid, options)
                               : weigh_for_total(chosen.mix, *request.total, options);
  if (!recipe) return recipe.error();
  const Mass total = recipe->mix;
  return Base{std::move(*recipe), total};
}

SplitOptions options_of(const SplitRequest& request, const ChosenMix& chosen, SplitReport& report) {
  SplitOptions o;
  o.scale_step = chosen.scale_step;
  o.pigment_ceiling = chosen.mix.pigment_ceiling;
  // The finest scale of the workshop is the one for pigment.
  for (const Scale& s : chosen.scales)
    if (report.pigment_scale.empty() || s.step < o.pigment_step) {
      o.pigment_step = s.step;
      report.pigment_scale = s.name;
    }
  if (request.pigment_step) {
    o.pigment_step = *request.pigment_step;
    report.pigment_scale.clear();
  }
  Catalogue known;
  known.pigments = chosen.pigments;
  for (const SplitStep& step : request.plan.steps)
    for (const Cup& cup : step.cups)
      for (const PigmentDose& d : cup.pigments)
        if (const Pigment* p = find_pigment(known, d.name)) {
          o.known.push_back(*p);
          o.known.back().name = d.name;
        }
  o.ratio = chosen.mix.ratio;
  for (const Proportion& p : proportions(chosen.mix))
    o.whole_per_liquid += static_cast<double>(p.millionths) / 1e6;
  return o;
}

std::optional<BatchCost> cost_of_split(const SplitReport& report, const ChosenMix& chosen) {
  std::vector<Part> parts;
  if (report.base)
    parts = report.base->parts;
  else if (auto r = weigh_exactly(chosen.mix, report.plan.mix, Mass::micrograms(1)))
    parts = r->parts;
  for (const FilledStep& s : report.plan.steps)
    for (const FilledCup& c : s.cups) parts.insert(parts.end(), c.pigments.begin(), c.pigments.end());
  return cost_of(parts, chosen);
}

/// What each small mold takes, by the reckoning of a card; one that was filled with water holds what that
/// says.
std::optional<Problem> reckon_leftovers(ChosenMix& chosen, const MixSettings& settings, Notes& notes) {
  for (LeftoverMold& m : chosen.leftovers) {
    MoldOfCard one{{}, 1, Interval<Volume>::exactly(m.holds), true};
    for (const std::string& name : {m.name, m.key}) {
      const auto named = named_mold(name, settings);
      if (!named) return named.error();
      if (!*named) continue;
      one.path = (*named)->name;
      one.fill = (*named)->holds;
      one.by_name = true;
      break;
    }
    const auto need = batch_need(chosen, {one}, settings);
    if (!need) return need.error();
    if (!need->refused.empty()) return need->refused.front().second;
    m.takes = need->grams_in_mold(0);
    if (one.by_name)
      notes.push_back({"capacity-learned",
                       fmt::format("{}: {} ml from its water fills{}", m.name,
                                   fixed(in_millilitres(need->fills[0].value), 1),
                                   m.holds > Volume() ? fmt::format("; the workshop's file says {} ml",
                                                                    fixed(in_millilitres(m.holds), 1))
                                                      : std::string()),
                       false});
  }
  return std::nullopt;
}

/// A mold that is only named, among the small ones.
std::optional<Problem> add_named(const std::string& name, const MixSettings& settings, ChosenMix& chosen) {
  std::vector<FoundFile> one{{name, 0,
                              fail(Code::file_missing, fmt::format("no mold is called “{}”", name),
                                   "fill it with water and record that: pourwright learn water NAME"),
                              false}};
  if (auto problem = find_by_name(one, settings)) return problem;
  if (one[0].problem) return one[0].problem;
  LeftoverMold mold;
  mold.key = mold.name = one[0].path.string();
  mold.copies = one[0].copies > 0 ? one[0].copies : 1;
  chosen.leftovers.push_back(std::move(mold));
  return std::nullopt;
}

}  // namespace

Expected<Cup> parse_cup(std::string_view text) {
  Cup cup;
  std::string_view rest = text;
  for (bool first = true; first || !rest.empty(); first = false) {
    const std::size_t end = first_piece(rest);
    const std::string_view piece = trimmed(rest.substr(0, end));
    rest.remove_prefix(std::min(rest.size(), end + 1));
    if (!first) {
      auto dose = parse_part(piece);
      if (!dose) return dose.error();
      cup.pigments.push_back(std::move(*dose));
      continue;
    }
    const auto equals = piece.rfind('=');
    cup.name = trimmed(piece.substr(0, equals));
    if (cup.name.empty())
      return fail(Code::usage, fmt::format("the cup “{}” has no name", text),
                  "write NAME=SHARE, for example sea=60%");
    if (equals == std::string_view::npos) continue;
    const std::string_view given = trimmed(piece.substr(equals + 1));
    const auto share = parse_percent(given);
    if (!share && !given.empty() && given.find_first_of("0123456789") == std::string_view::npos)
      return fail(
          Code::bad_quantity, fmt::format("“{}”: a cup's share is expected, not “{}”", text, given),
          fmt::format("write the share, then the pigment and its dose: {}=15%,{}=2%", cup.name, given));
    if (!share) return share.error();
    cup.share = *share;
  }
  return cup;
}

Expected<Technique> parse_technique(std::string_view text) {
  static const std::vector<std::string> words{"solid", "veins", "side-by-side", "layered"};
  const auto it = std::find(words.begin(), words.end(), text);
  if (it != words.end()) return static_cast<Technique>(it - words.begin());
  const std::string_view near = nearest_name(text, words);
  return fail(Code::usage, fmt::format("“{}” is no technique", text),
              near.empty() ? "they are solid, veins, side-by-side and layered"
                           : fmt::format("did you mean “{}”?", near));
}

Expected<SplitReport> split(const SplitRequest& request, const MixSettings& settings) {
  auto chosen = choose_mix(settings);
  if (!chosen) return chosen.error();
  const auto base = base_of(request, *chosen);
  if (!base) return base.error();
  SplitReport out;
  out.title = request.title;
  out.pieces = request.pieces;
  const SplitOptions options = options_of(request, *chosen, out);
  SplitPlan plan = request.plan;
  if (plan.residue <= Mass()) plan.residue = chosen->habits.residue;
  plan.working_time = chosen->mix.working_time;
  auto planned = plan_split(base->total, plan, options);
  if (!planned) return planned.error();
  out.mix = chosen->mix;
  out.scale = chosen->scale;
  out.scale_step = options.scale_step;
  out.pigment_step = options.pigment_step;
  out.base = base->recipe;
  out.asked = plan;
  out.plan = std::move(*planned);
  out.followed = plan.steps.size() > 1 || plan.steps[0].technique != Technique::solid ||
                 plan.residue > Mass() || plan.steps[0].pour || out.plan.bucket > Mass();
  const Mass left = out.plan.left + out.plan.bucket;
  if (left > Mass() && out.followed) out.leftovers = fit_leftovers(left, out.mix.density, chosen->leftovers);
  out.notes = chosen->notes;
  for (const SplitStep& step : plan.steps)
    for (const Cup& cup : step.cups) {
      slips::unknown_pigments(cup.pigments, chosen->pigments, out.notes);
      slips::pigment_as_cup(cup, chosen->pigments, out.notes);
    }
  if (out.base) out.notes.insert(out.notes.end(), out.base->notes.begin(), out.base->notes.end());
  out.notes.insert(out.notes.end(), out.plan.notes.begin(), out.plan.notes.end());
  out.cost = cost_of_split(out, *chosen);
  return out;
}

Expected<LeftoverReport> leftover(Mass left, const MixSettings& settings,
                                  const std::vector<std::string>& more) {
  auto chosen = choose_mix(settings);
  if (!chosen) return chosen.error();
  if (left <= Mass())
    return fail(Code::amount_not_positive, "nothing is left", "give the grams that are left in the cups");
  LeftoverReport out;
  for (const std::string& name : more)
    if (auto problem = add_named(name, settings, *chosen)) return *problem;
  if (auto problem = reckon_leftovers(*chosen, settings, out.notes)) return *problem;
  use_learned_density(settings, *chosen);  // after that: records are applied once
  choose_scale(*chosen, left);
  out.left = left;
  out.scale_step = chosen->scale_step;
  out.mix = chosen->mix;
  out.has_molds = !chosen->leftovers.empty();
  out.plan = fit_leftovers(left, out.mix.density, chosen->leftovers);
  return out;
}

}  // namespace pourwright

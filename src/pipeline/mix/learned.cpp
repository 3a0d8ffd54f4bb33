// SPDX-License-Identifier: GPL-3.0-or-later
// What a batch takes: records where there are some, common practice where there are none. The law: nothing
// changes silently; each change has a note with the number it replaced.
#include "pipeline/mix/evidence.hpp"
#include "workshop/learn/practice.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// What the file alone leaves in doubt: its own interval, and how far molds stray from their files.
double file_doubt(const Interval<Volume>& fill) {
  const double v = in_millilitres(fill.value);
  const double half = std::max(in_millilitres(fill.high) - v, v - in_millilitres(fill.low)) / v;
  return wide * std::hypot(half / std::sqrt(3.0), learn::mold_as_made);
}

void learn_fill(int fills, int pours, const Estimate<Volume>& capacity, Interval<Volume>& fill,
                Notes& notes) {
  if (fills + pours == 0) return;
  const Volume before = fill.value;
  const double alone = file_doubt(fill);
  const double u = in_millilitres(capacity.u) / in_millilitres(capacity.value);
  fill.value = capacity.value;
  fill.low = std::max(capacity.value - capacity.u * wide, capacity.value * 0.5);
  fill.high = capacity.value + capacity.u * wide;
  fill.reasons = {{from_what(fills, "water fill", pours), wide * u}};
  std::string text = fmt::format(
      "{} ml from {} and the file together, ±{:.2g} %; the file alone says {} ml, ±{:.2g} % as molds stray "
      "from "
      "their files",
      fixed(in_millilitres(fill.value), 1), from_what(fills, "water fill", pours), 100 * wide * u,
      fixed(in_millilitres(before), 1), 100 * alone);
  if (wide * u > alone) text += "; they disagree, so it is less sure than before";
  notes.push_back({"capacity-learned", std::move(text), false});
}

void set_density(const Estimate<Density>& density, int cups, int pours, Mix& mix, Notes& notes) {
  const double before = in_grams_per_millilitre(mix.density), after = in_grams_per_millilitre(density.value);
  // Inside what the catalogue allows, a record never widens it.
  const double stated = mix.density_spread.value(), shift = std::abs(after / before - 1);
  double half = wide * in_grams_per_millilitre(density.u) / after;
  if (stated > 0 && shift <= stated) half = std::min(half, stated);
  const std::string why = half > stated && stated > 0
                              ? fmt::format(", not the ±{:.2g} % stated, because they disagree by {:.2g} %",
                                            100 * stated, 100 * shift)
                              : std::string();
  notes.push_back(
      {"density-learned",
       fmt::format("density {} g/ml of the poured mix, from {}, ±{:.2g} %{}; the catalogue has {} ({})",
                   fixed(after, 3), from_what(cups, "cup test", pours), 100 * half, why, fixed(before, 2),
                   name(mix.density_from)),
       false});
  mix.density = density.value;
  mix.density_spread = Ratio::of(half);
  mix.density_from = DensityFrom::records;
}

std::string basis(const Forecast& f) {
  if (f.pours == 0) return "going by common practice, until pours are recorded";
  return "learned from " + counted(f.pours, "pour");
}

/// "5.3 g stay in the cup"
std::string residue_text(const Forecast& f, int cups) {
  return fmt::format("{} g stay in {}", fixed(f.residue_g, 1), cups == 1 ? "the cup" : "the cups");
}

void set_allowance(const ChosenMix& chosen, double base_g, int cups, BatchNeed& out) {
  const Forecast& f = out.forecast;
  // Up to the next millionth, so that rounding never takes from the margin.
  const Ratio asked = Ratio::millionths(std::max<std::int64_t>(
      0, static_cast<std::int64_t>(std::ceil(std::min(f.batch_g / base_g - 1, 1e7) * 1e6))));
  out.allowance = chosen.allowance.value_or(asked);
  out.allowance_fixed = chosen.allowance.has_value();
  if (out.allowance_fixed) {
    const double chance = f.chance_of_short(base_g * (1 + out.allowance.value()));
    out.added = {"allowance-given",
                 fmt::format("{:.3g} % is added as given; {}, so it runs short {}, {}; for {} it takes {} %",
                             out.allowance.in_percent(), residue_text(f, cups), chance_text(chance), basis(f),
                             chance_text(f.risk.value()), fixed(asked.in_percent(), 1)),
                 chance > 10 * f.risk.value()};
    return;
  }
  out.added = {
      f.pours == 0 ? "allowance-forecast" : "allowance-learned",
      fmt::format("{} % is added: {}, the rest is for how pours and molds differ; it runs short {}, {}",
                  fixed(out.allowance.in_percent(), 1), residue_text(f, cups), chance_text(f.risk.value()),
                  basis(f)),
      false, Topic::general,
      fmt::format("{}, the rest of what is added is for how pours differ", residue_text(f, cups))};
}

/// Nothing, with a note, when the ledger cannot be read.
Evidence evidence_for(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                      const MixSettings& settings, Notes& notes) {
  Evidence none;
  none.fills.resize(molds.size());
  none.mold_notes.resize(molds.size());
  std::error_code error;
  if (settings.ledger.empty() || !std::filesystem::exists(settings.ledger, error)) return none;
  const auto ledger = Ledger::open_to_read(settings.ledger);
  auto found = ledger ? gather(*ledger, chosen.mix, molds) : Expected<Evidence>(ledger.error());
  if (found) return std::move(*found);
  notes.push_back({"ledger-not-used", fmt::format("{}; nothing learned is used", found.error().text), true});
  return none;
}

void drop(const std::vector<std::int64_t>& ids, std::vector<Record>& records) {
  std::erase_if(records,
                [&](const Record& r) { return std::find(ids.begin(), ids.end(), r.id) != ids.end(); });
}

Problem disagreeing(const std::string& what, double u) {
  const double percent = std::ceil(100 * wide * u);
  return fail(
      Code::too_uncertain,
      fmt::format("{} can only be told to ±{:.0f} %: the records disagree", what, percent),
      fmt::format("withdraw the wrong one (pourwright learn list, learn withdraw NUMBER) or measure again; "
                  "--max-uncertainty {:.0f}% would allow it",
                  percent));
}

void append(Notes& list, const Notes& more) {
  list.insert(list.end(), more.begin(), more.end());
}

}  // namespace

Mass BatchNeed::grams(std::size_t mold) const {
  return fills[mold].value * mix.density * (Ratio::percent(100) + allowance);
}

Mass BatchNeed::grams_in_mold(std::size_t mold) const {
  const double kept = forecast.residue_g / forecast.fill_g;
  return Mass::grams((fills[mold].value * mix.density).in_grams() *
                     std::max(1.0, 1 + allowance.value() - kept));
}

RunningShort BatchNeed::running_short(Mass batch) const {
  return {forecast.chance_of_short(batch.in_grams()),
          forecast.risk,
          allowance_fixed,
          Mass::grams(forecast.expected_g),
          Mass::grams(forecast.residue_g),
          forecast.pours,
          forecast.cups};
}

Expected<BatchNeed> batch_need(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                               const MixSettings& settings) {
  BatchNeed out;
  out.mix = chosen.mix;
  Evidence e = evidence_for(chosen, molds, settings, out.notes);
  if (chosen.density_given) e.cups.clear();
  out.mold_notes = std::move(e.mold_notes);
  const Estimate<Density> cups = density_of(chosen.mix, e.cups);
  append(out.notes, cups.notes);
  drop(cups.set_aside, e.cups);
  if (cups.records > 0 && cups.u * wide > cups.value * settings.max_uncertainty)
    return disagreeing(fmt::format("the density of “{}”", chosen.mix.name), cups.u / cups.value);
  std::vector<MoldToPour> pouring;
  for (std::size_t i = 0; i < molds.size(); ++i) {
    out.fills.push_back(molds[i].fill);
    Estimate<Volume> holds =
        capacity_of(molds[i].by_name && molds[i].full ? std::nullopt : std::optional(molds[i].fill),
                    e.fills[i], e.others);
    append(out.mold_notes[i], holds.notes);
    if (holds.records > 0 && holds.u * wide > holds.value * settings.max_uncertainty)
      out.refused.emplace_back(
          i, disagreeing(fmt::format("what “{}” holds", mold_name(molds[i].path)), holds.u / holds.value));
    drop(holds.set_aside, e.fills[i]);
    pouring.push_back({mold_name(molds[i].path), molds[i].copies, std::move(holds)});
  }
  const PourPlan plan{settings.cups,        chosen.mix.density,    chosen.mix.density_spread.value(),
                      chosen.density_given, chosen.habits.residue, settings.risk};
  auto forecast = forecast_need(pouring, plan, {e.cups, e.pours, e.lots});
  if (!forecast) return forecast.error();
  out.forecast = std::move(*forecast);
  append(out.notes, out.forecast.notes);
  for (std::size_t i = 0; i < molds.size(); ++i) {
    const int fills = static_cast<int>(e.fills[i].size()), pours = e.pours_of(pouring[i].mold);
    if (!molds[i].by_name || pours > 0)
      learn_fill(fills, pours, out.forecast.capacities[i], out.fills[i], out.mold_notes[i]);
    out.learned |= fills + pours > 0;
  }
  if (!chosen.density_given && out.forecast.cups + out.forecast.pours > 0) {
    set_density(out.forecast.density, out.forecast.cups, out.forecast.pours, out.mix, out.notes);
    out.learned = true;
  }
  double base_g = 0;
  for (std::size_t i = 0; i < molds.size(); ++i)
    base_g += (out.fills[i].value * out.mix.density).in_grams() * molds[i].copies;
  set_allowance(chosen, base_g, settings.cups, out);
  return out;
}

void use_learned_density(const MixSettings& settings, ChosenMix& chosen) {
  const MoldOfCard any{{}, 1, Interval<Volume>::exactly(millilitres(100)), true};
  const auto need = batch_need(chosen, {any}, settings);
  if (!need) return;
  append(chosen.notes, need->notes);
  if (need->learned) chosen.mix = need->mix;
}

}  // namespace pourwright

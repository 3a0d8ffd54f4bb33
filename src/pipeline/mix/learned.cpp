// SPDX-License-Identifier: GPL-3.0-or-later
// Records to changes of a card. Nothing changes silently: each change has a note with the number it replaced.
#include "pipeline/mix/evidence.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

void learn_fill(int fills, int pours, const Estimate<Volume>& capacity, Interval<Volume>& fill,
                Notes& notes) {
  if (fills + pours == 0) return;
  const Volume before = fill.value;
  const double u = in_millilitres(capacity.u) / in_millilitres(capacity.value);
  fill.value = capacity.value;
  fill.low = std::max(capacity.value - capacity.u * wide, capacity.value * 0.5);
  fill.high = capacity.value + capacity.u * wide;
  fill.reasons = {{from_what(fills, "water fill", pours), wide * u}};
  notes.push_back({"capacity-learned",
                   fmt::format("{} ml from {} and the file together, ±{:.2g} %; the file alone says {} ml",
                               fixed(in_millilitres(fill.value), 1), from_what(fills, "water fill", pours),
                               100 * wide * u, fixed(in_millilitres(before), 1)),
                   false});
}

void set_density(const Estimate<Density>& density, int cups, int pours, Mix& mix, Notes& notes) {
  const double before = in_grams_per_millilitre(mix.density), after = in_grams_per_millilitre(density.value);
  const double u = in_grams_per_millilitre(density.u) / after;
  notes.push_back(
      {"density-learned",
       fmt::format("density {} g/ml of the poured mix, from {}, ±{:.2g} %; the catalogue has {} ({})",
                   fixed(after, 3), from_what(cups, "cup test", pours), 100 * wide * u, fixed(before, 2),
                   name(mix.density_from)),
       false});
  mix.density = density.value;
  mix.density_spread = Ratio::of(wide * u);
  mix.density_from = DensityFrom::records;
}

void learn_allowance(const Forecast& f, double base_g, const ChosenMix& chosen, bool given, int cups,
                     Learned& out) {
  const double fixed_g = base_g * (1 + chosen.allowance.value());
  const std::string chance = fmt::format("{:.3g} batch in 100", f.risk.in_percent());
  if (given || f.pours == 0) {
    out.notes.push_back(
        {"allowance-not-learned",
         fmt::format(
             "{:.3g} % is added as {}; for {} to run short, {}, {} g would do instead of {} g",
             chosen.allowance.in_percent(), given ? "given" : "fixed in the catalogue", chance,
             f.pours == 0 ? "going by common practice and no pours" : "going by " + counted(f.pours, "pour"),
             fixed(f.batch_g, 0), fixed(fixed_g, 0)),
         false});
    return;
  }
  const double share = f.batch_g / base_g - 1;
  out.allowance_learned = true;
  out.allowance =
      Ratio::millionths(std::max<std::int64_t>(0, static_cast<std::int64_t>(std::ceil(share * 1e6))));
  out.notes.push_back({"allowance-learned",
                       fmt::format("{:.2f} % is added for what stays in {} and so that {} runs short, "
                                   "learned from {}: {} g; the fixed "
                                   "{:.3g} % would be {} g",
                                   out.allowance.in_percent(), cups == 1 ? "the cup" : "the cups", chance,
                                   counted(f.pours, "pour"), fixed(f.batch_g, 0),
                                   chosen.allowance.in_percent(), fixed(fixed_g, 0)),
                       false});
}

std::optional<Learned> unusable(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                                const Problem& p) {
  Learned out;
  for (const MoldOfCard& m : molds) out.fills.push_back(m.fill);
  out.mold_notes.resize(molds.size());
  out.mix = chosen.mix;
  out.allowance = chosen.allowance;
  out.notes.push_back({"ledger-not-used", fmt::format("{}; nothing learned is used", p.text), true});
  return out;
}

}  // namespace

void use_learned_density(const MixSettings& settings, ChosenMix& chosen) {
  std::error_code error;
  if (settings.ledger.empty() || chosen.density_given || !std::filesystem::exists(settings.ledger, error))
    return;
  const auto ledger = Ledger::open_to_read(settings.ledger);
  Query q;
  q.kind = "cup";
  q.mix = chosen.mix.key;
  q.limit = 50;
  const auto cups = ledger ? ledger->records(q) : Expected<std::vector<Record>>(ledger.error());
  if (!cups) {
    chosen.notes.push_back(
        {"ledger-not-used", fmt::format("{}; nothing learned is used", cups.error().text), true});
    return;
  }
  if (cups->empty()) return;
  const Estimate<Density> density = density_of(chosen.mix, *cups);
  chosen.notes.insert(chosen.notes.end(), density.notes.begin(), density.notes.end());
  set_density(density, static_cast<int>(cups->size()), 0, chosen.mix, chosen.notes);
}

std::optional<Learned> apply_learned(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                                     const MixSettings& settings) {
  std::error_code error;
  if (settings.ledger.empty() || molds.empty() || !std::filesystem::exists(settings.ledger, error))
    return std::nullopt;
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return unusable(chosen, molds, ledger.error());
  auto evidence = gather(*ledger, chosen.mix, molds);
  if (!evidence) return unusable(chosen, molds, evidence.error());
  Evidence& e = *evidence;
  const bool given = chosen.density_given;
  if (given) e.cups.clear();
  const bool noted =
      std::any_of(e.mold_notes.begin(), e.mold_notes.end(), [](const Notes& n) { return !n.empty(); });
  if (e.empty() && !noted) return std::nullopt;

  Learned out;
  out.mix = chosen.mix;
  out.allowance = chosen.allowance;
  out.mold_notes = std::move(e.mold_notes);
  const Estimate<Density> density = density_of(chosen.mix, e.cups);
  std::vector<MoldToPour> pouring;
  for (std::size_t i = 0; i < molds.size(); ++i) {
    out.fills.push_back(molds[i].fill);
    pouring.push_back({mold_name(molds[i].path), molds[i].copies, capacity_of(molds[i].fill, e.fills[i])});
    const Notes& notes = pouring.back().capacity.notes;
    out.mold_notes[i].insert(out.mold_notes[i].end(), notes.begin(), notes.end());
  }
  if (e.empty()) return out;
  auto forecast = forecast_need(pouring, settings.cups, density, e.pours, settings.risk);
  if (!forecast) return unusable(chosen, molds, forecast.error());
  out.notes.insert(out.notes.end(), density.notes.begin(), density.notes.end());
  out.notes.insert(out.notes.end(), forecast->notes.begin(), forecast->notes.end());
  for (std::size_t i = 0; i < molds.size(); ++i)
    learn_fill(static_cast<int>(e.fills[i].size()), e.pours_of(pouring[i].mold), forecast->capacities[i],
               out.fills[i], out.mold_notes[i]);
  if (!given && (!e.cups.empty() || forecast->of_these_molds > 0))
    set_density(forecast->density, static_cast<int>(e.cups.size()), forecast->of_these_molds, out.mix,
                out.notes);
  double base_g = 0;
  for (std::size_t i = 0; i < molds.size(); ++i)
    base_g += (out.fills[i].value * out.mix.density).in_grams() * molds[i].copies;
  learn_allowance(*forecast, base_g, chosen, settings.allowance.has_value(), settings.cups, out);
  out.forecast = std::move(*forecast);
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// One batch for several molds. The law: rows add up to the total, part by part, in whole steps.
#include <pourwright/recipe.hpp>

#include "workshop/recipe/steps.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

namespace pourwright {
namespace {

using recipe::heaviest;

/// What one demand weighs, all copies together, before the allowance.
struct Need {
  Mass low, value, high;
};

Expected<Need> need_of(const Mix& mix, const MoldDemand& mold) {
  const double v = in_millilitres(mold.fill.value);
  const double low = std::min(in_millilitres(mold.fill.low), v),
               high = std::max(in_millilitres(mold.fill.high), v);
  if (!(v > 0) || !std::isfinite(high) || !(low >= 0))
    return fail(Code::amount_not_positive, fmt::format("“{}” holds nothing that could be weighed", mold.name),
                "check its volume and fill level");
  if (mold.copies < 1)
    return fail(Code::usage, fmt::format("“{}” is to be poured {} times", mold.name, mold.copies),
                "give at least one copy");
  const double rho = in_grams_per_millilitre(mix.density), spread = mix.density_spread.value();
  if (!(rho > 0) || !(spread >= 0 && spread < 1))
    return fail(Code::bad_number, fmt::format("the density of “{}” is not a usable number", mix.name),
                "give the density of the poured mix, like 1.8 g/mL, and a spread under 100 %");
  if (!(high * rho * (1 + spread) * mold.copies < heaviest.in_grams()))
    return fail(Code::bad_quantity, fmt::format("“{}” would take more than 1000 t", mold.name),
                "check the length unit of the mesh");
  const auto grams = [&](double ml, double density) { return Mass::grams(ml * density) * mold.copies; };
  return Need{grams(low, rho * (1 - spread)), grams(v, rho), grams(high, rho * (1 + spread))};
}

MoldRow describe(const Mix& mix, const MoldDemand& mold, const Need& need, Ratio with_allowance, Mass value) {
  MoldRow row{mold.name, mold.copies, {}, {}};
  row.mix.value = value;
  row.mix.low = std::min(value, need.low * with_allowance);
  row.mix.high = std::max(value, need.high * with_allowance);
  row.mix.reasons = mold.fill.reasons;
  if (mix.density_spread > Ratio{})
    row.mix.reasons.push_back(
        {fmt::format("density of the mix ({})", name(mix.density_from)), mix.density_spread.value()});
  const Mass exact = need.value * with_allowance;
  if (value != exact && exact > Mass{})
    row.mix.reasons.push_back(
        {"rounding to the scale's step", std::abs((value - exact).in_grams()) / exact.in_grams()});
  std::stable_sort(row.mix.reasons.begin(), row.mix.reasons.end(),
                   [](const Reason& a, const Reason& b) { return a.share > b.share; });
  return row;
}

// Part by part: each is dealt out over what the rows still have room for, so a row can never be overdrawn,
// and the powder, dealt last, is what remains of every row. Both margins of the table then hold exactly.
void deal_parts(const Recipe& total, Mass step, std::vector<MoldRow>& rows) {
  std::vector<std::int64_t> room;
  std::size_t powder = 0;
  while (total.parts[powder].kind != PartKind::powder) ++powder;
  for (MoldRow& row : rows) {
    row.parts = total.parts;
    room.push_back(row.mix.value.in_micrograms() / step.in_micrograms());
  }
  for (std::size_t part = total.parts.size(); part-- > 0;) {
    if (part == powder) continue;
    const auto shares =
        largest_remainder(total.parts[part].mass.in_micrograms() / step.in_micrograms(), room);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      rows[i].parts[part].mass = step * shares[i];
      room[i] -= shares[i];
    }
  }
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].parts[powder].mass = step * room[i];
}

/// The largest step of which every part of the batch is a whole number.
Mass common_step(const Recipe& total, Mass step) {
  std::int64_t common = step.in_micrograms();
  for (const Part& p : total.parts) common = std::gcd(common, p.mass.in_micrograms());
  return Mass::micrograms(common);
}

/// What there is against what the molds take, when the liquid decided.
Note given_note(Mass wanted, Mass mixed) {
  if (mixed < wanted)
    return {
        "liquid-short",
        fmt::format("This liquid makes {} g; the molds take {} g with the allowance: {} g are missing. Pour "
                    "fewer molds, or weigh more.",
                    fixed(mixed.in_grams(), 1), fixed(wanted.in_grams(), 1),
                    fixed((wanted - mixed).in_grams(), 1)),
        true};
  return {"liquid-over",
          fmt::format("This liquid makes {} g; the molds take {} g with the allowance: {} g will be left.",
                      fixed(mixed.in_grams(), 1), fixed(wanted.in_grams(), 1),
                      fixed((mixed - wanted).in_grams(), 1)),
          false};
}

}  // namespace

Expected<Tray> weigh_tray(const Mix& mix, const std::vector<MoldDemand>& molds,
                          const RecipeOptions& options) {
  if (molds.empty())
    return fail(Code::amount_not_positive, "there is no mold to mix for", "name at least one mold");
  if (options.allowance < Ratio{} || options.allowance > Ratio::percent(1e9))
    return fail(Code::bad_number, "the allowance is outside 0 to 1,000,000,000 %",
                "check the length unit: what stays in the cup is no more than the molds hold");
  const Ratio with_allowance = Ratio::percent(100) + options.allowance;
  std::vector<Need> needs;
  std::vector<std::int64_t> weights;
  Mass wanted, highest;
  for (const MoldDemand& mold : molds) {
    const auto need = need_of(mix, mold);
    if (!need) return need.error();
    needs.push_back(*need);
    const Mass with = need->value * with_allowance;
    weights.push_back(with.in_micrograms());
    wanted += with;
    highest += need->high;
    if (std::max(wanted, highest) > heaviest)
      return fail(Code::bad_quantity, "the tray would take more than 1000 t", "check the length unit");
  }
  auto total = options.liquid ? weigh_for_liquid(mix, *options.liquid, options)
                              : weigh_for_total(mix, wanted, options);
  if (!total) return total.error();
  if (options.liquid) total->notes.push_back(given_note(wanted, total->mix));
  Tray tray{{}, std::move(*total)};
  const Mass step = common_step(tray.total, options.scale_step);
  const auto values = largest_remainder(tray.total.mix.in_micrograms() / step.in_micrograms(), weights);
  for (std::size_t i = 0; i < molds.size(); ++i)
    tray.rows.push_back(describe(mix, molds[i], needs[i], with_allowance, step * values[i]));
  deal_parts(tray.total, step, tray.rows);
  return tray;
}

}  // namespace pourwright

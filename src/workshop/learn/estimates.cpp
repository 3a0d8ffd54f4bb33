// SPDX-License-Identifier: GPL-3.0-or-later
// Volumes and densities from records and what was known before. The law: a record only ever narrows a doubt
// that the records bear out; contradictions widen it or are set aside by number.
#include <pourwright/learn.hpp>

#include "workshop/learn/practice.hpp"
#include "workshop/learn/readings.hpp"
#include "workshop/learn/slips.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {

namespace learn {

double weighing_u(Mass step) {
  const double g = step > Mass() ? step.in_grams() : unsaid_step_g;
  return g / std::sqrt(6.0);
}

Reading water_reading(const WaterFill& fill) {
  const double z = millilitres_per_gram(fill.temperature, Air{});
  const double ml = fill.water.in_grams() * z;
  return {ml, std::hypot(weighing_u(fill.scale_step) * z, brim_each * ml)};
}

Reading cup_reading(const DensityCup& cup) {
  const double ml = in_millilitres(cup.volume), density = cup.mass.in_grams() / ml;
  return {density, std::hypot(weighing_u(cup.scale_step) / ml, cup_each * density)};
}

}  // namespace learn

namespace {

using learn::Combined;
using learn::Reading;

/// Sets contradicted readings aside, with a note for each, and combines the rest.
template <class T>
Combined settle(const std::vector<Record>& records, std::vector<Reading> readings, std::string_view unit,
                Estimate<T>& out) {
  const auto odd = learn::contradicted(readings);
  std::vector<Reading> kept;
  for (std::size_t i = 0; i < readings.size(); ++i)
    if (std::find(odd.begin(), odd.end(), i) == odd.end()) kept.push_back(readings[i]);
  const Combined c = learn::combine(kept);
  for (const std::size_t i : odd) {
    out.set_aside.push_back(records[i].id);
    out.notes.push_back(
        {"record-set-aside",
         fmt::format(
             "record {} ({:.4g} {}) contradicts the {} others ({:.4g} {}) and is left out; withdraw it "
             "if it was a mistake, or measure again",
             records[i].id, readings[i].value, unit, kept.size(), c.value, unit),
         true});
  }
  if (c.birge > 1.5)
    out.notes.push_back(
        {"records-disagree",
         fmt::format(
             "the {} records lie {:.1f} times further apart than weighing explains; what follows from "
             "them is that much less sure",
             kept.size(), c.birge),
         true});
  out.records = static_cast<int>(kept.size());
  return c;
}

Reading water_of(const Record& r) {
  return learn::water_reading(std::get<WaterFill>(r.what));
}
Reading cup_of(const Record& r) {
  return learn::cup_reading(std::get<DensityCup>(r.what));
}

bool cannot_be(double read, double expected, double beside = 0) {
  return std::abs(read / expected - 1) > learn::cannot_be + beside;
}

Note doubtful(std::int64_t id, const std::string& read, const std::string& expected,
              const std::string& slip) {
  return {
      "record-doubtful",
      fmt::format("record {} says {} where {} was to be expected{}; it is left out: withdraw it and record "
                  "it again, with --believe if it is right",
                  id, read, expected, slip.empty() ? std::string() : " (" + slip + "?)"),
      true};
}

std::vector<Record> without_slips(const std::vector<Record>& fills, double file, double half,
                                  const std::vector<std::pair<std::string, Volume>>& others,
                                  Estimate<Volume>& out) {
  std::vector<Record> kept;
  std::vector<double> odd;
  for (const Record& r : fills) {
    const auto& fill = std::get<WaterFill>(r.what);
    const double ml = water_of(r).value;
    if (fill.believed || !cannot_be(ml, file, half / file)) {
      kept.push_back(r);
      continue;
    }
    odd.push_back(ml);
    std::vector<learn::OtherMold> molds;
    for (const auto& [name, holds] : others)
      if (name != fill.mold) molds.push_back({name, in_millilitres(holds)});
    out.set_aside.push_back(r.id);
    out.notes.push_back(doubtful(r.id, fmt::format("{:.4g} ml of water", ml), fmt::format("{:.4g} ml", file),
                                 learn::likely_slip(learn::Weighed::water, ml, file, 1, 1, molds)));
  }
  if (odd.size() < 2) return kept;
  const auto [least, most] = std::minmax_element(odd.begin(), odd.end());
  if (*most < 1.03 * *least)
    out.notes.push_back(
        {"records-agree-not-file",
         fmt::format("{} water fills agree with each other and not with the file: the mold differs "
                     "from it, or it is read in another unit; record one with --believe and water "
                     "counts alone",
                     odd.size()),
         true});
  return kept;
}

/// In the order they were made: each is held against the catalogue, or against those before it.
std::vector<Record> without_slips(std::vector<Record> cups, const Mix& mix, Estimate<Density>& out) {
  std::sort(cups.begin(), cups.end(), [](const Record& a, const Record& b) { return a.id < b.id; });
  const double stated = in_grams_per_millilitre(mix.density);
  // A density from a table is itself that far off, and a cup as well.
  const double beside = std::max(0.0, mix.density_spread.value() + 0.05 - learn::cannot_be);
  std::vector<Record> kept;
  std::vector<double> right;
  for (Record& r : cups) {
    const auto& cup = std::get<DensityCup>(r.what);
    const double density = cup_of(r).value, ml = in_millilitres(cup.volume);
    const double expected = right.empty() ? stated : learn::median(right);
    if (cup.believed || !cannot_be(density, expected, right.empty() ? beside : 0)) {
      right.push_back(density);
      kept.push_back(std::move(r));
      continue;
    }
    out.set_aside.push_back(r.id);
    out.notes.push_back(doubtful(r.id, fmt::format("{:.3f} g/ml", density),
                                 fmt::format("{:.3f} g/ml", expected),
                                 learn::likely_slip(learn::Weighed::cup, density, expected, ml)));
  }
  return kept;
}

}  // namespace

Estimate<Volume> capacity_of(const std::optional<Interval<Volume>>& mesh, const std::vector<Record>& fills,
                             const std::vector<std::pair<std::string, Volume>>& others) {
  Estimate<Volume> out;
  std::vector<Reading> sources;
  std::vector<Record> kept = fills;
  double file = 0, half = 0;
  if (mesh) {
    file = in_millilitres(mesh->value);
    half = std::max(in_millilitres(mesh->high) - file, file - in_millilitres(mesh->low));
    kept = without_slips(fills, file, half, others, out);
  }
  const bool overruled = mesh && std::any_of(kept.begin(), kept.end(), [&](const Record& r) {
                           return cannot_be(water_of(r).value, file, half / file);
                         });
  if (mesh && !overruled)  // flat between low and high
    sources.push_back({file, std::hypot(half / std::sqrt(3.0), learn::mold_as_made * file)});
  if (!kept.empty()) {
    std::vector<Reading> readings;
    for (const Record& r : kept) readings.push_back(water_of(r));
    const Combined water = settle(kept, std::move(readings), "ml", out);
    sources.push_back({water.value, std::hypot(water.u, learn::brim_always * water.value)});
  }
  const Combined c = learn::combine(sources);
  if (overruled || (sources.size() == 2 && c.birge > 3))
    out.notes.push_back(
        {"mold-differs-from-file",
         overruled
             ? fmt::format("water says {:.4g} ml, the file {:.4g} ml: as the water is to be believed, the "
                           "file is left out",
                           sources[0].value, file)
             : fmt::format("water says {:.4g} ml, the file {:.4g} ml: the mold as made differs from its "
                           "file, or one of the two was read in another unit or filled to another level",
                           sources[1].value, sources[0].value),
         true});
  out.value = millilitres(c.value);
  out.u = millilitres(c.u);
  return out;
}

Estimate<Density> density_of(const Mix& mix, const std::vector<Record>& cups) {
  const double stated = in_grams_per_millilitre(mix.density);
  // The catalogue gives a half width; flat inside it.
  const double spread = std::max(mix.density_spread.value(), 0.002) / std::sqrt(3.0);
  Estimate<Density> out;
  std::vector<Reading> sources{{stated, spread * stated}};
  const std::vector<Record> kept = without_slips(cups, mix, out);
  if (!kept.empty()) {
    std::vector<Reading> readings;
    for (const Record& r : kept) readings.push_back(cup_of(r));
    const Combined c = settle(kept, std::move(readings), "g/ml", out);
    sources.push_back({c.value, std::hypot(c.u, learn::cup_always * c.value)});
  }
  const Combined c = learn::combine(sources);
  if (sources.size() == 2 && (c.birge > 3 || c.u > sources[0].u))
    out.notes.push_back(
        {"density-differs-from-catalogue",
         fmt::format("the cups say {:.3f} g/ml, the catalogue {:.3f}: as they lie {:.1f} % apart, "
                     "neither is sure; check the ratio, weigh another cup, or correct the "
                     "catalogue",
                     sources[1].value, sources[0].value,
                     100 * std::abs(sources[1].value / sources[0].value - 1)),
         true});
  out.value = grams_per_millilitre(c.value);
  out.u = grams_per_millilitre(c.u);
  return out;
}

}  // namespace pourwright

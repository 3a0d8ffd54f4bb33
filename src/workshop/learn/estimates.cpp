// SPDX-License-Identifier: GPL-3.0-or-later
// Volumes and densities from records and what was known before. The law: a record only ever narrows a doubt
// that the records bear out; contradictions widen it or are set aside by number.
#include <pourwright/learn.hpp>

#include "workshop/learn/practice.hpp"
#include "workshop/learn/readings.hpp"

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

}  // namespace

Estimate<Volume> capacity_of(const std::optional<Interval<Volume>>& mesh, const std::vector<Record>& fills) {
  Estimate<Volume> out;
  std::vector<Reading> sources;
  if (mesh) {
    const double v = in_millilitres(mesh->value);
    const double half = std::max(in_millilitres(mesh->high) - v, v - in_millilitres(mesh->low));
    sources.push_back(
        {v, std::hypot(half / std::sqrt(3.0), learn::mold_as_made * v)});  // flat between low and high
  }
  if (!fills.empty()) {
    std::vector<Reading> readings;
    for (const Record& r : fills) readings.push_back(learn::water_reading(std::get<WaterFill>(r.what)));
    const Combined water = settle(fills, std::move(readings), "ml", out);
    sources.push_back({water.value, std::hypot(water.u, learn::brim_always * water.value)});
  }
  const Combined c = learn::combine(sources);
  if (sources.size() == 2 && c.birge > 3)
    out.notes.push_back(
        {"mold-differs-from-file",
         fmt::format(
             "water says {:.4g} ml, the file {:.4g} ml: the mold as made differs from its file, or one of "
             "the two was read in another unit or filled to another level",
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
  if (!cups.empty()) {
    std::vector<Reading> readings;
    for (const Record& r : cups) readings.push_back(learn::cup_reading(std::get<DensityCup>(r.what)));
    const Combined c = settle(cups, std::move(readings), "g/ml", out);
    sources.push_back({c.value, std::hypot(c.u, learn::cup_always * c.value)});
  }
  const Combined c = learn::combine(sources);
  if (sources.size() == 2 && c.birge > 3)
    out.notes.push_back(
        {"density-differs-from-catalogue",
         fmt::format(
             "the cups say {:.3f} g/ml, the catalogue {:.3f}: check the ratio, or correct the catalogue",
             sources[1].value, sources[0].value),
         true});
  out.value = grams_per_millilitre(c.value);
  out.u = grams_per_millilitre(c.u);
  return out;
}

}  // namespace pourwright

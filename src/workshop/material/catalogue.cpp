// SPDX-License-Identifier: GPL-3.0-or-later
// One catalogue text to values. The format is described in docs/materials.md.
#include <pourwright/material.hpp>

#include "workshop/material/entry.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

namespace pourwright {
namespace {

using material::Entry;
using material::place;
using material::Range;

const Range<Ratio> ratio_range{Ratio::of(0.05), Ratio::of(20),
                               "0.05 to 20 parts of powder per part of liquid", "3.2"};
const Range<Density> density_range{grams_per_millilitre(0.5), grams_per_millilitre(4), "0.5 to 4 g/mL",
                                   "\"1.86 g/mL\""};
const Range<Density> powder_range{grams_per_millilitre(0.5), grams_per_millilitre(8), "0.5 to 8 g/mL",
                                  "\"2.63 g/mL\""};
const Range<Density> liquid_range{grams_per_millilitre(0.5), grams_per_millilitre(3), "0.5 to 3 g/mL",
                                  "\"1.05 g/mL\""};
const Range<Ratio> air_range{Ratio::percent(0), Ratio::percent(50), "0 to 50 %", "\"4 %\""};
const Range<Ratio> spread_range{Ratio::percent(0), Ratio::percent(50), "0 to 50 %", "\"2 %\""};
const Range<Ratio> ceiling_range{Ratio::percent(0), Ratio::percent(20), "0 to 20 %", "\"3 %\""};
const Range<Ratio> allowance_range{Ratio::percent(0), Ratio::percent(100), "0 to 100 %", "\"5 %\""};
const Range<Duration> working_range{minutes(0.5), minutes(1440), "0.5 min to 24 h", "\"14 min\""};
const Range<Duration> demold_range{minutes(1), minutes(60 * 24 * 30), "1 min to 30 d", "\"45 min\""};
const Range<Length> wall_range{millimetres(0.1), millimetres(100), "0.1 to 100 mm", "\"3 mm\""};
const Range<Length> contact_range{millimetres(1), millimetres(100), "1 to 100 mm", "\"10 mm\""};
const Range<Duration> green_range{minutes(10), minutes(60 * 24), "10 min to 24 h", "\"2 h\""};
const Range<Ratio> green_share_range{Ratio::percent(5), Ratio::percent(90), "5 to 90 %", "\"33 %\""};
const Range<Mass> step_range{Mass::micrograms(100), Mass::grams(1000), "0.0001 g to 1 kg", "\"1 g\""};
const Range<Mass> capacity_range{Mass::micrograms(100), Mass::grams(1e6), "0.0001 g to 1000 kg", "\"5 kg\""};

// What is believed of a density nobody measured in this workshop, and of one measured in a cup.
const Ratio unmeasured_spread = Ratio::percent(5);
const Ratio measured_spread = Ratio::percent(2);

void read_density(Entry& entry, Mix& mix) {
  const bool stated = entry.has("density"), origin = entry.has("density-from");
  // Asked one by one, so that all three are known keys.
  const bool powder = entry.has("powder-density"), liquid = entry.has("liquid-density"),
             air = entry.has("air");
  const bool computed = powder || liquid || air;
  if (stated && computed)
    entry.refuse("density", "“density” and the densities of the components exclude each other",
                 "keep the density if it was measured in a cup, else the components");
  if (origin && computed)
    entry.refuse("density-from", "“density-from” says nothing about a density computed from components",
                 "leave it out");
  if (computed) {
    mix.density_from = DensityFrom::components;
    const Density air_free = mixture_density(mix.ratio, entry.density("powder-density", powder_range),
                                             entry.density("liquid-density", liquid_range));
    mix.density = with_air(air_free, entry.percent("air", air_range));
  } else {
    const bool cup = entry.choice("density-from", {"cup test", "generic"}, 1) == 0;
    mix.density_from = cup ? DensityFrom::cup_test : DensityFrom::generic;
    mix.density = entry.density("density", density_range);
  }
  const bool measured = mix.density_from == DensityFrom::cup_test;
  mix.density_spread =
      entry.percent("density-spread", spread_range, measured ? measured_spread : unmeasured_spread);
}

Expected<Mix> read_mix(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[mix]]", label);
  Mix mix;
  mix.key = entry.key("key");
  mix.name = entry.text("name", mix.key);
  mix.description = entry.text("description", "", 400);
  mix.liquid_name = entry.text("liquid", mix.liquid_name);
  mix.powder_name = entry.text("powder", mix.powder_name);
  mix.ratio = entry.ratio("ratio", ratio_range);
  read_density(entry, mix);
  mix.working_time = entry.duration("working-time", working_range, Duration{});
  mix.demold_time = entry.duration("demold-time", demold_range, Duration{});
  mix.min_wall = entry.length("min-wall", wall_range, millimetres(3));
  mix.flexural_at_demold_mpa = entry.number("flexural-at-demold-mpa", 0.05, 50, 0);
  mix.pigment_ceiling = entry.percent("pigment-ceiling", ceiling_range, Ratio::percent(3));
  mix.allowance = entry.percent("allowance", allowance_range, Ratio::percent(5));
  mix.cautions = entry.lines("cautions");
  if (auto problem = entry.finish()) return *problem;
  return mix;
}

Expected<Pigment> read_pigment(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[pigment]]", label);
  Pigment pigment;
  pigment.key = entry.key("key");
  pigment.name = entry.text("name", pigment.key);
  pigment.liquid = entry.choice("form", {"liquid", "dry"}, 0) == 0;
  if (auto problem = entry.finish()) return *problem;
  return pigment;
}

Expected<Scale> read_scale(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[scale]]", label);
  Scale scale;
  scale.key = entry.key("key");
  scale.name = entry.text("name", scale.key);
  scale.step = entry.mass("step", step_range);
  scale.capacity = entry.mass("capacity", capacity_range);
  if (scale.capacity < scale.step)
    entry.refuse("capacity", "“capacity” is less than one step", "write the largest weight the scale reads");
  if (auto problem = entry.finish()) return *problem;
  return scale;
}

/// What a table leaves out stays as the program has it.
Expected<Handling> read_handling(const toml::table& table, std::string_view label) {
  Entry entry(table, "[handling]", label);
  Handling h;
  h.peel_n_per_mm = entry.number("peel-n-per-mm", 0, 10, h.peel_n_per_mm);
  h.pry_n = entry.number("pry-n", 0, 1000, h.pry_n);
  h.pry_contact = entry.length("pry-contact", contact_range, h.pry_contact);
  h.safety = entry.number("safety", 3, 20, h.safety);
  h.green_flexural_mpa = entry.number("green-flexural-mpa", 0.05, 50, h.green_flexural_mpa);
  h.green_age = entry.duration("green-age", green_range, h.green_age);
  h.green_from = entry.text("green-from", h.green_from);
  h.share_at_demold = entry.percent("share-at-demold", green_share_range, h.share_at_demold);
  if (auto problem = entry.finish()) return *problem;
  return h;
}

template <class T>
std::optional<Problem> read_all(const std::vector<const toml::table*>& tables, std::string_view label,
                                Expected<T> (*read)(const toml::table&, std::string_view),
                                std::vector<T>& into) {
  for (const toml::table* table : tables) {
    auto item = read(*table, label);
    if (!item) return item.error();
    const auto same = [&](const T& other) { return other.key == item->key; };
    if (std::any_of(into.begin(), into.end(), same))
      return fail(Code::config_bad_value,
                  fmt::format("{}: the key “{}” is used twice in this file",
                              place(label, table->source().begin), item->key),
                  "give one of the two entries another key, or delete it");
    into.push_back(std::move(*item));
  }
  return std::nullopt;
}

Expected<Catalogue> read_catalogue(const toml::table& root, std::string_view label) {
  Entry entry(root, "a catalogue", label);
  Catalogue catalogue;
  catalogue.default_mix = entry.text("default-mix", "");
  const auto mixes = entry.tables("mix"), pigments = entry.tables("pigment"), scales = entry.tables("scale");
  const toml::table* handling = entry.table("handling");
  if (auto problem = entry.finish()) return *problem;
  if (auto problem = read_all(mixes, label, read_mix, catalogue.mixes)) return *problem;
  if (auto problem = read_all(pigments, label, read_pigment, catalogue.pigments)) return *problem;
  if (auto problem = read_all(scales, label, read_scale, catalogue.scales)) return *problem;
  if (handling != nullptr) {
    auto read = read_handling(*handling, label);
    if (!read) return read.error();
    catalogue.handling = *read;
  }
  return catalogue;
}

}  // namespace

Expected<Catalogue> parse_catalogue(std::string_view toml, std::string_view label) {
  const auto table = material::parse_toml(toml, label);
  if (!table) return table.error();
  return read_catalogue(*table, label);
}

}  // namespace pourwright

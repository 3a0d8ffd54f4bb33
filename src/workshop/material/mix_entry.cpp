// SPDX-License-Identifier: GPL-3.0-or-later
// A [[mix]] of a catalogue as a value; docs/materials.md is the format.
#include "workshop/material/mix_entry.hpp"

#include "workshop/material/entry.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::material {
namespace {

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
const Range<Density> component_range{grams_per_millilitre(0.05), grams_per_millilitre(8), "0.05 to 8 g/mL",
                                     "\"2.4 g/mL\""};
const Range<Ratio> per_liquid_range{Ratio::millionths(1), Ratio::of(20),
                                    "0.000001 to 20 parts to one of liquid", "0.05"};
const Range<Ratio> component_share_range{Ratio::percent(0.001), Ratio::percent(80), "0.001 to 80 %",
                                         "\"1.5 %\""};
const Range<Temperature> set_range{celsius(20), celsius(120), "20 to 120 °C", "\"52 °C\""};

const std::vector<std::string> kinds{"liquid", "water",  "thickener", "retarder",
                                     "powder", "filler", "fibre",     "chips"};

Expected<Component> read_component(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[mix.component]]", label);
  Component c;
  c.kind = static_cast<ComponentKind>(entry.choice("kind", kinds, 5));
  c.name = entry.text("name", std::string(name(c.kind)));
  const bool per_liquid = entry.has("per-liquid"), share = entry.has("share");
  if (per_liquid == share)
    entry.refuse(share ? "share" : "per-liquid",
                 fmt::format("“{}” says {} how much of it goes in", c.name, share ? "twice" : "nowhere"),
                 "give either per-liquid = 0.05 (by mass, to one of liquid) or share = \"1.5 %\" of the mix");
  else if (per_liquid)
    c.per_liquid = entry.ratio("per-liquid", per_liquid_range);
  else
    c.share = entry.percent("share", component_share_range);
  if (entry.has("density")) c.density = entry.density("density", component_range);
  if (c.kind == ComponentKind::chips && !c.density)
    entry.refuse("density", fmt::format("“{}” are chips without a density", c.name),
                 "give the density of the cast chips, like density = \"1.9 g/mL\": they displace mix");
  if (auto problem = entry.finish()) return *problem;
  return c;
}

std::optional<Problem> read_components(Entry& entry, std::string_view label, Mix& mix) {
  Ratio shares;
  for (const toml::table* table : entry.tables("component")) {
    auto c = read_component(*table, label);
    if (!c) return c.error();
    const auto same = [&](const Component& other) { return other.name == c->name; };
    if (c->name == mix.liquid_name || c->name == mix.powder_name ||
        std::any_of(mix.components.begin(), mix.components.end(), same))
      return fail(Code::config_bad_value,
                  fmt::format("{}: two parts of the mix are called “{}”", place(label, table->source().begin),
                              c->name),
                  "give each part its own name");
    shares = shares + c->share;
    if (mix.components.size() == 20 || shares > Ratio::percent(90))
      return fail(
          Code::config_bad_value,
          fmt::format("{}: more than 20 parts, or more than 90 % of the mix besides liquid and powder",
                      place(label, table->source().begin)),
          "give large parts per-liquid, or leave some out");
    mix.components.push_back(std::move(*c));
  }
  // The order of weighing: wet parts into the liquid, dry ones after the powder, chips last.
  std::stable_sort(mix.components.begin(), mix.components.end(), [](const Component& a, const Component& b) {
    const auto rank = [](const Component& c) {
      return is_wet(c.kind) ? 0 : c.kind == ComponentKind::chips ? 2 : 1;
    };
    return rank(a) < rank(b);
  });
  return std::nullopt;
}

std::optional<Problem> read_rooms(Entry& mix_entry, std::string_view label, Mix& mix) {
  for (const toml::table* table : mix_entry.tables("room")) {
    Entry entry(*table, "[[mix.room]]", label);
    RoomPoint p;
    p.at = entry.temperature("at", room_range);
    if (entry.has("ratio")) p.ratio = entry.ratio("ratio", ratio_range);
    p.working_time = entry.duration("working-time", working_range, Duration{});
    p.demold_time = entry.duration("demold-time", demold_range, Duration{});
    if (auto problem = entry.finish()) return problem;
    mix.rooms.push_back(p);
  }
  return std::nullopt;
}

// What is believed of a density nobody measured in this workshop, and of one measured in a cup.
const Ratio unmeasured_spread = Ratio::percent(7);
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
    mix.powder_density = entry.density("powder-density", powder_range);
    mix.liquid_density = entry.density("liquid-density", liquid_range);
    mix.air = entry.percent("air", air_range);
    for (const Component& c : mix.components)
      if (!c.density)
        entry.refuse("component", fmt::format("“{}” has no density, so the mix's cannot be computed", c.name),
                     "add its density, or weigh a cup of the mix and give density instead");
  } else {
    const bool cup = entry.choice("density-from", {"cup test", "generic"}, 1) == 0;
    mix.density_from = cup ? DensityFrom::cup_test : DensityFrom::generic;
    mix.without_chips = entry.density("density", density_range);
  }
  mix.density = poured_density(mix);
  const bool measured = mix.density_from == DensityFrom::cup_test;
  mix.density_spread =
      entry.percent("density-spread", spread_range, measured ? measured_spread : unmeasured_spread);
}

}  // namespace

Expected<Mix> read_mix(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[mix]]", label);
  Mix mix;
  mix.key = entry.key("key");
  mix.name = entry.text("name", mix.key);
  mix.description = entry.text("description", "", 400);
  mix.liquid_name = entry.text("liquid", mix.liquid_name);
  mix.powder_name = entry.text("powder", mix.powder_name);
  mix.ratio = entry.ratio("ratio", ratio_range);
  if (auto problem = read_components(entry, label, mix)) return *problem;
  read_density(entry, mix);
  mix.working_time = entry.duration("working-time", working_range, Duration{});
  mix.demold_time = entry.duration("demold-time", demold_range, Duration{});
  if (entry.has("set-temperature")) mix.set_temperature = entry.temperature("set-temperature", set_range);
  if (auto problem = read_rooms(entry, label, mix)) return *problem;
  mix.min_wall = entry.length("min-wall", wall_range, millimetres(3));
  mix.flexural_at_demold_mpa = entry.number("flexural-at-demold-mpa", 0.05, 50, 0);
  mix.pigment_ceiling = entry.percent("pigment-ceiling", ceiling_range, Ratio::percent(3));
  if (entry.has("allowance")) mix.allowance = entry.percent("allowance", allowance_range);
  mix.cautions = entry.lines("cautions");
  if (auto problem = entry.finish()) return *problem;
  return mix;
}

}  // namespace pourwright::material

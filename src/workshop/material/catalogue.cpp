// SPDX-License-Identifier: GPL-3.0-or-later
// One catalogue text to values. The format is described in docs/materials.md.
#include <pourwright/door.hpp>
#include <pourwright/material.hpp>

#include "workshop/material/entry.hpp"
#include "workshop/material/mix_entry.hpp"
#include "workshop/material/supply.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

namespace pourwright {
namespace {

using material::Entry;
using material::place;
using material::Range;
using material::room_range;

const Range<Mass> step_range{Mass::micrograms(100), Mass::grams(1000), "0.0001 g to 1 kg", "\"1 g\""};
const Range<Mass> capacity_range{Mass::micrograms(100), Mass::grams(1e6), "0.0001 g to 1000 kg", "\"5 kg\""};

const Range<Mass> small_range{Mass(), Mass::grams(1e5), "0 to 100 kg", "\"38 g\""};
const Range<Mass> drop_range{Mass::micrograms(1000), Mass::grams(1), "0.001 to 1 g", "\"0.05 g\""};
const Range<Ratio> liquid_share_range{Ratio(), Ratio::percent(100), "0 to 100 %", "\"55 %\""};
const Range<Volume> mold_range{cubic_millimetres(100), millilitres(1e5), "0.1 ml to 100 l", "\"4.5 ml\""};
const Range<Length> contact_range{millimetres(1), millimetres(100), "1 to 100 mm", "\"10 mm\""};
const Range<Duration> green_range{minutes(10), minutes(60 * 24), "10 min to 24 h", "\"2 h\""};
const Range<Ratio> green_share_range{Ratio::percent(5), Ratio::percent(90), "5 to 90 %", "\"33 %\""};

Expected<Pigment> read_pigment(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[pigment]]", label);
  Pigment pigment;
  pigment.key = entry.key("key");
  pigment.name = entry.text("name", pigment.key);
  pigment.liquid = entry.choice("form", {"liquid", "dry"}, 0) == 0;
  pigment.liquid_share = entry.percent("liquid-share", liquid_share_range, Ratio());
  if (entry.has("drop")) pigment.drop = entry.mass("drop", drop_range);
  if (entry.has("lightness")) pigment.lightness = entry.number("lightness", 0, 100, 50);
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

Expected<LeftoverMold> read_leftover(const toml::table& table, std::string_view label) {
  Entry entry(table, "[[leftover]]", label);
  LeftoverMold mold;
  mold.key = entry.key("key");
  mold.name = entry.text("name", mold.key);
  mold.holds = entry.volume("holds", mold_range);
  mold.copies = static_cast<int>(entry.count("copies", 1, 1000, 1));
  if (auto problem = entry.finish()) return *problem;
  return mold;
}

Expected<Habits> read_habits(const toml::table& table, std::string_view label) {
  Entry entry(table, "[workshop]", label);
  Habits h;
  if (entry.has("room")) h.room = entry.temperature("room", room_range);
  h.us_units = entry.choice("units", {"metric", "us"}, 0) == 1;
  h.cup = entry.mass("cup", small_range, Mass());
  h.residue = entry.mass("residue", small_range, Mass());
  h.bucket = entry.mass("bucket", small_range, Mass());
  if (const std::string text = entry.text("read-as", ""); !text.empty()) {
    if (const auto reading = parse_reading(text))
      h.read_as = text;
    else
      entry.refuse("read-as", fmt::format("“read-as”: {}", reading.error().text), reading.error().hint);
  }
  const std::string code = entry.text("currency", h.currency.code);
  if (const auto currency = find_currency(code))
    h.currency = *currency;
  else
    entry.refuse("currency", currency.error().text, currency.error().hint);
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
  const auto mixes = entry.tables("mix"), pigments = entry.tables("pigment"), scales = entry.tables("scale"),
             leftovers = entry.tables("leftover"), supplies = entry.tables("supply");
  const toml::table* habits = entry.table("workshop");
  const toml::table* handling = entry.table("handling");
  if (auto problem = entry.finish()) return *problem;
  if (auto problem = read_all(mixes, label, material::read_mix, catalogue.mixes)) return *problem;
  if (auto problem = read_all(pigments, label, read_pigment, catalogue.pigments)) return *problem;
  if (auto problem = read_all(scales, label, read_scale, catalogue.scales)) return *problem;
  if (handling != nullptr) {
    auto read = read_handling(*handling, label);
    if (!read) return read.error();
    catalogue.handling = *read;
  }
  if (auto problem = read_all(leftovers, label, read_leftover, catalogue.leftovers)) return *problem;
  if (habits != nullptr) {
    auto read = read_habits(*habits, label);
    if (!read) return read.error();
    catalogue.habits = *read;
  }
  const Currency currency = catalogue.habits ? catalogue.habits->currency : Currency{};
  for (const toml::table* table : supplies) {
    auto supply = material::read_supply_price(*table, label, currency);
    if (!supply) return supply.error();
    catalogue.supplies.push_back(std::move(*supply));
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

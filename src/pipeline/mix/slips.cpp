// SPDX-License-Identifier: GPL-3.0-or-later
// Slips of the keyboard that turn into money: a value outside what can be is refused with the reading that
// would be in it; one that can be is never refused. The bounds are those of the catalogue's own entries.
#include "pipeline/mix/slips.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::slips {
namespace {

constexpr double least_ratio = 0.05, most_ratio = 20;
constexpr double least_density = 0.5, most_density = 4;  // g/ml
constexpr double coldest = -10, hottest = 50;            // °C

std::string digits(double v) {
  return fmt::format("{:.4g}", v);
}

}  // namespace

std::optional<Problem> in_ratio(Ratio given, Ratio own) {
  const double r = given.value(), usual = own.value();
  const bool possible = r >= least_ratio && r <= most_ratio;
  if (possible && r >= usual / 4 && r <= usual * 4) return std::nullopt;
  std::vector<std::string> meant;
  const auto likely = [&](double guess) { return guess >= usual * 0.8 && guess <= usual * 1.25; };
  if (r < 1 && likely(1 / r)) meant.push_back(fmt::format("{}:1, powder first,", digits(1 / r)));
  for (const double guess : {r / 10, r / 100, r * 10})
    if (likely(guess)) meant.push_back(digits(guess));
  if (possible && meant.empty()) return std::nullopt;
  return fail(Code::bad_quantity,
              fmt::format("{} parts of powder to one of liquid cannot be meant", digits(r)),
              meant.empty() ? fmt::format("it is powder per liquid by mass, like {}", digits(usual))
                            : fmt::format("was {} meant?", fmt::join(meant, " or ")));
}

std::optional<Problem> in_density(Density given) {
  const double d = in_grams_per_millilitre(given);
  if (d >= least_density && d <= most_density) return std::nullopt;
  const auto meant = [&](double v) { return v >= 1 && v <= 3; };
  const std::string text = fmt::format("a density of {} g/ml is no mix's", digits(d));
  if (meant(d / 1000))
    return fail(Code::bad_quantity, text,
                fmt::format("{0} kg/m3 are {1} g/ml: write {1} or {0}kg/m3", digits(d), digits(d / 1000)));
  if (meant(d * 1000))
    return fail(Code::bad_quantity, text, fmt::format("was {} g/ml meant?", digits(d * 1000)));
  for (const double guess : {d / 10, d / 100, d * 10})
    if (meant(guess)) return fail(Code::bad_quantity, text, fmt::format("was {} g/ml meant?", digits(guess)));
  return fail(Code::bad_quantity, text, "it is that of the poured mix, from 0.5 to 4 g/ml");
}

std::optional<Problem> in_room(Temperature given) {
  const double c = in_celsius(given);
  if (c >= coldest && c <= hottest) return std::nullopt;
  const std::string text = fmt::format("nobody works in a room of {} °C", digits(c));
  if (c > hottest && c <= 110)
    return fail(Code::bad_quantity, text,
                fmt::format("{}F are {} °C: write {}F", digits(c), fixed((c - 32) / 1.8, 0), digits(c)));
  return fail(Code::bad_quantity, text, "give it like 17C or 63F");
}

std::optional<Note> far_density(Density given, Density own) {
  const double share = in_grams_per_millilitre(given) / in_grams_per_millilitre(own) - 1;
  if (!(std::abs(share) > 0.25)) return std::nullopt;
  return Note{"density-far",
              fmt::format("the density given, {} g/ml, is {:.0f} % {} than the {} of this mix: it must be "
                          "that of the poured mix",
                          digits(in_grams_per_millilitre(given)), std::abs(share) * 100,
                          share > 0 ? "more" : "less", fixed(in_grams_per_millilitre(own), 2)),
              true};
}

void unknown_pigments(const std::vector<PigmentDose>& doses, const std::vector<Pigment>& known,
                      Notes& notes) {
  Catalogue catalogue;
  catalogue.pigments = known;
  std::vector<std::string> names;
  for (const Pigment& p : known) names.push_back(p.name);
  for (const PigmentDose& d : doses) {
    if (find_pigment(catalogue, d.name) != nullptr) continue;
    const std::string_view near = nearest_name(d.name, names);
    Note note{"pigment-unknown",
              near.empty() ? fmt::format("“{}” is no pigment of the catalogue: weighed as said, held against "
                                         "the mix's own ceiling",
                                         d.name)
                           : fmt::format("“{}” is no pigment of the catalogue: is “{}” meant?", d.name, near),
              !near.empty()};
    const bool said = std::any_of(notes.begin(), notes.end(),
                                  [&](const Note& n) { return n.code == note.code && n.text == note.text; });
    if (!said) notes.push_back(std::move(note));
  }
}

void pigment_as_cup(const Cup& cup, const std::vector<Pigment>& known, Notes& notes) {
  Catalogue catalogue;
  catalogue.pigments = known;
  if (!cup.pigments.empty() || find_pigment(catalogue, cup.name) == nullptr) return;
  if (!cup.share || cup.share->in_percent() > 10) return;
  notes.push_back(
      {"cup-like-pigment",
       fmt::format("the cup “{0}” is called like a pigment and has none in it: {1} % is its share "
                   "of the mix; a dose stands behind the share, like {0}=15%,{0}={1}%",
                   cup.name, digits(cup.share->in_percent())),
       true});
}

}  // namespace pourwright::slips

// SPDX-License-Identifier: GPL-3.0-or-later
// A thin place under the loads of demolding: stress against the green strength of that age, the risk, and
// what would help; without a measured strength the order in which places would snap. The law: more thickness
// or more age never makes a risk higher. Sources: docs/algorithms/demold.md.
#include <pourwright/demold.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr double free_fall = 9.80665;
const Duration day = minutes(24 * 60);

/// On an endless cantilever plate a force at the free edge makes a bending moment of at most 0.509 of itself
/// at the root (Jaramillo 1950, J. Appl. Mech. 17(1) 67-72), as if it were borne by 1.96 of the reach.
constexpr double reaches_that_bear = 1.96;

/// Reach over the width that bears a finger's force. Written without the reach where that cancels, so that
/// rounding cannot make a longer fin the safer one.
double reach_over_bearing_width(double width, double reach, double contact) {
  return std::max(reach / width, std::min(reach / contact, 1 / reaches_that_bear));
}

PlaceStress cantilever(double t, double reach, double width, const Handling& h, Density density) {
  PlaceStress s;
  s.peel_mpa = cantilever_stress(h.peel_n_per_mm, reach, 1, t);
  s.pry_mpa =
      cantilever_stress(h.pry_n, reach_over_bearing_width(width, reach, in_millimetres(h.pry_contact)), 1, t);
  s.weight_mpa = cantilever_own_weight(density, reach, t);
  return s;
}

PlaceStress plate(double t, double span, double length, const Handling& h, Density density) {
  const double aspect = std::max(1.0, length / span);
  const double own = in_grams_per_millilitre(density) * free_fall * t * 1e-6;  // N/mm²
  // The fingertip's disc must fit on the plate, and Roark's formula on the disc.
  const double radius = std::min(in_millimetres(h.pry_contact), span / 2) / 2;
  PlaceStress s;
  s.peel_mpa = three_point_stress(h.peel_n_per_mm, span, 1, t);
  s.pry_mpa =
      std::max(0.0, patch_stress(h.pry_n, radius, span, t, aspect));  // a plate thicker than wide is no plate
  s.weight_mpa = uniform_plate(aspect).stress * own * span * span / (t * t);
  return s;
}

/// Up to a time that people read off a clock.
Duration to_the_clock(Duration d) {
  const double m = in_minutes(d);
  const double step = m <= 180 ? 5 : m <= 360 ? 15 : 60;
  return minutes(std::ceil(m / step - 1e-9) * step);
}

Risk risk_of(double margin, double safety) {
  return margin >= safety ? Risk::low : margin >= safety * 3 / 4 ? Risk::watch : Risk::high;
}

constexpr double thickest = 25;

/// The thickness, up to the next tenth of a millimetre, at which the place bears no more than `mpa`.
std::optional<Length> thickness_for(const ThinPlace& place, const Handling& handling, Density density,
                                    double mpa) {
  const auto bears = [&](double t) {
    ThinPlace thicker = place;
    thicker.thickness = millimetres(t);
    return stress_in(thicker, handling, density).worst_mpa() <= mpa;
  };
  double thin = in_millimetres(place.thickness), thick = thickest;
  if (!(thin < thick) || !bears(thick)) return std::nullopt;
  for (int i = 0; i < 60; ++i) (bears((thin + thick) / 2) ? thick : thin) = (thin + thick) / 2;
  return millimetres(std::ceil(thick * 10 - 1e-6) / 10);
}

/// Strained by less than a twentieth more is strained alike.
constexpr double alike = 1.05;

}  // namespace

std::string_view name(Risk risk) {
  static constexpr std::array<std::string_view, 3> names{"low", "watch", "high"};
  return names[static_cast<std::size_t>(risk)];
}

double PlaceStress::worst_mpa() const {
  return std::max({peel_mpa, pry_mpa, weight_mpa});
}

std::string_view PlaceStress::worst_load() const {
  if (pry_mpa >= peel_mpa && pry_mpa >= weight_mpa) return "prying";
  return peel_mpa >= weight_mpa ? "peeling" : "its own weight";
}

PlaceStress stress_in(const ThinPlace& place, const Handling& handling, Density density) {
  const double t = std::max(1e-3, in_millimetres(place.thickness));
  const double reach = std::max(0.0, in_millimetres(place.reach));
  const double width = std::max(t, in_millimetres(place.width));  // a rod at least
  if (place.kind == ThinKind::plate && reach > 0) return plate(t, 2 * reach, width, handling, density);
  return cantilever(t, reach, width, handling, density);
}

double GreenStrength::at(Duration age) const {
  if (age <= sets) return 0;
  const double x = (age - sets) / half;
  return full_mpa * x / (1 + x);
}

std::optional<Duration> GreenStrength::age_for(double mpa) const {
  if (mpa <= 0) return sets;
  if (mpa >= full_mpa) return std::nullopt;
  const double share = mpa / full_mpa;
  const Duration age = sets + half * (share / (1 - share));
  if (age > std::max(day, usual_demold * 3)) return std::nullopt;
  return age;
}

GreenStrength green_strength(const Mix& mix, const Handling& handling) {
  GreenStrength s;
  s.room = mix.times_at;
  s.demold_assumed = !(mix.demold_time > Duration());
  s.usual_demold = s.demold_assumed ? at_room(minutes(45), s.room) : mix.demold_time;
  // Setting begins where the mix can no longer be poured; a third of the demold time when nobody said.
  s.sets = mix.working_time > Duration() && mix.working_time < s.usual_demold * 0.9 ? mix.working_time
                                                                                    : s.usual_demold / 3;
  const double share = handling.share_at_demold.value();
  s.half = (s.usual_demold - s.sets) * ((1 - share) / share);
  s.measured = mix.flexural_at_demold_mpa > 0;
  if (s.measured) {
    s.full_mpa = mix.flexural_at_demold_mpa / share;
    s.from =
        fmt::format("{:.3g} MPa measured at the demold time of {}", mix.flexural_at_demold_mpa, mix.name);
    return s;
  }
  // A mix slower than the ones of the table gets there later in proportion; a faster one is not believed
  // stronger.
  const Duration found = std::max(at_room(handling.green_age, s.room), s.usual_demold * (120.0 / 45));
  const double x = (found - s.sets) / s.half;
  s.full_mpa = handling.green_flexural_mpa * (1 + x) / x;
  s.from = fmt::format("{:.3g} MPa flexural at {:.3g} h ({})", handling.green_flexural_mpa,
                       in_minutes(handling.green_age) / 60, handling.green_from);
  return s;
}

DemoldTime demold_time(const GreenStrength& strength, std::optional<Duration> age) {
  DemoldTime t;
  t.room = strength.room;
  t.age = age.value_or(strength.usual_demold);
  t.age_at_20 = t.age * room_pace(t.room);
  t.strength_mpa = strength.at(t.age);
  return t;
}

DemoldAnswer assess(const ThinPlace& place, const GreenStrength& strength, const DemoldTime& time,
                    const Handling& handling, Density density) {
  DemoldAnswer a;
  a.stress = stress_in(place, handling, density);
  const double stress = a.stress.worst_mpa();
  a.margin = stress > 0 ? time.strength_mpa / stress : std::numeric_limits<double>::infinity();
  a.risk = risk_of(a.margin, handling.safety);
  if (a.risk == Risk::low) return a;
  if (!strength.measured) {
    // What is known is that pieces come out at the mix's own demold time; so much earlier they are riskier.
    if (time.strength_mpa * 4 >= strength.at(strength.usual_demold) * 3) a.risk = Risk::watch;
    if (a.risk == Risk::high) a.wait_until = to_the_clock(strength.usual_demold);
    return a;
  }
  if (const auto age = strength.age_for(handling.safety * stress)) a.wait_until = to_the_clock(*age);
  a.thicken_to = thickness_for(place, handling, density, time.strength_mpa / handling.safety);
  return a;
}

std::vector<std::optional<DemoldRank>> rank_places(const std::vector<ThinPlace>& places,
                                                   const GreenStrength& strength, const DemoldTime& time,
                                                   const Handling& handling, Density density) {
  std::vector<std::optional<DemoldRank>> out(places.size());
  if (places.size() < 2) return out;
  std::vector<double> stress;
  for (const ThinPlace& p : places) stress.push_back(stress_in(p, handling, density).worst_mpa());
  std::vector<double> order = stress;
  std::sort(order.begin(), order.end());
  for (std::size_t i = 0; i < places.size(); ++i) {
    // The lower middle of the others, which leaves out one that is as large as this.
    const auto own =
        static_cast<std::size_t>(std::lower_bound(order.begin(), order.end(), stress[i]) - order.begin());
    const std::size_t middle = (places.size() - 2) / 2;
    const double rest = order[middle < own ? middle : middle + 1];
    DemoldRank& rank = out[i].emplace();
    if (!(rest > 0)) continue;
    rank.against_rest = stress[i] / rest;
    if (rank.against_rest < alike) continue;
    const double wanted = time.strength_mpa * rank.against_rest;
    if (const auto age = strength.age_for(wanted); age && time.strength_mpa > 0)
      rank.wait_until = to_the_clock(*age);
    rank.thicken_to = thickness_for(places[i], handling, density, rest);
  }
  return out;
}

std::vector<std::string> demold_cautions(const GreenStrength& strength) {
  std::vector<std::string> out{
      "This is an estimate for handling, not a strength certificate; nothing here says that a piece may bear "
      "a load.",
      "Take one piece of a series out and look at it before the others; wear eye protection when you pry or "
      "flex."};
  if (!strength.measured)
    out.push_back(
        "Nobody measured the green strength of this mix: break a bar at your demold time and enter it as "
        "flexural-at-demold-mpa.");
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix house() {
  return support::demo_mix();
}
const Note* note(const MixInRoom& r, std::string_view code) {
  if (r.ratio && r.ratio->code == code) return &*r.ratio;
  const auto it = std::find_if(r.times.begin(), r.times.end(), [&](const Note& n) { return n.code == code; });
  return it == r.times.end() ? nullptr : &*it;
}
bool has(const Note* n, std::string_view part) {
  return n != nullptr && n->text.find(part) != std::string::npos;
}

}  // namespace

// t(T) = t0·2^((T0−T)/10), the rule of thumb of how-to articles on two-part epoxies; a guide only. The
// numbers follow from the formula.
TEST_CASE("times halve for every ten degrees, and the rule ends at 5 and 35 °C") {
  const auto at = [](double t) { return in_minutes(at_room(minutes(20), celsius(t))); };
  CHECK(at(20) == doctest::Approx(20));
  CHECK(at(30) == doctest::Approx(10));
  CHECK(at(15) == doctest::Approx(28.28).epsilon(1e-3));
  CHECK(at(10) == doctest::Approx(40));
  CHECK(at(60) == at(35));
  CHECK(at(-20) == at(5));
  CHECK(room_pace(celsius(20)) == 1);
  CHECK(room_pace(celsius(27), celsius(17)) == doctest::Approx(2));
  CHECK(in_minutes(at_room(minutes(10), celsius(20), celsius(30))) == doctest::Approx(20));
  // Halving for ten degrees around 25 °C is Arrhenius with 51.2 kJ/mol (derived).
  const double arrhenius = std::exp(51.2e3 / 8.314462618 * (1 / 303.15 - 1 / 293.15));
  CHECK(at(30) / at(20) == doctest::Approx(arrhenius).epsilon(2e-3));
}

TEST_CASE("in its own room a mix is as it is, and nothing is said") {
  const MixInRoom r = in_room(house(), celsius(20));
  CHECK(in_minutes(r.mix.working_time) == 14);
  CHECK(in_minutes(r.mix.demold_time) == 45);
  CHECK(r.times.empty());
  CHECK_FALSE(r.ratio);
}

TEST_CASE("in another room times shift with a note that has both, and the ratio stays") {
  const MixInRoom r = in_room(house(), celsius(17));
  CHECK(in_minutes(r.mix.working_time) == doctest::Approx(14 * std::exp2(0.3)));
  CHECK(in_minutes(r.mix.demold_time) == doctest::Approx(45 * std::exp2(0.3)));
  CHECK(r.mix.times_at == celsius(17));
  CHECK(r.mix.ratio == house().ratio);
  CHECK(has(note(r, "times-at-room"), "17 min to pour (14 at 20 °C)"));
  CHECK_FALSE(note(r, "room-outside-rule"));
  CHECK(note(in_room(house(), celsius(36)), "room-outside-rule")->warning);
  CHECK(note(in_room(house(), celsius(2)), "room-outside-rule")->warning);
}

TEST_CASE("what the workshop found elsewhere goes before the rule") {
  Mix mix = house();
  mix.rooms.push_back({celsius(26), Ratio::of(3.1), minutes(9), Duration()});
  const MixInRoom there = in_room(mix, celsius(26));
  CHECK(in_minutes(there.mix.working_time) == 9);
  CHECK(in_minutes(there.mix.demold_time) == doctest::Approx(45 * std::exp2(-0.6)));  // not found there
  CHECK(there.mix.ratio == Ratio::of(3.1));
  CHECK(has(note(there, "ratio-of-room"), "3.1"));
  CHECK(has(note(there, "times-at-room"), "found there"));
  const MixInRoom near = in_room(mix, celsius(27));
  CHECK(in_minutes(near.mix.working_time) == doctest::Approx(9 * std::exp2(-0.1)));
  CHECK(near.mix.ratio == Ratio::of(3.1));
  CHECK(in_room(mix, celsius(23.9)).mix.ratio == Ratio::of(3.2));
  CHECK(in_minutes(in_room(mix, celsius(22)).mix.working_time) == doctest::Approx(14 * std::exp2(-0.2)));
}

TEST_CASE("the rule against activation energies: half as long for ten degrees more is 51.2 kJ/mol") {
  // The pace of ASTM C1074, exp(−Q(1/T − 1/Tref)) with T in kelvin and Q = Ea/R. Between 20 and 30 °C, R
  // = 8.314 J/(mol·K): 51.2 kJ/mol doubles it, 41.5 (Q = 5000 K, for Portland cement) makes it 1.754 times as
  // fast, 33.5 (Freiesleben Hansen & Pedersen) 1.574. All by the formula.
  const auto pace = [](double t, double q) { return std::exp(-q * (1 / (t + 273.15) - 1 / 293.15)); };
  const auto ten = [&](double kilojoules) { return pace(30, kilojoules * 1000 / 8.314); };
  CHECK(std::abs(ten(51.2) - room_pace(celsius(30))) < 2e-3);
  CHECK(std::abs(ten(41.5) - 1.754) < 1e-3);
  CHECK(std::abs(ten(33.5) - 1.574) < 1e-3);
  // Against Q = 5000 K: a quarter at the rule's hot end, a seventh from 5 to 30 °C.
  for (int t = 5; t <= 35; ++t)
    CHECK(std::abs(std::log(room_pace(celsius(t)) / pace(t, 5000))) < std::log(t > 30 ? 5.0 / 4 : 8.0 / 7));
}

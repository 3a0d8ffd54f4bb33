// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/demold.hpp>

#include <cmath>
#include <vector>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {
const std::vector<AgeStep> half_days{{minutes(12 * 60), celsius(20)}, {minutes(12 * 60), celsius(25)}};
}

TEST_CASE("Nurse-Saul: the worked examples of ASTM C1074 guides") {
  // 12 h at 20 °C and 12 h at 25 °C with datum 0 °C: 240 + 300 = 540 °C·h, a published guide to ASTM C1074.
  CHECK(maturity(half_days, celsius(0)) == doctest::Approx(540).epsilon(1e-12));
  // 28 days at 15 °C with datum −11 °C: 28·26 = 728 °C·d, a published examination answer.
  const std::vector<AgeStep> month{{minutes(28 * 24 * 60), celsius(15)}};
  CHECK(maturity(month, celsius(-11)) / 24 == doctest::Approx(728).epsilon(1e-12));
}

TEST_CASE("Nurse-Saul: below the datum nothing ages") {
  const std::vector<AgeStep> cold{{minutes(60), celsius(-5)}, {minutes(60), celsius(10)}};
  CHECK(maturity(cold, celsius(0)) == doctest::Approx(10));
  CHECK(maturity({}, celsius(0)) == 0);
}

TEST_CASE("equivalent age: the same log with Q = 5000 K and 20 °C") {
  // 12 + 12·1.3311 = 27.97 h, by the formula of ASTM C1074.
  const auto c1074 = [](Temperature at, Temperature reference) {
    return arrhenius_pace(at, reference, 5000);
  };
  CHECK(in_minutes(equivalent_age(half_days, celsius(20), c1074)) / 60 ==
        doctest::Approx(27.97).epsilon(0.01 / 27.97));
  CHECK(equivalent_age({}) == Duration());
}

TEST_CASE("equivalent age by the program's own rule: twice as fast for ten degrees more, from 5 to 35 °C") {
  // 12 + 12·√2 h.
  CHECK(in_minutes(equivalent_age(half_days)) / 60 == doctest::Approx(12 + 12 * std::sqrt(2.0)));
  const std::vector<AgeStep> oven{{minutes(60), celsius(60)}, {minutes(60), celsius(-30)}};
  CHECK(in_minutes(equivalent_age(oven)) == doctest::Approx(60 * (std::exp2(1.5) + std::exp2(-1.5))));
}

TEST_CASE("age factors by the formula of ASTM C1074, to the fourth digit") {
  const auto factor = [](double t, double reference, double q) {
    return arrhenius_pace(celsius(t), celsius(reference), q);
  };
  // Carino, Cem. Concr. Aggr. 6(2) (1984) 61-73: Q = 5000 K; the values are that formula's.
  const std::vector<std::pair<double, double>> at_20{{5, 0.3986},  {10, 0.5475}, {15, 0.7438}, {25, 1.3311},
                                                     {30, 1.7553}, {40, 2.9723}, {50, 4.8716}};
  for (const auto& [t, f] : at_20) CHECK(std::abs(factor(t, 20, 5000) - f) < 1e-4);
  const std::vector<std::pair<double, double>> at_23{
      {10, 0.4606}, {15, 0.6258}, {20, 0.8413}, {25, 1.1199}, {30, 1.4768}};
  for (const auto& [t, f] : at_23) CHECK(std::abs(factor(t, 23, 5000) - f) < 1e-4);
  // Ea = 33.5 kJ/mol, the constant of Freiesleben Hansen & Pedersen from 20 °C up; R = 8.314.
  CHECK(std::abs(factor(10, 20, 33500 / 8.314) - 0.6154) < 1e-4);
  CHECK(std::abs(factor(30, 20, 33500 / 8.314) - 1.5737) < 1e-4);
}

TEST_CASE("the rule against activation energies: half as long for ten degrees more is 51.2 kJ/mol") {
  // Between 20 and 30 °C, R = 8.314 J/(mol·K): 51.2 kJ/mol doubles the pace, 41.5 (Q = 5000 K, ASTM C1074)
  // makes it 1.754 times as fast, 33.5 (Freiesleben Hansen & Pedersen) 1.574. All by the formula.
  const auto ten = [](double kilojoules) {
    return arrhenius_pace(celsius(30), celsius(20), kilojoules * 1000 / 8.314);
  };
  CHECK(std::abs(ten(51.2) - room_pace(celsius(30))) < 2e-3);
  CHECK(std::abs(ten(41.5) - 1.754) < 1e-3);
  CHECK(std::abs(ten(33.5) - 1.574) < 1e-3);
  // Against Q = 5000 K: a quarter at the rule's hot end, a seventh from 5 to 30 °C.
  for (int t = 5; t <= 35; ++t) {
    const double apart =
        std::abs(std::log(room_pace(celsius(t)) / arrhenius_pace(celsius(t), celsius(20), 5000)));
    CHECK(apart < std::log(t > 30 ? 5.0 / 4 : 8.0 / 7));
  }
}

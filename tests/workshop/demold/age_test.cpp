// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/demold.hpp>

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
  CHECK(in_minutes(equivalent_age(half_days)) / 60 == doctest::Approx(27.97).epsilon(0.01 / 27.97));
  CHECK(equivalent_age({}) == Duration());
}

TEST_CASE("age factors by the formula of ASTM C1074, to the fourth digit") {
  const auto factor = [](double t, double reference, double q) {
    return age_factor(celsius(t), celsius(reference), q);
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

TEST_CASE("a room ages a mix as fast as its temperature, between 5 and 35 °C") {
  CHECK(room_factor(celsius(20)) == doctest::Approx(1));
  CHECK(room_factor(celsius(30)) == doctest::Approx(1.7553).epsilon(1e-4));
  CHECK(room_factor(celsius(60)) == room_factor(celsius(35)));
  CHECK(room_factor(celsius(-40)) == room_factor(celsius(5)));
}

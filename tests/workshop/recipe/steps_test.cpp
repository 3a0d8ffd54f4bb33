// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/recipe/steps.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::recipe;

TEST_CASE("a finer step is the coarsest 1-2-5 that leaves fifty steps") {
  CHECK(finer_step(Mass::grams(50)) == Mass::grams(1));
  CHECK(finer_step(Mass::grams(49.9)) == Mass::grams(0.5));
  CHECK(finer_step(Mass::grams(5)) == Mass::grams(0.1));
  CHECK(finer_step(Mass::grams(3.1)) == Mass::grams(0.05));
  CHECK(finer_step(Mass::grams(0.5)) == Mass::grams(0.01));
  CHECK(finer_step(Mass::micrograms(3)) == Mass::micrograms(1));
  std::mt19937_64 random(3);
  for (int i = 0; i < 1'000; ++i) {
    const Mass m = Mass::micrograms(static_cast<std::int64_t>(random() % 1'000'000'000 + 50));
    CHECK(m >= finer_step(m) * fewest_steps);
    CHECK(m.in_grams() < finer_step(m).in_grams() * 2.5 * fewest_steps);
  }
}

// Half a step in fifty is one percent: 50 g on a 1 g scale, 5 g on 0.1 g, 0.5 g on 0.01 g.
TEST_CASE("a part of fewer than fifty steps is warned about") {
  for (const double step : {1.0, 0.1, 0.01}) {
    CHECK_FALSE(coarse_step_note("Rust", Mass::grams(50 * step), Mass::grams(step)));
    const auto note = coarse_step_note("Rust", Mass::grams(49 * step), Mass::grams(step));
    REQUIRE(note);
    CHECK(note->warning);
    CHECK(note->code == "step-too-coarse");
    CHECK(note->text.find("Rust") != std::string::npos);
    CHECK(note->text.find(" 1 % off") != std::string::npos);
    CHECK(note->text.find(step_text(Mass::grams(step / 2)) + " g is enough") != std::string::npos);
  }
  const auto tiny = coarse_step_note("Rust", Mass::grams(0.2), Mass::grams(1));
  REQUIRE(tiny);
  CHECK(tiny->text.find(" 100 % off") != std::string::npos);  // never promises worse than losing all of it
  CHECK_FALSE(coarse_step_note("Rust", Mass{}, Mass::grams(1)));
}

TEST_CASE("doses add up to no more than the ceiling") {
  const Ratio ceiling = Ratio::percent(3);
  const auto doses = [](double a, double b) {
    return std::vector<PigmentDose>{{"A", Ratio::percent(a)}, {"B", Ratio::percent(b)}};
  };
  CHECK(*sum_of_doses(doses(1, 2), ceiling, "the mix") == ceiling);
  CHECK(sum_of_doses(doses(1, 2.0001), ceiling, "the mix").error().code == Code::pigment_over_ceiling);
  CHECK(sum_of_doses(doses(3.5, -1), ceiling, "the mix").error().code == Code::pigment_over_ceiling);
  CHECK(sum_of_doses(doses(1, -0.5), ceiling, "the mix").error().code == Code::bad_number);
  const std::vector<PigmentDose> absurd(3, {"A", Ratio::millionths(INT64_MAX)});
  CHECK(sum_of_doses(absurd, Ratio::millionths(INT64_MAX), "x").error().code == Code::pigment_over_ceiling);
  CHECK(*sum_of_doses({}, Ratio{}, "the mix") == Ratio{});
}

TEST_CASE("the last tenth below the ceiling is noted") {
  CHECK(near_ceiling_note(Ratio::percent(2.7), Ratio::percent(3), "the mix"));
  CHECK(near_ceiling_note(Ratio::percent(3), Ratio::percent(3), "the mix"));
  CHECK_FALSE(near_ceiling_note(Ratio::percent(2.69), Ratio::percent(3), "the mix"));
  CHECK_FALSE(near_ceiling_note(Ratio{}, Ratio{}, "the mix"));
}

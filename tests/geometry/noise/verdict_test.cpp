// SPDX-License-Identifier: GPL-3.0-or-later
// Each threshold of the verdict from both sides, at a factor of less than two.
#include "geometry/noise/verdict.hpp"

#include "geometry/noise/correlation.hpp"

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright::scatter;

namespace {

/// Places with spreads that scatter by so much, of independent noise of 0.1.
Places noisy(std::size_t count, double scatter = 0.05, double size = 0.1) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> even(1 - scatter, 1 + scatter);
  Places out;
  for (std::size_t i = 0; i < count; ++i) {
    const double s = size * even(random);
    out.list.push_back({s, s, s, s, -0.083, 3, 1.5, true});
  }
  out.looked_at = count;
  return out;
}

/// The same, with neighbours that go together over so many edges.
Places correlated(std::size_t count, double ratio, double scatter = 0.05) {
  Places out = noisy(count, scatter);
  const Correlation c = correlation_by_ratio(ratio);
  for (Place& p : out.list) {
    p.near_by = p.spread / ratio;
    p.together = c.together;
    p.wide = p.about * c.left_wide / c.left_about;
  }
  return out;
}

void add_spreads(Places& places, std::size_t count, double low, double high) {
  for (std::size_t i = 0; i < count; ++i) {
    Place p = places.list[0];
    p.spread = p.about = p.wide = p.near_by =
        low + (high - low) * static_cast<double>(i) / static_cast<double>(count);
    places.list.push_back(p);
  }
  places.looked_at += count;
}

template <class Change>
Places with(Places places, Change change) {
  for (Place& p : places.list) change(p);
  return places;
}

constexpr double floor_ = 1e-5;
bool noise(const Places& p) {
  return noise_of_places(p, floor_).has_value();
}

}  // namespace

TEST_CASE("independent noise is as large as it shows, correlated noise larger") {
  const auto plain = noise_of_places(noisy(60), floor_);
  REQUIRE(plain);
  CHECK(plain->spread == doctest::Approx(0.1).epsilon(0.02));
  CHECK(plain->reach == 0);
  CHECK(plain->edge == 1.5);
  for (const double ratio : {1.3, 1.9, 2.5, 3.8}) {
    CAPTURE(ratio);
    const Correlation c = correlation_by_ratio(ratio);
    const auto found = noise_of_places(correlated(60, ratio), floor_);
    REQUIRE(found);
    CHECK(found->spread == doctest::Approx(0.1 / c.left_about).epsilon(0.03));
    CHECK(found->reach == doctest::Approx(1.5 * c.length).epsilon(0.03));
  }
}

TEST_CASE("how many places must agree") {
  CHECK_FALSE(noise(noisy(12)));
  CHECK(noise(noisy(20)));
  Places few = noisy(24);
  few.looked_at = 160;  // 15 %
  CHECK(noise(few));
  few.looked_at = 340;  // 7 %
  CHECK_FALSE(noise(few));
}

TEST_CASE("clean places are left out, shape counts against noise") {
  Places some = noisy(40);
  add_spreads(some, 60, 0.002, 0.025);  // below a third, and no window of them holds as many
  CHECK(noise(some));
  some = noisy(40);
  add_spreads(some, 45, 0.036, 0.065);  // smoother by half, but not clean
  CHECK_FALSE(noise(some));
  some = noisy(40);
  add_spreads(some, 30, 0.2, 1.5);  // 57 % agree
  CHECK(noise(some));
  add_spreads(some, 30, 0.2, 1.5);  // 40 %
  CHECK_FALSE(noise(some));
  Places over = correlated(40, 2.5);
  add_spreads(over, 50, 0.2, 1.5);  // 44 %
  CHECK(noise(over));
  add_spreads(over, 60, 0.2, 1.5);  // 27 %
  CHECK_FALSE(noise(over));
}

TEST_CASE("noise is the same everywhere") {
  // Evenly from 0.077 to 0.123, a ratio of 1.6; from 0.05 to 0.15, of which the window holds more than half;
  // and over a factor of seven, of which it holds a quarter.
  CHECK(noise(noisy(100, 0.23)));
  const auto half = noise_of_places(noisy(100, 0.5), floor_);
  REQUIRE(half);
  CHECK(half->spread > 0.1);
  double size = 0.04;
  CHECK_FALSE(noise(with(noisy(100), [&](Place& p) {
    p.spread = p.about = p.wide = p.near_by = size;
    size *= 1.02;
  })));
}

TEST_CASE("a wide neighbourhood leaves as much as a near one") {
  CHECK(noise(with(noisy(40), [](Place& p) { p.wide *= 0.75; })));
  CHECK_FALSE(noise(with(noisy(40), [](Place& p) { p.wide *= 0.45; })));
  CHECK(noise(with(noisy(40), [](Place& p) { p.wide *= 1.4; })));
  CHECK_FALSE(noise(with(noisy(40), [](Place& p) { p.wide *= 1.9; })));
}

TEST_CASE("neighbours go together as the length foretells") {
  CHECK(noise(with(noisy(40), [](Place& p) { p.together -= 0.1; })));
  CHECK_FALSE(noise(with(noisy(40), [](Place& p) { p.together -= 0.18; })));  // knurls
  CHECK(noise(with(noisy(40), [](Place& p) { p.together += 0.1; })));
  CHECK_FALSE(noise(with(noisy(40), [](Place& p) { p.together += 0.18; })));  // ribs
  // A ratio that shape has raised, where neighbours hardly go together.
  CHECK(noise(with(noisy(40), [](Place& p) { p.near_by /= 1.25; })));
  CHECK_FALSE(noise(with(noisy(40), [](Place& p) { p.near_by /= 1.7; })));
}

TEST_CASE("the shorter length counts while neighbours tell it") {
  const Correlation c = correlation_by_ratio(1.6);
  const auto found =
      noise_of_places(with(correlated(40, 1.6), [&](Place& p) { p.together = c.together - 0.1; }), floor_);
  REQUIRE(found);
  CHECK(found->reach == doctest::Approx(1.5 * correlation_by_neighbours(c.together - 0.1).length));
  const auto far = noise_of_places(with(correlated(40, 3.0), [&](Place& p) { p.together = 0.5; }), floor_);
  REQUIRE(far);
  CHECK(far->reach == doctest::Approx(1.5 * correlation_by_ratio(3.0).length));
}

TEST_CASE("heights are spread like noise") {
  const auto kurtosis = [](Places p, double k) {
    return noise(with(std::move(p), [&](Place& q) { q.kurtosis = k; }));
  };
  CHECK_FALSE(kurtosis(noisy(40), 1.5));
  CHECK(kurtosis(noisy(40), 1.85));
  CHECK(kurtosis(noisy(40), 4.5));
  CHECK_FALSE(kurtosis(noisy(40), 8));
  CHECK_FALSE(kurtosis(correlated(40, 2.5), 1.9));
  CHECK(kurtosis(correlated(40, 2.5), 2.6));
  CHECK(kurtosis(correlated(40, 2.5), 3.0));
  CHECK_FALSE(kurtosis(correlated(40, 2.5), 3.6));
}

TEST_CASE("what repeats itself is drawn") {
  Places teeth = noisy(40);
  for (std::size_t i = 0; i < teeth.list.size(); ++i) {
    Place& p = teeth.list[i];
    p.spread = p.about = p.wide = p.near_by =
        0.1 + 0.01 * static_cast<double>(i % 8) + 1e-6 * std::sin(static_cast<double>(i));
  }
  CHECK_FALSE(noise(teeth));
}

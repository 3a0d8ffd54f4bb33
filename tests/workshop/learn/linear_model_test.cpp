// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/learn/linear_model.hpp"

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright::learn;

// With nothing believed about mean and scatter, the next of n readings is distributed as mean + sd·√(1+1/n)·t
// with n−1 degrees of freedom. Tables of Student's t (any statistics handbook): 99 % one-sided.
TEST_CASE("few readings give Student's tails") {
  const std::pair<int, double> t99[] = {{3, 6.965}, {5, 3.747}, {10, 2.821}, {20, 2.539}};
  for (const auto& [n, t] : t99) {
    CAPTURE(n);
    std::mt19937_64 random(static_cast<unsigned>(n));
    std::normal_distribution<double> noise(0, 1.3);
    std::vector<Observation> readings;
    double sum = 0, squares = 0;
    for (int i = 0; i < n; ++i) {
      const double y = 40 + noise(random);
      readings.push_back({{1}, y, 1});
      sum += y;
      squares += y * y;
    }
    const double mean = sum / n, sd = std::sqrt((squares - n * mean * mean) / (n - 1));
    const LinearModel model({1e6}, 8, readings);  // log s nearly flat over the range that matters
    const auto next = model.predict({1}, 1);
    CHECK(next.mean() == doctest::Approx(mean).epsilon(1e-6));
    CHECK((next.quantile_above(0.01) - mean) / (sd * std::sqrt(1 + 1.0 / n)) ==
          doctest::Approx(t).epsilon(0.03));
  }
}

TEST_CASE("a belief and one reading meet by their precision") {
  // Believed 0 ± 2; read 3 ± 1 with a scatter that is known: mean 3·4/5, variance 4/5.
  const LinearModel model({2}, 1e-6, {{{1}, 3, 1}});
  const auto b = model.predict({1}, 0);
  CHECK(b.mean() == doctest::Approx(2.4).epsilon(1e-4));
  CHECK(b.sd() == doctest::Approx(std::sqrt(0.8)).epsilon(1e-4));
  CHECK(model.predict({1}, 1).sd() == doctest::Approx(std::sqrt(1.8)).epsilon(1e-4));
}

TEST_CASE("coefficients that only their sum is read of keep their share of doubt") {
  const LinearModel model({1, 1}, 1e-6, {{{1, 1}, 4, 0.01}});
  CHECK(model.predict({1, 1}, 0).mean() == doctest::Approx(4).epsilon(1e-3));
  CHECK(model.predict({1, 1}, 0).sd() < 0.011);
  CHECK(model.predict({1, 0}, 0).mean() == doctest::Approx(2).epsilon(1e-3));
  CHECK(model.predict({1, 0}, 0).sd() == doctest::Approx(std::sqrt(0.5)).epsilon(1e-3));
}

TEST_CASE("quantiles and chances are each other's inverse") {
  const LinearModel model({1}, 0.7, {{{1}, 0.4, 0.5}, {{1}, -0.2, 0.5}});
  const auto p = model.predict({1}, 0.5);
  for (const double chance : {0.5, 0.1, 0.01, 1e-4, 1e-8, 0.99})
    CHECK(p.above(p.quantile_above(chance)) == doctest::Approx(chance).epsilon(1e-5));
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Beliefs against Student's table, Gauss's formula, and sums over every way to be odd.
#include "workshop/learn/beliefs.hpp"

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright::learn;

namespace {

Observation seen(std::vector<double> x, double y, double w) {
  Observation o;
  o.x = std::move(x);
  o.y = y;
  o.w = w;
  return o;
}
Observation next(std::vector<double> x, double w) {
  return seen(std::move(x), 0, w);
}

}  // namespace

// With nothing believed about mean and scatter, the next of n readings is distributed as mean + sd·√(1+1/n)·t
// with n−1 degrees of freedom. Tables of Student's t (any statistics handbook): 99 % one-sided.
TEST_CASE("few readings give Student's tails") {
  const std::pair<int, double> t99[] = {{3, 6.965}, {5, 3.747}, {10, 2.821}, {20, 2.539}};
  for (const auto& [n, t] : t99) {
    CAPTURE(n);
    std::mt19937_64 random(static_cast<unsigned>(n));
    std::normal_distribution<double> noise(0, 1.3);
    Beliefs model({1e4}, 8);  // log s nearly flat over the range that matters
    double sum = 0, squares = 0;
    for (int i = 0; i < n; ++i) {
      const double y = 40 + noise(random);
      model.observe(seen({1}, y, 1));
      sum += y;
      squares += y * y;
    }
    const double mean = sum / n, sd = std::sqrt((squares - n * mean * mean) / (n - 1));
    const auto p = model.predict(next({1}, 1));
    CHECK(p.mean() == doctest::Approx(mean).epsilon(1e-5));
    CHECK((p.quantile_above(0.01) - mean) / (sd * std::sqrt(1 + 1.0 / n)) ==
          doctest::Approx(t).epsilon(0.03));
  }
}

TEST_CASE("a belief and one reading meet by their precision") {
  // Believed 0 ± 2; read 3 ± 1 with a scatter that is known: mean 3·4/5, variance 4/5.
  Beliefs model({2}, 1e-6);
  model.observe(seen({1}, 3, 1));
  const auto b = model.predict(next({1}, 0));
  CHECK(b.mean() == doctest::Approx(2.4).epsilon(1e-4));
  CHECK(b.sd() == doctest::Approx(std::sqrt(0.8)).epsilon(1e-4));
  CHECK(model.predict(next({1}, 1)).sd() == doctest::Approx(std::sqrt(1.8)).epsilon(1e-4));
  model.stray(0, 1);
  CHECK(model.predict(next({1}, 0)).sd() == doctest::Approx(std::sqrt(1.8)).epsilon(1e-4));
}

TEST_CASE("coefficients that only their sum is read of keep their share of doubt") {
  Beliefs model({1, 1}, 1e-6);
  model.observe(seen({1, 1}, 4, 0.01));
  CHECK(model.predict(next({1, 1}, 0)).mean() == doctest::Approx(4).epsilon(1e-3));
  CHECK(model.predict(next({1, 1}, 0)).sd() < 0.011);
  CHECK(model.predict(next({1, 0}, 0)).mean() == doctest::Approx(2).epsilon(1e-3));
  CHECK(model.predict(next({1, 0}, 0)).sd() == doctest::Approx(std::sqrt(0.5)).epsilon(1e-3));
}

TEST_CASE("quantiles and chances are each other's inverse") {
  Beliefs model({1}, 0.7, 0.05);
  model.observe(seen({1}, 0.4, 0.5));
  model.observe(seen({1}, -0.2, 0.5));
  Observation o = next({1}, 0.5);
  o.odd_by = 2;
  const auto p = model.predict(o);
  for (const double chance : {0.5, 0.1, 0.01, 1e-4, 1e-8, 0.99})
    CHECK(p.above(p.quantile_above(chance)) == doctest::Approx(chance).epsilon(1e-5));
}

TEST_CASE("mean and variance of what is known from below") {
  // Of a standard normal above 0: √(2/π) and 1 − 2/π; above 1: φ(1)/Q(1) = 1.525135.
  CHECK(truncated(0, 1, 0).mean == doctest::Approx(0.797885));
  CHECK(truncated(0, 1, 0).variance == doctest::Approx(0.363380));
  CHECK(truncated(0, 1, 1).mean == doctest::Approx(1.525135));
  CHECK(truncated(5, 2, -20).mean == doctest::Approx(5));
  CHECK(truncated(5, 2, -20).log_chance == doctest::Approx(0));
  for (const double far : {10.0, 29.0, 31.0, 200.0}) {
    CHECK(truncated(0, 1, far).mean > far);
    CHECK(truncated(0, 1, far).mean < far + 1);
    CHECK(truncated(0, 1, far).variance > 0);
  }
  Beliefs model({1}, 1e-6);
  model.keep_above(0, 0);
  CHECK(model.predict(next({1}, 0)).mean() == doctest::Approx(0.797885).epsilon(1e-4));
  Beliefs short_of({1}, 1e-6);
  Observation o = seen({1}, 0, 1e-3);
  o.at_least = true;
  short_of.observe(o);
  CHECK(short_of.predict(next({1}, 0)).mean() == doctest::Approx(0.797885).epsilon(1e-3));
}

// Of n readings each may be odd: 2ⁿ normals by brute force against one kept normal.
TEST_CASE("odd readings pull less than others, as the sum over all ways to be odd has it") {
  std::mt19937_64 random(5);
  std::normal_distribution<double> noise(0, 1);
  const double odd = 0.1, by = 6;
  for (int round = 0; round < 20; ++round) {
    const int n = 8;
    std::vector<double> y;
    for (int i = 0; i < n; ++i)
      y.push_back(noise(random) + (static_cast<double>(random() % 100) < 100 * odd ? by : 0));
    Beliefs model({3}, 1e-6, odd);
    for (const double v : y) {
      Observation o = seen({1}, v, 1);
      o.odd_by = by;
      model.observe(o);
    }
    double weights = 0, mean = 0;
    for (unsigned ways = 0; ways < 1U << n; ++ways) {
      // Believed 0 ± 3, each reading ± 1 about the mean or the mean + by.
      double log = 0, sum = 0, squares = 0;
      for (int i = 0; i < n; ++i) {
        const bool is_odd = (ways >> i & 1U) != 0;
        const double v = y[static_cast<std::size_t>(i)] - (is_odd ? by : 0);
        log += std::log(is_odd ? odd : 1 - odd);
        sum += v;
        squares += v * v;
      }
      const double precision = n + 1.0 / 9;
      const double weight = std::exp(log - (squares - sum * sum / precision) / 2);
      weights += weight;
      mean += weight * sum / precision;
    }
    CHECK(std::abs(model.predict(next({1}, 0)).mean() - mean / weights) < 0.3);
  }
}

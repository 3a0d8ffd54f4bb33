// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/run/reshuffle.hpp"

#include "workshop/run/pack_check.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::packing;
using namespace pourwright::testing;

namespace {

std::int64_t drawn_between(std::mt19937_64& random, std::int64_t low, std::int64_t high) {
  return low + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(high - low + 1));
}

PackProblem drawn_problem(std::uint64_t seed, int pieces, int resources, std::int64_t low,
                          std::int64_t high) {
  std::mt19937_64 random(seed);
  PackProblem p;
  p.counts.assign(static_cast<std::size_t>(pieces), 1);
  for (int r = 0; r < resources; ++r) {
    PackResource& resource = p.resources.emplace_back(PackResource{100'000, {}});
    for (int i = 0; i < pieces; ++i) resource.uses.push_back(drawn_between(random, low, high));
  }
  return p;
}

/// As few as it comes to; every packing on the way is checked.
std::size_t fewest_found(const PackProblem& problem, std::int64_t steps) {
  const auto model = make_model(problem);
  Work work(1'000'000'000);
  std::vector<Pattern> bins = fit_decreasing(*model, model->demand, Fit::first);
  while (auto fewer = one_bin_fewer(*model, bins, 1, steps, work)) {
    REQUIRE(fewer->size() < bins.size());
    bins = std::move(*fewer);
    Packing packing{translated(*model, problem, bins), 0, 0};
    REQUIRE(complaint(problem, packing) == "");
  }
  return bins.size();
}

}  // namespace

TEST_CASE("middling pieces, where pattern by size ends two bins above the bound") {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const PackProblem problem = drawn_problem(seed, 200, 1, 20'000, 35'000);
    const auto model = make_model(problem);
    const std::size_t greedy = fit_decreasing(*model, model->demand, Fit::first).size();
    const std::size_t found = fewest_found(problem, 30'000'000);
    CHECK(found + 1 < greedy);
    CHECK(found >= static_cast<std::size_t>(quick_lower_bound(*model, model->demand)));
  }
}

TEST_CASE("several resources, and kinds of which a bin takes only so many") {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    PackProblem problem = drawn_problem(seed, 80, 2, 10'000, 45'000);
    fewest_found(problem, 3'000'000);
    for (std::size_t k = 0; k < 80; ++k) problem.counts[k] = 1 + static_cast<int>(k % 4);
    problem.resources.push_back({2, std::vector<std::int64_t>(80, 0)});
    for (std::size_t k = 0; k < 80; k += 5) problem.resources.back().uses[k] = 1;
    fewest_found(problem, 3'000'000);
  }
}

TEST_CASE("what cannot be is not found, and the work ends") {
  const PackProblem problem = one_by_one(100, {60, 60, 60, 40, 40, 40, 1});
  const auto model = make_model(problem);
  Work work(1'000'000'000);
  const auto four = fit_decreasing(*model, model->demand, Fit::first);
  REQUIRE(four.size() == 4);
  CHECK_FALSE(one_bin_fewer(*model, four, 1, 1'000'000, work));
  CHECK(work.done() >= 1'000'000);
  CHECK(work.done() < 2'000'000);
  CHECK_FALSE(one_bin_fewer(*model, {four[0]}, 1, 10'000, work));
}

TEST_CASE("the same seed finds the same packing") {
  const PackProblem problem = drawn_problem(9, 200, 1, 20'000, 35'000);
  const auto model = make_model(problem);
  const auto greedy = fit_decreasing(*model, model->demand, Fit::first);
  Work a(1'000'000'000), b(1'000'000'000);
  const auto once = one_bin_fewer(*model, greedy, 5, 30'000'000, a);
  REQUIRE(once);
  CHECK(one_bin_fewer(*model, greedy, 5, 30'000'000, b) == once);
  CHECK(a.done() == b.done());
}

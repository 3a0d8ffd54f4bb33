// SPDX-License-Identifier: GPL-3.0-or-later
// The tree alone, without the greedy packings that usually spare it the work.
#include "workshop/run/tree_search.hpp"

#include "workshop/run/pack_check.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::packing;

namespace {

PackProblem random_problem(std::uint64_t seed, int resources) {
  std::mt19937_64 random(seed);
  PackProblem p;
  for (int k = 0; k < 4; ++k) p.counts.push_back(1 + static_cast<int>(random() % 2));
  for (int r = 0; r < resources; ++r) {
    PackResource resource{20, {}};
    for (int k = 0; k < 4; ++k) resource.uses.push_back(3 + static_cast<std::int64_t>(random() % 12));
    p.resources.push_back(resource);
  }
  return p;
}

}  // namespace

TEST_CASE("the tree finds a packing exactly when there is one") {
  int searched = 0;
  for (int resources = 1; resources <= 3; ++resources)
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
      const PackProblem p = random_problem(seed, resources);
      const auto model = make_model(p);
      if (model->capacity.empty()) continue;
      const int fewest = testing::FewestBins(p).count();
      for (int target = fewest - 1; target <= fewest; ++target) {
        if (target < 1) continue;
        Work work(2'000'000'000);
        Patterns patterns(*model, work);
        Relaxation relaxation(*model, patterns, work);
        const TreeResult r = tree_search(*model, patterns, relaxation, target, work);
        CHECK(r.bins.has_value() == (target == fewest));
        if (r.bins)
          CHECK(testing::complaint(p, {translated(*model, p, *r.bins), 0, 0}) == "");
        else
          CHECK(r.none);
        ++searched;
      }
    }
  CHECK(searched > 500);
}

TEST_CASE("the relaxation's bound never passes the fewest bins") {
  for (int resources = 1; resources <= 3; ++resources)
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
      const PackProblem p = random_problem(seed, resources);
      const auto model = make_model(p);
      if (model->capacity.empty()) continue;
      Work work(2'000'000'000);
      Patterns patterns(*model, work);
      Relaxation relaxation(*model, patterns, work);
      const int bound = relaxation.solve(model->demand, 0).bins;
      CHECK(bound >= 1);
      CHECK(bound <= testing::FewestBins(p).count());
    }
}

TEST_CASE("the relaxation of Chvátal's cutting stock is 452.25") {
  const PackProblem p{{97, 610, 395, 211}, {{100, {45, 36, 31, 14}}}};
  const auto model = make_model(p);
  Work work(2'000'000'000);
  Patterns patterns(*model, work);
  Relaxation relaxation(*model, patterns, work);
  CHECK(relaxation.solve(model->demand, 452).bins == 453);
  double sum = 0;
  for (const auto& share : relaxation.shares()) sum += share.value;
  CHECK(sum == doctest::Approx(452.25));
}

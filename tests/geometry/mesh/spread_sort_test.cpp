// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/spread_sort.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("spread, equal and crowded keys are sorted as any sort would") {
  std::mt19937 random(3);
  for (int round = 0; round < 300; ++round) {
    std::vector<std::pair<double, Index>> keyed(random() % 200);
    std::uniform_real_distribution<double> place(-5, 7);
    for (Index i = 0; i < keyed.size(); ++i) {
      double key = place(random);
      if (round % 3 == 1) key = std::round(key);        // many alike
      if (round % 3 == 2) key = std::pow(10, 3 * key);  // nearly all at one end
      keyed[i] = {key, i};
    }
    std::shuffle(keyed.begin(), keyed.end(), random);
    auto sorted = keyed;
    std::sort(sorted.begin(), sorted.end());
    // Limits that keys lie beyond, or none at all, cost time only.
    for (const auto& [low, high] : {std::pair{-5.0, 7.0}, std::pair{0.0, 1.0}, std::pair{2.0, 2.0}}) {
      auto mine = keyed;
      sort_spread(mine, low, high);
      CHECK(mine == sorted);
    }
  }
}

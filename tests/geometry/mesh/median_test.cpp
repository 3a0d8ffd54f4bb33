// SPDX-License-Identifier: GPL-3.0-or-later
// The median in every order of its numbers.
#include "geometry/mesh/median.hpp"

#include <doctest/doctest.h>

TEST_CASE("the median is the upper of two in the middle, in whatever order the numbers come") {
  using pourwright::median;
  CHECK(median({}) == 0);
  CHECK(median({7}) == 7);
  CHECK(median({2, 1}) == 2);
  std::vector<double> v{1, 2, 2, 3, 8};
  do CHECK(median(v) == 2);
  while (std::next_permutation(v.begin(), v.end()));
  v = {1, 2, 3, 8};
  do CHECK(median(v) == 3);
  while (std::next_permutation(v.begin(), v.end()));
}

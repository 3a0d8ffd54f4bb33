// SPDX-License-Identifier: GPL-3.0-or-later
// Morton codes bit by bit.
#include "geometry/mesh/morton.hpp"

#include <random>

#include <doctest/doctest.h>

TEST_CASE("a Morton code takes the bits of x, y and z in turn") {
  std::mt19937 random(1);
  for (int i = 0; i < 500; ++i) {
    const std::uint64_t x = random() & 0x1fffff, y = random() & 0x1fffff, z = random() & 0x1fffff;
    std::uint64_t code = 0;
    for (int bit = 0; bit < 21; ++bit)
      code |= (x >> bit & 1) << (3 * bit) | (y >> bit & 1) << (3 * bit + 1) | (z >> bit & 1) << (3 * bit + 2);
    CHECK(pourwright::morton(x, y, z) == code);
  }
  CHECK(pourwright::morton(0x1fffff, 0x1fffff, 0x1fffff) == 0x7fffffffffffffff);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Places along a Z-shaped curve through space: G. M. Morton, A Computer Oriented Geodetic Data Base, 1966.
#pragma once

#include <cstdint>

namespace pourwright {

/// The bits of a number below 2^21, two zeros between neighbours.
constexpr std::uint64_t every_third_bit(std::uint64_t x) {
  x &= 0x1fffff;
  x = (x | x << 32) & 0x1f00000000ffff;
  x = (x | x << 16) & 0x1f0000ff0000ff;
  x = (x | x << 8) & 0x100f00f00f00f00f;
  x = (x | x << 4) & 0x10c30c30c30c30c3;
  return (x | x << 2) & 0x1249249249249249;
}

/// The place of a cell of a grid of 2^21 cells a side; x changes fastest.
constexpr std::uint64_t morton(std::uint64_t x, std::uint64_t y, std::uint64_t z) {
  return every_third_bit(x) | every_third_bit(y) << 1 | every_third_bit(z) << 2;
}

}  // namespace pourwright

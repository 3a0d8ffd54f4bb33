// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers in binary files, of either byte order and at any address.
#pragma once

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>

namespace pourwright::intake {

template <class T, std::endian order>
T load_scalar(const char* at) {
  T value;
  if constexpr (order == std::endian::native || sizeof(T) == 1) {
    std::memcpy(&value, at, sizeof(T));
  } else {
    char turned[sizeof(T)];
    std::reverse_copy(at, at + sizeof(T), turned);
    std::memcpy(&value, turned, sizeof(T));
  }
  return value;
}

}  // namespace pourwright::intake

// SPDX-License-Identifier: GPL-3.0-or-later
// The middle of some numbers.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace pourwright {

/// Of n numbers in order the one that n/2 (rounded down) come before: the upper of two in the middle. Zero
/// for none. O(n).
inline double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Sorting by keys that are spread about evenly.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

namespace pourwright {

/// Sorts by key, ties by number. `slot` names one of `slots` places for a key, never a lower one for a larger
/// key: O(n) when few keys share a place, O(n log n) at worst.
template <class Key, class Slot>
void sort_spread(std::vector<std::pair<Key, Index>>& keyed, std::size_t slots, Slot&& slot) {
  std::vector<Index> end(slots + 1, 0);
  for (const auto& k : keyed) ++end[slot(k.first) + 1];
  for (std::size_t s = 1; s <= slots; ++s) end[s] += end[s - 1];
  std::vector<std::pair<Key, Index>> sorted(keyed.size());
  for (const auto& k : keyed) sorted[end[slot(k.first)]++] = k;
  auto first = sorted.begin();
  for (std::size_t s = 0; s < slots; ++s) {
    const auto last = sorted.begin() + static_cast<std::ptrdiff_t>(end[s]);
    // Equal keys stand in order already.
    if (last - first > 1 && !std::is_sorted(first, last)) std::sort(first, last);
    first = last;
  }
  keyed = std::move(sorted);
}

/// The same for numbers between `low` and `high`, with as many places as there are of them.
inline void sort_spread(std::vector<std::pair<double, Index>>& keyed, double low, double high) {
  const std::size_t n = std::max<std::size_t>(keyed.size(), 1);
  const double scale = high > low ? static_cast<double>(n) / (high - low) : 0;
  sort_spread(keyed, n, [=](double key) {
    const double k = (key - low) * scale;
    return !(k > 0) ? std::size_t{0} : k < static_cast<double>(n) ? static_cast<std::size_t>(k) : n - 1;
  });
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Which small molds take most of what is left, the rest becoming chips. The law: what is planned is there.
#include <pourwright/split.hpp>

#include <algorithm>
#include <limits>

namespace pourwright {

// A bounded knapsack: the best that can be filled of each whole number of units, with the fewest molds for
// it.
LeftoverPlan fit_leftovers(Mass left, Density density, const std::vector<LeftoverMold>& molds) {
  constexpr std::int64_t most_cells = 20'000;
  LeftoverPlan out;
  out.chips = left;
  if (left <= Mass{} || !(in_grams_per_millilitre(density) > 0)) return out;
  std::vector<Mass> each;
  for (const LeftoverMold& m : molds) each.push_back(m.takes > Mass() ? m.takes : m.holds * density);
  // Tenths of a gram, coarser for a bucketful. Needs are rounded up, so that what is planned is there.
  const std::int64_t unit = std::max<std::int64_t>(100'000, left.in_micrograms() / most_cells + 1);
  const auto cells = static_cast<std::size_t>(left.in_micrograms() / unit);
  constexpr int never = std::numeric_limits<int>::max();
  std::vector<int> fewest(cells + 1, never);
  fewest[0] = 0;
  std::vector<std::vector<int>> taken(molds.size());  // of each kind, to reach a cell with the kinds up to it
  for (std::size_t k = 0; k < molds.size(); ++k) {
    taken[k].assign(cells + 1, 0);
    const auto need = static_cast<std::size_t>((each[k].in_micrograms() + unit - 1) / unit);
    if (need == 0 || need > cells) continue;
    const std::vector<int> before = fewest;
    for (std::size_t c = need; c <= cells; ++c)
      for (int n = 1; n <= molds[k].copies && static_cast<std::size_t>(n) * need <= c; ++n) {
        const int other = before[c - static_cast<std::size_t>(n) * need];
        if (other == never || other + n >= fewest[c]) continue;
        fewest[c] = other + n;
        taken[k][c] = n;
      }
  }
  std::size_t at = cells;
  while (at > 0 && fewest[at] == never) --at;
  for (std::size_t k = molds.size(); k-- > 0;) {
    const int n = taken[k][at];
    if (n == 0) continue;
    out.fills.insert(out.fills.begin(), {molds[k].name, n, each[k]});
    out.chips = out.chips - each[k] * n;
    at -= static_cast<std::size_t>(n) * static_cast<std::size_t>((each[k].in_micrograms() + unit - 1) / unit);
  }
  return out;
}

}  // namespace pourwright

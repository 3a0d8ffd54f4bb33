// SPDX-License-Identifier: GPL-3.0-or-later
// The cheapest packs that cover a need: a covering knapsack, exact up to 200,000 units of the packs' common
// measure; beyond that the bulk is bought in the pack with the best rate.
#include <pourwright/run.hpp>

#include <algorithm>
#include <numeric>

namespace pourwright {
namespace {

constexpr std::int64_t most_units = 200'000;

/// Better is less, in this order; each part adds up over packs.
struct Cost {
  Amount::Wide money = 0;
  std::int64_t units = 0, packs = 0;
  auto operator<=>(const Cost&) const = default;
  Cost operator+(const Cost& o) const { return {money + o.money, units + o.units, packs + o.packs}; }
};

/// The size with the lowest price per gram; without prices the largest.
std::size_t best_rate(const std::vector<Cost>& one) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < one.size(); ++i) {
    const Amount::Wide here = one[i].money * one[best].units, there = one[best].money * one[i].units;
    if (here < there || (here == there && one[i].units > one[best].units)) best = i;
  }
  return best;
}

}  // namespace

PackChoice cheapest_packs(Mass need, const std::vector<PackSize>& sizes) {
  PackChoice out{std::vector<std::int64_t>(sizes.size(), 0), {}, std::nullopt};
  if (sizes.empty()) return out;
  const bool priced =
      std::all_of(sizes.begin(), sizes.end(), [](const PackSize& s) { return s.price.has_value(); });
  std::int64_t unit = 0;
  for (const PackSize& s : sizes) unit = std::gcd(unit, s.size.in_micrograms());
  std::vector<Cost> one;
  for (const PackSize& s : sizes)
    one.push_back({priced ? s.price->in_billionths() : 0, s.size.in_micrograms() / unit, 1});
  std::int64_t wanted = std::max<std::int64_t>(0, (need.in_micrograms() + unit - 1) / unit);
  if (wanted > most_units) {
    const std::size_t bulk = best_rate(one);
    out.counts[bulk] = (wanted - most_units / 2) / one[bulk].units;
    wanted -= out.counts[bulk] * one[bulk].units;
  }
  if (wanted <= 2 * most_units) {
    // best[n] covers n units; from[n] is the size of its last pack.
    std::vector<Cost> best(static_cast<std::size_t>(wanted) + 1);
    std::vector<std::size_t> from(best.size(), 0);
    for (std::size_t n = 1; n < best.size(); ++n)
      for (std::size_t s = 0; s < one.size(); ++s) {
        const auto size = static_cast<std::size_t>(one[s].units);
        const Cost cost = best[n > size ? n - size : 0] + one[s];
        if (s == 0 || cost < best[n]) best[n] = cost, from[n] = s;
      }
    for (std::size_t n = best.size() - 1; n > 0;) {
      ++out.counts[from[n]];
      const auto size = static_cast<std::size_t>(one[from[n]].units);
      n = n > size ? n - size : 0;
    }
  } else {
    ++out.counts[best_rate(one)];
  }
  Amount cost;
  for (std::size_t s = 0; s < sizes.size(); ++s) {
    out.bought += sizes[s].size * out.counts[s];
    if (priced) cost += *sizes[s].price * out.counts[s];
  }
  if (priced) out.cost = cost;
  return out;
}

}  // namespace pourwright

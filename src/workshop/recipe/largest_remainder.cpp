// SPDX-License-Identifier: GPL-3.0-or-later
// Hamilton's method: every share gets its whole quota, the steps left over go to the largest remainders. It
// is not monotone: a larger total can take a step from a share (the Alabama paradox). What it promises is the
// sum and less than one step between share and quota.
#include <pourwright/recipe.hpp>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

namespace pourwright {
namespace {

__extension__ using Wide = __int128;

}  // namespace

std::vector<std::int64_t> largest_remainder(std::int64_t total, const std::vector<std::int64_t>& weights) {
  Wide sum = 0;
  for (const std::int64_t w : weights) {
    assert(w >= 0);
    sum += w;
  }
  assert(total >= 0 && sum > 0);
  std::vector<std::int64_t> shares(weights.size());
  if (sum <= 0) return shares;  // without assertions: nothing to divide by
  std::vector<Wide> remainders(weights.size());
  std::int64_t left = total;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    const Wide product = Wide{total} * weights[i];
    shares[i] = static_cast<std::int64_t>(product / sum);
    remainders[i] = product % sum;
    left -= shares[i];
  }
  std::vector<std::size_t> order(weights.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return remainders[a] > remainders[b]; });
  // The remainders add up to left · sum and each is below sum, so left < the number of nonzero remainders.
  for (std::size_t i = 0; i < static_cast<std::size_t>(left); ++i) ++shares[order[i]];
  return shares;
}

std::vector<Mass> largest_remainder(Mass total, const std::vector<double>& weights, Mass step) {
  assert(step > Mass{} && total.in_micrograms() % step.in_micrograms() == 0);
  const double largest = weights.empty() ? 0 : *std::max_element(weights.begin(), weights.end());
  assert(std::isfinite(largest) && largest > 0);
  // Scaling by a power of two keeps ratios exact; 2^60 for the largest puts the rest below 2^-60 of it, which
  // moves a quota of 10^15 steps by a thousandth of one.
  const int shift = 60 - std::ilogb(largest);
  std::vector<std::int64_t> whole;
  whole.reserve(weights.size());
  for (const double w : weights) whole.push_back(std::llround(std::ldexp(w, shift)));
  std::vector<Mass> masses;
  masses.reserve(weights.size());
  for (const std::int64_t steps : largest_remainder(total.in_micrograms() / step.in_micrograms(), whole))
    masses.push_back(step * steps);
  return masses;
}

}  // namespace pourwright

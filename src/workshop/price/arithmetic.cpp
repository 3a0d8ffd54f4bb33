// SPDX-License-Identifier: GPL-3.0-or-later
// Sharing out, tax within a price, stock at average cost. The law: no minor unit is made or lost.
#include <pourwright/price.hpp>
#include <pourwright/recipe.hpp>

#include <algorithm>
#include <cassert>

namespace pourwright {
namespace {

constexpr std::int64_t whole = 1'000'000;

}  // namespace

std::vector<Money> spread(Money total, const std::vector<std::int64_t>& weights) {
  const bool negative = total < Money();
  std::vector<Money> out;
  for (const std::int64_t share : largest_remainder(negative ? -total.in_minor() : total.in_minor(), weights))
    out.push_back(Money::minor(negative ? -share : share));
  return out;
}

Money tax_within(Money gross, Ratio rate) {
  return Money::minor(multiply_divide(gross.in_minor(), rate.in_millionths(), whole + rate.in_millionths()));
}

void AverageCost::add(std::int64_t quantity, Amount value) {
  quantity_ += quantity;
  value_ += value;
}

Amount AverageCost::worth(std::int64_t quantity) const {
  return quantity_ == 0 ? Amount() : proportion(value_, quantity, quantity_);
}

Amount AverageCost::take(std::int64_t quantity) {
  assert(quantity >= 0 && quantity <= quantity_);
  const Amount out = worth(quantity);
  quantity_ -= quantity;
  value_ = value_ - out;
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What a piece costs and what it is sold for. Amounts stay unrounded until the end of a line; a line's parts
// then add up exactly to its total, and the totals are sums of lines.
#pragma once

#include <pourwright/money.hpp>
#include <pourwright/units.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

// ---- the arithmetic of prices --------------------------------------------------------------------------

/// A joint amount shared out in proportion to `weights` without losing a minor unit (largest remainder, ties
/// to the earlier share). Precondition: weights >= 0 with a positive sum.
std::vector<Money> spread(Money total, const std::vector<std::int64_t>& weights);

/// The tax in a price that includes it: gross · rate / (1 + rate).
Money tax_within(Money gross, Ratio rate);

/// Stock at weighted average cost. What is taken out carries its share of the exact value, so that nothing is
/// lost between what was sold and what is left. In the periodic method add everything before taking.
class AverageCost {
 public:
  void add(std::int64_t quantity, Amount value);
  /// Precondition: 0 <= quantity <= quantity().
  Amount take(std::int64_t quantity);
  /// What `quantity` of it is worth now; nothing in stock is worth nothing.
  Amount worth(std::int64_t quantity) const;
  std::int64_t quantity() const { return quantity_; }
  Amount value() const { return value_; }

 private:
  std::int64_t quantity_ = 0;
  Amount value_;
};

// ---- a price list --------------------------------------------------------------------------------------

/// What a mix is made of, and what that costs.
struct PriceMaterial {
  struct Part {
    std::string name;
    std::int64_t millionths = 0;  ///< by mass, against the other parts
    Amount per_kilogram;
  };
  std::string name;
  std::vector<Part> parts;
};
/// Of the mix: the parts' prices, weighed by their masses. Precondition: a part has a mass.
Amount per_kilogram(const PriceMaterial& material);

/// One product; every mass, time and amount is for one piece.
struct PriceItem {
  std::string name;
  std::int64_t pieces = 1;   ///< in this order, for the totals
  std::int64_t surplus = 0;  ///< made beyond them, at the cost of those that are sold
  Amount per_kilogram;       ///< of the mix
  Mass material;             ///< mix in it, allowance included
  Mass low, high;            ///< the same at the ends of the volume's interval: low <= material <= high
  Mass residue;              ///< its share of what stays in bucket and cups
  Amount pigment;
  Amount mold;             ///< cost of the mold; zero: not counted
  std::int64_t pulls = 0;  ///< pieces the mold is expected to make
  Duration labour;
  Amount packaging, shipping;           ///< paid by the maker
  std::optional<Ratio> markup, margin;  ///< instead of the terms'; at most one
};

struct PriceTerms {
  Currency currency;
  Amount labour_per_hour;
  Ratio failed;    ///< share of pieces that come out spoilt
  Ratio overhead;  ///< on top of all other costs but fees
  Ratio fees;      ///< of the net price, or of the price with tax: platforms, cards
  bool fees_on_gross = false;
  Amount fee_per_sale;  ///< beside the share; a sale is one piece
  Ratio vat;
  std::optional<Ratio> markup, margin;      ///< at most one; without either the price is the cost
  std::optional<Ratio> discount;            ///< off the price with tax: what is left when it is sold for less
  std::optional<Ratio> wholesale_markup;    ///< on what a piece costs without the fees and shipping of a sale
  std::optional<Ratio> wholesale_discount;  ///< off the net price instead; at most one of the two
  Money round_to;                           ///< step of the price with tax; zero: minor units
  Rounding rounding = Rounding::half_even;
  bool vat_on_total = false;  ///< tax of the whole order from its net sum instead of line by line
};
/// What a price with tax is a multiple of.
Money smallest_step(const PriceTerms& terms);

struct PriceLine {
  std::string name;
  std::int64_t pieces = 1;
  Mass material_mass;
  Money material, pigment, waste, mold_wear, labour, other;  ///< add up exactly to total
  Money total;
  Money fees;                      ///< of one sale; they are in `other`
  Money list_price;                ///< before the discount; the price when there is none
  Money net, tax, price;           ///< net + tax = price
  Money price_low, price_high;     ///< as far as the volume is uncertain
  std::optional<Money> wholesale;  ///< net
  Money shop_cost;                 ///< what wholesale has to cover: no fees, no shipping
  Ratio margin, markup;            ///< of the net price as it was rounded
  std::optional<std::int64_t>
      break_even;  ///< pieces that pay for the mold; nothing: never, or there is no mold cost
};

struct PriceList {
  Currency currency;
  std::vector<PriceLine> lines;
  Money net, tax, gross;  ///< of the whole order
  bool vat_on_total = false;
};

/// Cost with spoilt pieces: 1/(1-failed) are made for each that is sold. Price from markup or margin, fees
/// included: net = (cost+fee)·(1+markup)/(1-(1+markup)·fees) or (cost+fee)/(1-margin-fees), fees on the price
/// with tax counting 1+tax times. The price with tax is rounded
/// to `round_to`; net and tax follow from it. The steps in full: price_line.hpp. Fails with price_impossible
/// when no price satisfies margin and fees, and with usage when both markup and margin are given, or both
/// ways to a wholesale price. O(items).
Expected<PriceList> price_list(const std::vector<PriceItem>& items, const PriceTerms& terms);

}  // namespace pourwright

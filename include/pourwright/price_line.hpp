// SPDX-License-Identifier: GPL-3.0-or-later
// The arithmetic of one line of a price list, written once over any kind of number. `price_list` runs it over
// exact amounts; the spreadsheet runs it over amounts that also carry the formula they come from, so that
// what a cell shows and what its formula says cannot differ.
//
// A kind of number is a class N with
//   N::Of<T>             a T: Amount, Money, Mass, Duration, Ratio, a count; + - and * as those have them
//   keep(name, x)        x itself; a place where a column of the sheet begins
//   cost(m, per_kg)      of a mass, or of a time at an hour's pay
//   per_pull(mold, n)    mold/n, nothing for n = 0
//   spoilt(made, f)      made·f/(1-f): what is made to be thrown away beside each that is sold
//   for_each(a, k, n)    a·k/n: what k pieces cost, borne by n
//   on_gross(f, vat)     f·(1+vat), in whole millionths: a share of the price with tax as one of the net
//   price net_by_margin(c, m, fees)   c/(1-m-fees) net_by_markup(c, m, fees)   c·(1+m)/(1-(1+m)·fees), the
//   product in whole millionths marked_up(c, m)      c·(1+m) rounded(name, a)     to whole minor units,
//   halves to even stepped(x, step)     to whole steps by the terms' rule tax_within(name, gross, rate)
//   gross·rate/(1+rate), rounded as above amount(x), share(part, of), break_even(mold, earned)
#pragma once

#include <pourwright/money.hpp>
#include <pourwright/units.hpp>

#include <cstdint>
#include <optional>

namespace pourwright {

/// The steps that take more than one operation, for plain amounts; every kind of number builds on them. Each
/// rounds once, by half a billionth at most, but net_by_markup twice.
namespace price {
Amount per_pull(Amount mold, std::int64_t pulls);
Amount spoilt(Amount made, Ratio failed);  ///< failed < 1
Amount for_each(Amount one, std::int64_t some, std::int64_t of);
Ratio on_gross(Ratio fees, Ratio vat);
Amount net_by_margin(Amount cost, Ratio margin, Ratio fees);  ///< margin + fees < 1
Amount net_by_markup(Amount cost, Ratio markup, Ratio fees);  ///< (1 + markup)·fees < 1
Amount marked_up(Amount cost, Ratio markup);
Ratio share(Money part, Money of);  ///< nothing of nothing
/// Whole pieces whose earnings pay for the mold; nothing: never, or there is no mold to pay for.
std::optional<std::int64_t> break_even(Amount mold, Amount earned);
}  // namespace price

/// What a line is worked out from; masses, times and amounts are those of one piece.
template <class N>
struct LineInputs {
  template <class T>
  using Of = typename N::template Of<T>;
  Of<Amount> per_kilogram;  ///< of mix
  Of<Mass> material, residue;
  std::optional<Of<Mass>> low, high;  ///< of `material`, when it is not sure
  Of<Amount> pigment, mold;
  Of<std::int64_t> pulls;
  Of<Duration> labour;
  Of<Amount> packaging, shipping;
  Of<std::int64_t> pieces, surplus;         ///< sold; made beyond them at their cost
  std::optional<Of<Ratio>> markup, margin;  ///< at most one
};

/// What holds for every line.
template <class N>
struct TermInputs {
  template <class T>
  using Of = typename N::template Of<T>;
  Of<Amount> labour_per_hour;
  Of<Ratio> failed, overhead, fees, vat;
  bool fees_on_gross = false;  ///< a share of the price with tax instead of the net price
  Of<Amount> fee_per_sale;
  std::optional<Of<Ratio>> discount;                              ///< off the price with tax
  std::optional<Of<Ratio>> wholesale_markup, wholesale_discount;  ///< at most one
  Of<Money> step;  ///< of the price with tax; more than nothing
};

/// What comes of it, in the order of the columns. `fees` has no column: it is part of `total`. A shop that
/// buys several is sent them and charged without the fees of a single sale, so its cost leaves both out.
template <class N>
struct WorkedOut {
  template <class T>
  using Of = typename N::template Of<T>;
  Of<Amount> material, mold_wear, labour, waste, other;  ///< unrounded; with the pigment: before_fees
  Of<Amount> before_fees, fees, exact_net;  ///< the last is the price before tax that the terms ask for
  Of<Money> list_price;                     ///< on the step; the price, unless there is a discount
  Of<Money> price, tax, net;                ///< price = net + tax
  Of<Money> total;                          ///< before_fees + fees, rounded once
  Of<Ratio> margin, markup;                 ///< got, not asked: (net − total)/net, (net − total)/total
  Of<std::optional<std::int64_t>> break_even;
  Of<Amount> shop_cost;  ///< before_fees without shipping
  std::optional<Of<Money>> wholesale, price_low, price_high;
};

/// The columns in their order. O(1). Precondition: 0 <= failed < 1, pieces > 0, and with margin and fees, or
/// markup and fees, a part of the price is left.
template <class N>
WorkedOut<N> work_out(N& n, const LineInputs<N>& in, const TermInputs<N>& t) {
  WorkedOut<N> l;
  l.material = n.keep("material", n.cost(in.material, in.per_kilogram));
  const auto residue = n.keep("residue", n.cost(in.residue, in.per_kilogram));
  l.mold_wear = n.keep("mold wear", n.per_pull(in.mold, in.pulls));
  l.labour = n.keep("labour", n.cost(in.labour, t.labour_per_hour));
  const auto made = l.material + in.pigment + residue + l.mold_wear + l.labour;
  // Of what is made in vain: spoilt pieces, and those nobody ordered.
  const auto in_vain = [&](const auto& one) {
    return n.spoilt(one, t.failed) + n.for_each(one, in.surplus, in.pieces);
  };
  l.waste = n.keep("waste", residue + in_vain(made));
  // Overhead is on everything that is spent before it, packaging and shipping too.
  const auto spent = l.material + in.pigment + l.waste + l.mold_wear + l.labour;
  const auto for_a_shop = in.packaging + (spent + in.packaging) * t.overhead;
  l.other = n.keep("other", for_a_shop + in.shipping + in.shipping * t.overhead);
  l.before_fees = n.keep("cost before fees", spent + l.other);

  const auto fees = t.fees_on_gross ? n.on_gross(t.fees, t.vat) : t.fees;
  const auto net_of = [&](const auto& cost) {
    const auto covered = cost + t.fee_per_sale;
    return in.margin   ? n.net_by_margin(covered, *in.margin, fees)
           : in.markup ? n.net_by_markup(covered, *in.markup, fees)
                       : n.net_by_markup(covered, n.nothing(), fees);
  };
  // Rounded to the minor unit first and to the step then, as a price tag is written.
  const auto price_of = [&](const auto& net, const char* with_tax, const char* price) {
    return n.keep(price, n.stepped(n.keep("rounded", n.rounded(with_tax, n.marked_up(net, t.vat))), t.step));
  };
  const auto reduced = [&](const auto& price, const char* exact, const char* name) {
    if (!t.discount) return price;
    return n.keep(name, n.rounded(exact, n.amount(price) - n.amount(price) * *t.discount));
  };
  l.exact_net = n.keep("net, exact", net_of(l.before_fees));
  l.list_price = price_of(l.exact_net, "with tax", t.discount ? "list price" : "price");
  const auto list_net =
      t.discount && t.wholesale_discount
          ? n.keep("list net",
                   l.list_price - n.keep("list tax", n.tax_within("list tax", l.list_price, t.vat)))
          : l.list_price;
  l.price = reduced(l.list_price, "reduced", "price");
  l.tax = n.keep("tax", n.tax_within("tax", l.price, t.vat));
  l.net = n.keep("net", l.price - l.tax);
  l.fees = n.amount(t.fees_on_gross ? l.price : l.net) * t.fees + t.fee_per_sale;
  l.total = n.keep("cost", n.rounded("cost", l.before_fees + l.fees));
  l.margin = n.keep("margin got", n.share(l.net - l.total, l.net));
  l.markup = n.keep("markup got", n.share(l.net - l.total, l.total));
  // What a piece earns beyond everything that is spent on it again.
  const auto earned =
      n.keep("earned beyond the mold", n.amount(l.net) - (l.before_fees + l.fees - l.mold_wear));
  l.break_even = n.keep("pieces that pay for the mold", n.break_even(in.mold, earned));
  l.shop_cost = n.keep("cost to a shop", spent + for_a_shop);
  if (t.wholesale_markup)
    l.wholesale = n.keep("wholesale", n.rounded("wholesale", n.marked_up(l.shop_cost, *t.wholesale_markup)));
  if (t.wholesale_discount) {
    const auto full = n.amount(t.discount ? list_net : l.net);
    l.wholesale = n.keep("wholesale", n.rounded("wholesale", full - full * *t.wholesale_discount));
  }

  // More mix costs what it is, the share of it that is made in vain, and the overhead on both.
  const auto cost_with = [&](const auto& mass) {
    const auto more = n.cost(mass, in.per_kilogram) - l.material;
    const auto all = more + in_vain(more);
    return l.before_fees + all + all * t.overhead;
  };
  if (in.low)
    l.price_low = reduced(price_of(net_of(cost_with(*in.low)), "with tax at the low",
                                   t.discount ? "list price at the low" : "price at the low"),
                          "reduced at the low", "price at the low");
  if (in.high)
    l.price_high = reduced(price_of(net_of(cost_with(*in.high)), "with tax at the high",
                                    t.discount ? "list price at the high" : "price at the high"),
                           "reduced at the high", "price at the high");
  return l;
}

}  // namespace pourwright

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
//   net_by_margin(c, m, fees)   c/(1-m-fees)
//   net_by_markup(c, m, fees)   c·(1+m)/(1-(1+m)·fees), the product in whole millionths
//   marked_up(c, m)      c·(1+m)
//   rounded(name, a)     to whole minor units, halves to even
//   stepped(x, step)     to whole steps by the terms' rule
//   tax_within(name, gross, rate)   gross·rate/(1+rate), rounded as above
//   amount(x), share(part, of), break_even(mold, earned)
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
Amount spoilt(Amount made, Ratio failed);                     ///< failed < 1
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
  Of<Amount> packaging;
  std::optional<Of<Ratio>> markup, margin;  ///< at most one
};

/// What holds for every line.
template <class N>
struct TermInputs {
  template <class T>
  using Of = typename N::template Of<T>;
  Of<Amount> labour_per_hour;
  Of<Ratio> failed, overhead, fees, vat;
  std::optional<Of<Ratio>> wholesale_markup;
  Of<Money> step;  ///< of the price with tax; more than nothing
};

/// What comes of it, in the order of the columns. `fees` has no column: it is part of `total`.
template <class N>
struct WorkedOut {
  template <class T>
  using Of = typename N::template Of<T>;
  Of<Amount> material, mold_wear, labour, waste, other;  ///< unrounded; with the pigment: before_fees
  Of<Amount> before_fees, fees, exact_net;  ///< the last is the price before tax that the terms ask for
  Of<Money> price, tax, net;                ///< price = net + tax, on the step
  Of<Money> total;                          ///< before_fees + fees, rounded once
  Of<Ratio> margin, markup;                 ///< got, not asked: (net − total)/net, (net − total)/total
  Of<std::optional<std::int64_t>> break_even;
  std::optional<Of<Money>> wholesale, price_low, price_high;
};

/// The columns in their order. O(1). Precondition: 0 <= failed < 1, and with margin and fees, or markup and
/// fees, a part of the price is left.
template <class N>
WorkedOut<N> work_out(N& n, const LineInputs<N>& in, const TermInputs<N>& t) {
  WorkedOut<N> l;
  l.material = n.keep("material", n.cost(in.material, in.per_kilogram));
  const auto residue = n.keep("residue", n.cost(in.residue, in.per_kilogram));
  l.mold_wear = n.keep("mold wear", n.per_pull(in.mold, in.pulls));
  l.labour = n.keep("labour", n.cost(in.labour, t.labour_per_hour));
  const auto made = l.material + in.pigment + residue + l.mold_wear + l.labour;
  l.waste = n.keep("waste", residue + n.spoilt(made, t.failed));
  // Overhead is on everything that is spent before it, packaging too.
  const auto spent = l.material + in.pigment + l.waste + l.mold_wear + l.labour;
  l.other = n.keep("other", in.packaging + (spent + in.packaging) * t.overhead);
  l.before_fees = n.keep("cost before fees", spent + l.other);

  const auto net_of = [&](const auto& cost) {
    return in.margin   ? n.net_by_margin(cost, *in.margin, t.fees)
           : in.markup ? n.net_by_markup(cost, *in.markup, t.fees)
                       : n.net_by_markup(cost, n.nothing(), t.fees);
  };
  // Rounded to the minor unit first and to the step then, as a price tag is written.
  const auto price_of = [&](const auto& net, const char* with_tax, const char* price) {
    return n.keep(price, n.stepped(n.keep("rounded", n.rounded(with_tax, n.marked_up(net, t.vat))), t.step));
  };
  l.exact_net = n.keep("net, exact", net_of(l.before_fees));
  l.price = price_of(l.exact_net, "with tax", "price");
  l.tax = n.keep("tax", n.tax_within("tax", l.price, t.vat));
  l.net = n.keep("net", l.price - l.tax);
  l.fees = n.amount(l.net) * t.fees;
  l.total = n.keep("cost", n.rounded("cost", l.before_fees + l.fees));
  l.margin = n.keep("margin got", n.share(l.net - l.total, l.net));
  l.markup = n.keep("markup got", n.share(l.net - l.total, l.total));
  // What a piece earns beyond everything that is spent on it again.
  const auto earned =
      n.keep("earned beyond the mold", n.amount(l.net) - (l.before_fees + l.fees - l.mold_wear));
  l.break_even = n.keep("pieces that pay for the mold", n.break_even(in.mold, earned));
  if (t.wholesale_markup)
    l.wholesale =
        n.keep("wholesale", n.rounded("wholesale", n.marked_up(l.before_fees, *t.wholesale_markup)));

  // More mix costs what it is, the share of it that is spoilt, and the overhead on both.
  const auto cost_with = [&](const auto& mass) {
    const auto more = n.cost(mass, in.per_kilogram) - l.material;
    const auto with_spoilt = more + n.spoilt(more, t.failed);
    return l.before_fees + with_spoilt + with_spoilt * t.overhead;
  };
  if (in.low) l.price_low = price_of(net_of(cost_with(*in.low)), "with tax at the low", "price at the low");
  if (in.high)
    l.price_high = price_of(net_of(cost_with(*in.high)), "with tax at the high", "price at the high");
  return l;
}

}  // namespace pourwright

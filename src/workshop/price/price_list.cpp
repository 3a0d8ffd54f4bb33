// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/price.hpp>

#include <algorithm>
#include <array>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr std::int64_t one = 1'000'000;

/// The parts of a piece's cost before rounding, in the order of the line.
struct Parts {
  Amount material, pigment, waste, mold_wear, labour, other;
  std::array<Amount, 6> all() const { return {material, pigment, waste, mold_wear, labour, other}; }
  Amount sum() const {
    Amount s;
    for (const Amount a : all()) s += a;
    return s;
  }
};

std::optional<Problem> check_share(Ratio r, std::string_view what, std::int64_t most) {
  if (r.in_millionths() >= 0 && r.in_millionths() < most) return std::nullopt;
  return fail(Code::price_impossible,
              fmt::format("{} of {} % leave nothing to sell", what, fixed(r.in_percent(), 2)),
              fmt::format("give it from 0 to below {} %", most / 10'000));
}

std::optional<Problem> check(const PriceTerms& t) {
  if (auto p = check_share(t.failed, "spoilt pieces", one)) return p;
  if (auto p = check_share(t.overhead, "overheads", 100 * one)) return p;
  if (auto p = check_share(t.fees, "fees", one)) return p;
  if (auto p = check_share(t.vat, "a tax", 10 * one)) return p;
  if (t.round_to < Money())
    return fail(Code::bad_number, "prices cannot be rounded to a negative step", "give it like 0.50");
  return std::nullopt;
}

/// Everything but fees, with `materials` in place of the item's.
Parts cost_parts(const PriceItem& item, const PriceTerms& terms, Amount materials) {
  Parts p;
  p.material = materials;
  p.pigment = item.pigment;
  if (item.pulls > 0) p.mold_wear = proportion(item.mold, 1, item.pulls);
  p.labour = cost_of(item.labour, terms.labour_per_hour);
  const Amount made = p.material + p.pigment + item.residue + p.mold_wear + p.labour;
  const std::int64_t failed = terms.failed.in_millionths();
  p.waste = item.residue + proportion(made, failed, one - failed);
  p.other = item.packaging + (p.sum() + item.packaging) * terms.overhead;
  return p;
}

/// Nothing when no price is high enough.
std::optional<Amount> net_price(Amount cost, std::optional<Ratio> markup, std::optional<Ratio> margin,
                                Ratio fees) {
  if (margin) {
    const std::int64_t kept = one - margin->in_millionths() - fees.in_millionths();
    if (kept <= 0) return std::nullopt;
    return proportion(cost, one, kept);
  }
  const std::int64_t factor = one + (markup ? markup->in_millionths() : 0);
  const std::int64_t kept = one - multiply_divide(factor, fees.in_millionths(), one);
  if (kept <= 0 || factor < 0) return std::nullopt;
  return proportion(proportion(cost, factor, one), one, kept);
}

Money with_tax(Amount net, const PriceTerms& t) {
  const Money exact = rounded(net + net * t.vat, t.currency);
  return t.round_to > Money() ? rounded(exact, t.round_to, t.rounding) : exact;
}

/// The parts rounded so that they add up to their rounded sum.
void put_parts(const Parts& parts, const Currency& currency, PriceLine& line) {
  line.total = rounded(parts.sum(), currency);
  std::vector<std::int64_t> weights;
  std::int64_t sum = 0;
  for (const Amount a : parts.all()) {
    // Millionths of the major unit are fine enough to rank remainders of minor ones.
    weights.push_back(std::max<std::int64_t>(0, static_cast<std::int64_t>(a.in_billionths() / 1000)));
    sum += weights.back();
  }
  if (sum == 0) return;
  const auto shares = spread(line.total, weights);
  Money* const into[] = {&line.material,  &line.pigment, &line.waste,
                         &line.mold_wear, &line.labour,  &line.other};
  for (std::size_t i = 0; i < shares.size(); ++i) *into[i] = shares[i];
}

Ratio share(Money part, Money of) {
  return of > Money() ? Ratio::millionths(multiply_divide(part.in_minor(), one, of.in_minor())) : Ratio();
}

Problem impossible(const PriceItem& item) {
  return fail(Code::price_impossible,
              fmt::format("no price of “{}” leaves the markup or margin asked for after fees", item.name),
              "lower the margin, the markup or the fees");
}

Expected<PriceLine> price_line(const PriceItem& item, const PriceTerms& t) {
  const bool own = item.markup || item.margin;
  const auto markup = own ? item.markup : t.markup, margin = own ? item.margin : t.margin;
  if (markup && margin)
    return fail(Code::usage, "both a markup and a margin are given", "give one; the other follows");
  PriceLine line;
  line.name = item.name;
  line.pieces = item.pieces;
  line.material_mass = item.material;
  Parts parts = cost_parts(item, t, item.materials);
  const Amount before_fees = parts.sum();
  const auto price_at = [&](Amount materials) -> std::optional<Money> {
    const auto net = net_price(cost_parts(item, t, materials).sum(), markup, margin, t.fees);
    if (!net) return std::nullopt;
    return with_tax(*net, t);
  };
  const auto price = price_at(item.materials), low = price_at(item.materials_low),
             high = price_at(item.materials_high);
  if (!price || !low || !high) return impossible(item);
  line.price = *price;
  line.price_low = std::min(*low, *price);
  line.price_high = std::max(*high, *price);
  line.tax = tax_within(line.price, t.vat);
  line.net = line.price - line.tax;
  parts.other += Amount::of(line.net, t.currency) * t.fees;
  put_parts(parts, t.currency, line);
  line.margin = share(line.net - line.total, line.net);
  line.markup = share(line.net - line.total, line.total);
  if (t.wholesale_markup) {
    const auto net = net_price(before_fees, t.wholesale_markup, std::nullopt, Ratio());
    if (!net) return impossible(item);
    line.wholesale = rounded(*net, t.currency);
  }
  if (item.mold > Amount()) {
    // What a piece earns beyond everything that is spent on it again.
    const Amount earns = Amount::of(line.net, t.currency) - (parts.sum() - parts.mold_wear);
    if (earns > Amount())
      line.break_even = static_cast<std::int64_t>((item.mold.in_billionths() + earns.in_billionths() - 1) /
                                                  earns.in_billionths());
  }
  return line;
}

}  // namespace

Expected<PriceList> price_list(const std::vector<PriceItem>& items, const PriceTerms& terms) {
  if (auto p = check(terms)) return *p;
  PriceList out;
  out.currency = terms.currency;
  out.vat_on_total = terms.vat_on_total;
  Money tax_by_line;
  for (const PriceItem& item : items) {
    auto line = price_line(item, terms);
    if (!line) return line.error();
    out.net += line->net * line->pieces;
    tax_by_line += line->tax * line->pieces;
    out.lines.push_back(std::move(*line));
  }
  out.tax = terms.vat_on_total ? rounded(Amount::of(out.net, terms.currency) * terms.vat, terms.currency)
                               : tax_by_line;
  out.gross = out.net + out.tax;
  return out;
}

}  // namespace pourwright

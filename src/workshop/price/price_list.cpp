// SPDX-License-Identifier: GPL-3.0-or-later
// From costs and terms to prices: the arithmetic of a line is work_out(), here over exact amounts. The law: a
// line's parts add up to its total, net and tax to the price, and the totals are sums of lines.
#include <pourwright/price.hpp>
#include <pourwright/price_line.hpp>

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr std::int64_t one = 1'000'000;

/// Of a price, in millionths, what is neither margin nor fees; no price is high enough unless it is more than
/// nothing.
std::int64_t kept_by_margin(Ratio margin, Ratio fees) {
  return one - margin.in_millionths() - fees.in_millionths();
}
std::int64_t kept_by_markup(Ratio markup, Ratio fees) {
  return one - multiply_divide(one + markup.in_millionths(), fees.in_millionths(), one);
}

/// Amounts as they are; see price_line.hpp for what each function means.
class Exact {
 public:
  template <class T>
  using Of = T;
  explicit Exact(const PriceTerms& terms) : terms_(terms) {}

  template <class T>
  static T keep(std::string_view, T x) {
    return x;
  }
  static Ratio nothing() { return {}; }
  static Amount cost(Mass mass, Amount per_kilogram) { return cost_of(mass, per_kilogram); }
  static Amount cost(Duration time, Amount per_hour) { return cost_of(time, per_hour); }
  static Amount per_pull(Amount mold, std::int64_t pulls) { return price::per_pull(mold, pulls); }
  static Amount spoilt(Amount made, Ratio failed) { return price::spoilt(made, failed); }
  static Amount for_each(Amount one, std::int64_t some, std::int64_t of) {
    return price::for_each(one, some, of);
  }
  static Ratio on_gross(Ratio fees, Ratio vat) { return price::on_gross(fees, vat); }
  static Amount net_by_margin(Amount cost, Ratio margin, Ratio fees) {
    return price::net_by_margin(cost, margin, fees);
  }
  static Amount net_by_markup(Amount cost, Ratio markup, Ratio fees) {
    return price::net_by_markup(cost, markup, fees);
  }
  static Amount marked_up(Amount cost, Ratio markup) { return price::marked_up(cost, markup); }
  Money rounded(std::string_view, Amount amount) const {
    return pourwright::rounded(amount, terms_.currency);
  }
  Money stepped(Money exact, Money step) const { return pourwright::rounded(exact, step, terms_.rounding); }
  static Money tax_within(std::string_view, Money gross, Ratio rate) {
    return pourwright::tax_within(gross, rate);
  }
  Amount amount(Money money) const { return Amount::of(money, terms_.currency); }
  static Ratio share(Money part, Money of) { return price::share(part, of); }
  static std::optional<std::int64_t> break_even(Amount mold, Amount earned) {
    return price::break_even(mold, earned);
  }

 private:
  const PriceTerms& terms_;
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
  if (t.discount)
    if (auto p = check_share(*t.discount, "a discount", one)) return p;
  if (t.wholesale_discount)
    if (auto p = check_share(*t.wholesale_discount, "a wholesale discount", one)) return p;
  if (t.wholesale_markup && t.wholesale_discount)
    return fail(Code::usage, "a wholesale price is asked for by markup and by discount",
                "give one: on the cost, or off the price");
  if (t.round_to < Money())
    return fail(Code::bad_number, "prices cannot be rounded to a negative step", "give it like 0.50");
  return std::nullopt;
}

/// The parts rounded so that they add up to their rounded sum.
void put_parts(const WorkedOut<Exact>& w, Amount pigment, PriceLine& line) {
  const std::pair<Amount, Money*> parts[] = {{w.material, &line.material}, {pigment, &line.pigment},
                                             {w.waste, &line.waste},       {w.mold_wear, &line.mold_wear},
                                             {w.labour, &line.labour},     {w.other + w.fees, &line.other}};
  std::vector<std::int64_t> weights;
  std::int64_t sum = 0;
  for (const auto& [amount, into] : parts) {
    // Millionths of the major unit are fine enough to rank remainders of minor ones.
    weights.push_back(std::max<std::int64_t>(0, static_cast<std::int64_t>(amount.in_billionths() / 1000)));
    sum += weights.back();
  }
  if (sum == 0) return;
  const auto shares = spread(w.total, weights);
  for (std::size_t i = 0; i < shares.size(); ++i) *parts[i].second = shares[i];
}

bool has_a_price(const std::optional<Ratio>& markup, const std::optional<Ratio>& margin, Ratio fees) {
  if (margin) return kept_by_margin(*margin, fees) > 0;
  const Ratio m = markup.value_or(Ratio());
  return m.in_millionths() >= -one && kept_by_markup(m, fees) > 0;
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
  const Ratio fees = t.fees_on_gross ? price::on_gross(t.fees, t.vat) : t.fees;
  if (!has_a_price(markup, margin, fees) || !has_a_price(t.wholesale_markup, std::nullopt, Ratio()))
    return impossible(item);
  Exact exact(t);
  const WorkedOut<Exact> w = work_out<Exact>(
      exact,
      {item.per_kilogram, item.material, item.residue, item.low, item.high, item.pigment, item.mold,
       item.pulls, item.labour, item.packaging, item.shipping, std::max<std::int64_t>(1, item.pieces),
       item.surplus, markup, margin},
      {t.labour_per_hour, t.failed, t.overhead, t.fees, t.vat, t.fees_on_gross, t.fee_per_sale, t.discount,
       t.wholesale_markup, t.wholesale_discount, smallest_step(t)});
  PriceLine line;
  line.name = item.name;
  line.pieces = item.pieces;
  line.material_mass = item.material;
  line.total = w.total;
  put_parts(w, item.pigment, line);
  line.fees = rounded(w.fees, t.currency);
  line.list_price = w.list_price;
  line.shop_cost = rounded(w.shop_cost, t.currency);
  line.net = w.net;
  line.tax = w.tax;
  line.price = w.price;
  line.price_low = std::min(*w.price_low, w.price);
  line.price_high = std::max(*w.price_high, w.price);
  line.wholesale = w.wholesale;
  line.margin = w.margin;
  line.markup = w.markup;
  line.break_even = w.break_even;
  return line;
}

}  // namespace

namespace price {

Amount per_pull(Amount mold, std::int64_t pulls) {
  return pulls > 0 ? proportion(mold, 1, pulls) : Amount();
}
Amount spoilt(Amount made, Ratio failed) {
  return proportion(made, failed.in_millionths(), one - failed.in_millionths());
}
Amount for_each(Amount one_piece, std::int64_t some, std::int64_t of) {
  return proportion(one_piece, some, of);
}
Ratio on_gross(Ratio fees, Ratio vat) {
  return Ratio::millionths(multiply_divide(fees.in_millionths(), one + vat.in_millionths(), one));
}
Amount net_by_margin(Amount cost, Ratio margin, Ratio fees) {
  return proportion(cost, one, kept_by_margin(margin, fees));
}
Amount net_by_markup(Amount cost, Ratio markup, Ratio fees) {
  return proportion(marked_up(cost, markup), one, kept_by_markup(markup, fees));
}
Amount marked_up(Amount cost, Ratio markup) {
  return proportion(cost, one + markup.in_millionths(), one);
}
Ratio share(Money part, Money of) {
  return of > Money() ? Ratio::millionths(multiply_divide(part.in_minor(), one, of.in_minor())) : Ratio();
}
std::optional<std::int64_t> break_even(Amount mold, Amount earned) {
  if (!(mold > Amount() && earned > Amount())) return std::nullopt;
  return static_cast<std::int64_t>((mold.in_billionths() + earned.in_billionths() - 1) /
                                   earned.in_billionths());
}

}  // namespace price

Amount per_kilogram(const PriceMaterial& material) {
  Amount sum;
  std::int64_t whole = 0;
  for (const PriceMaterial::Part& p : material.parts) {
    sum += p.per_kilogram * p.millionths;
    whole += p.millionths;
  }
  return proportion(sum, 1, whole);
}

Money smallest_step(const PriceTerms& terms) {
  return terms.round_to > Money() ? terms.round_to : Money::minor(1);
}

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

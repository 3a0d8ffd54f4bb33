// SPDX-License-Identifier: GPL-3.0-or-later
// The price list as a spreadsheet that goes on counting: what is blue may be changed, everything else
// follows. The law: every number stands beside the formula it follows from, because both come from one run of
// work_out(), over numbers that know their formula.
#include <pourwright/price_line.hpp>
#include <pourwright/report_run.hpp>

#include "report/xlsx.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

namespace pourwright {
namespace {

using namespace xlsx;

/// A value and the formula that gives it, in the units of the sheet: money and amounts in major units, masses
/// in grams, times in minutes. A formula is one term: a sum in it stands in brackets.
template <class T>
struct Live {
  T value{};
  std::string formula = {};
};

Live<Amount> operator+(const Live<Amount>& a, const Live<Amount>& b) {
  return {a.value + b.value, fmt::format("({}+{})", a.formula, b.formula)};
}
Live<Amount> operator-(const Live<Amount>& a, const Live<Amount>& b) {
  return {a.value - b.value, fmt::format("({}-{})", a.formula, b.formula)};
}
Live<Amount> operator*(const Live<Amount>& a, const Live<Ratio>& r) {
  return {a.value * r.value, fmt::format("{}*{}", a.formula, r.formula)};
}
Live<Money> operator-(const Live<Money>& a, const Live<Money>& b) {
  return {a.value - b.value, fmt::format("({}-{})", a.formula, b.formula)};
}

double in_major(Amount a) {
  return static_cast<double>(a.in_billionths()) / 1e9;
}

/// Halves to even, which office programs have no function for. `x` is a cell.
std::string even(std::string_view x) {
  return fmt::format("IF(MOD({0},1)=0.5,2*ROUND({0}/2,0),ROUND({0},0))", x);
}

Cell words(std::string_view text, Look look = Look::plain) {
  return {std::string(text), {}, look, false};
}
Cell input(double value, Look look) {
  return {value, {}, look, true};
}
Cell formula(std::string text, Content value, Look look) {
  return {std::move(value), std::move(text), look, false};
}

/// One row of the sheet Costs as a kind of number for work_out(); what is kept becomes a cell. The arithmetic
/// of values is the workshop's own, function by function; beside it stands what an office program makes of
/// the same. Before money is rounded it is cut to 7 decimals of the minor unit, so that binary fractions hide
/// no half.
class CostRow {
 public:
  template <class T>
  using Of = Live<T>;

  CostRow(std::size_t row, const PriceTerms& terms) : row_(row), terms_(terms) {
    for (int i = 0; i < terms.currency.exponent; ++i) minor_ *= 10;
  }

  /// Puts the cell last and names it; what is returned stands for it.
  template <class T>
  Live<T> put(std::string head, const T& value, Cell cell) {
    const std::string at = fmt::format("{}{}", column(cells.size()), row_);
    heads.push_back(std::move(head));
    cells.push_back(std::move(cell));
    return {value, at};
  }
  template <class T>
  Live<T> keep(std::string head, const Live<T>& x) {
    return put(std::move(head), x.value, formula(x.formula, shown(x.value), look_of(x.value)));
  }

  static Live<Ratio> nothing() { return {Ratio(), "0"}; }
  static Live<Amount> cost(const Live<Mass>& m, const Live<Amount>& per_kilogram) {
    return {cost_of(m.value, per_kilogram.value), fmt::format("{}/1000*{}", m.formula, per_kilogram.formula)};
  }
  static Live<Amount> cost(const Live<Duration>& t, const Live<Amount>& per_hour) {
    return {cost_of(t.value, per_hour.value), fmt::format("{}/60*{}", t.formula, per_hour.formula)};
  }
  static Live<Amount> per_pull(const Live<Amount>& mold, const Live<std::int64_t>& n) {
    return {price::per_pull(mold.value, n.value),
            fmt::format("IF({1}>0,{0}/{1},0)", mold.formula, n.formula)};
  }
  static Live<Amount> spoilt(const Live<Amount>& made, const Live<Ratio>& f) {
    return {price::spoilt(made.value, f.value), fmt::format("{0}*{1}/(1-{1})", made.formula, f.formula)};
  }
  static Live<Amount> for_each(const Live<Amount>& a, const Live<std::int64_t>& some,
                               const Live<std::int64_t>& of) {
    return {price::for_each(a.value, some.value, of.value),
            fmt::format("{}*{}/{}", a.formula, some.formula, of.formula)};
  }
  static Live<Ratio> on_gross(const Live<Ratio>& fees, const Live<Ratio>& vat) {
    return {price::on_gross(fees.value, vat.value),
            fmt::format("ROUND({}*(1+{}),6)", fees.formula, vat.formula)};
  }
  static Live<Amount> net_by_margin(const Live<Amount>& c, const Live<Ratio>& m, const Live<Ratio>& fees) {
    return {price::net_by_margin(c.value, m.value, fees.value),
            fmt::format("{}/(1-{}-{})", c.formula, m.formula, fees.formula)};
  }
  static Live<Amount> net_by_markup(const Live<Amount>& c, const Live<Ratio>& m, const Live<Ratio>& fees) {
    return {price::net_by_markup(c.value, m.value, fees.value),
            fmt::format("{0}*(1+{1})/(1-ROUND((1+{1})*{2},6))", c.formula, m.formula, fees.formula)};
  }
  static Live<Amount> marked_up(const Live<Amount>& c, const Live<Ratio>& m) {
    return {price::marked_up(c.value, m.value), fmt::format("{}*(1+{})", c.formula, m.formula)};
  }
  Live<Money> rounded(std::string_view head, const Live<Amount>& a) {
    return of_minor(head, pourwright::rounded(a.value, terms_.currency),
                    in_major(a.value) * static_cast<double>(minor_), a.formula);
  }
  Live<Money> tax_within(std::string_view head, const Live<Money>& gross, const Live<Ratio>& rate) {
    const double r = rate.value.value();
    return of_minor(head, pourwright::tax_within(gross.value, rate.value),
                    static_cast<double>(gross.value.in_minor()) * r / (1 + r),
                    fmt::format("{0}*{1}/(1+{1})", gross.formula, rate.formula));
  }
  Live<Money> stepped(const Live<Money>& exact, const Live<Money>& step) const {
    const std::string steps = fmt::format("ROUND({}/{},7)", exact.formula, step.formula);
    const std::string whole = terms_.rounding == Rounding::half_even ? even(steps)
                              : terms_.rounding == Rounding::half_up ? fmt::format("ROUND({},0)", steps)
                              : terms_.rounding == Rounding::up      ? fmt::format("ROUNDUP({},0)", steps)
                                                                     : fmt::format("ROUNDDOWN({},0)", steps);
    return {pourwright::rounded(exact.value, step.value, terms_.rounding),
            fmt::format("{}*{}", whole, step.formula)};
  }
  Live<Amount> amount(const Live<Money>& m) const {
    return {Amount::of(m.value, terms_.currency), m.formula};
  }
  static Live<Ratio> share(const Live<Money>& part, const Live<Money>& of) {
    return {price::share(part.value, of.value), fmt::format("IF({1}>0,{0}/{1},0)", part.formula, of.formula)};
  }
  static Live<std::optional<std::int64_t>> break_even(const Live<Amount>& mold, const Live<Amount>& earned) {
    return {
        price::break_even(mold.value, earned.value),
        fmt::format("IF(AND({0}>0,{1}>0),ROUNDUP(ROUND({0}/{1},7),0),\"\")", mold.formula, earned.formula)};
  }

  std::vector<std::string> heads;
  std::vector<Cell> cells;

 private:
  /// Two cells: the minor units before they are rounded, and the money they make.
  Live<Money> of_minor(std::string_view head, Money value, double exact, std::string_view major) {
    const double cut = std::round(exact * 1e7) / 1e7;
    const std::string at = fmt::format("{}{}", column(cells.size()), row_);
    heads.push_back(fmt::format("{}, minor units", head));
    cells.push_back(formula(fmt::format("ROUND({}*{},7)", major, minor_), cut, Look::fine));
    return {value, fmt::format("{}/{}", even(at), minor_)};
  }

  static Content shown(Amount a) { return in_major(a); }
  Content shown(Money m) const { return static_cast<double>(m.in_minor()) / static_cast<double>(minor_); }
  static Content shown(Ratio r) { return r.value(); }
  static Content shown(const std::optional<std::int64_t>& n) {
    return n ? Content(static_cast<double>(*n)) : Content(std::string());
  }
  static Look look_of(Amount) { return Look::fine; }
  static Look look_of(Money) { return Look::money; }
  static Look look_of(Ratio) { return Look::percent; }
  static Look look_of(const std::optional<std::int64_t>&) { return Look::whole; }

  std::size_t row_;
  const PriceTerms& terms_;
  std::int64_t minor_ = 1;
};

class PriceBook {
 public:
  explicit PriceBook(const PriceReport& report) : r_(report), t_(report.terms), c_(report.list.currency) {
    for (const PriceBasis& b : r_.basis)
      range_ |= b.item.low < b.item.material || b.item.high > b.item.material;
  }

  Expected<std::string> bytes() {
    Sheet terms = terms_sheet(), materials = materials_sheet(), costs = costs_sheet();
    return workbook({prices_sheet(), std::move(costs), std::move(terms), std::move(materials)}, c_.exponent);
  }

 private:
  double major(Money m) const { return in_major(Amount::of(m, c_)); }

  // ---- terms

  template <class T>
  Live<T> term(Sheet& s, std::string_view label, const T& value, Cell cell, std::string_view note = {}) {
    s.rows.push_back({words(label), std::move(cell), words(note, Look::faint)});
    return {value, fmt::format("Terms!$B${}", s.rows.size())};
  }
  Live<Ratio> share_term(Sheet& s, std::string_view label, Ratio r, std::string_view note = {}) {
    return term(s, label, r, input(r.value(), Look::percent), note);
  }

  Sheet terms_sheet() {
    Sheet s{"Terms", {}, {30, 14, 60}, 0, 0};
    s.rows.push_back({words("Terms", Look::title)});
    s.rows.push_back({words("What is blue may be changed; everything else follows.", Look::faint)});
    s.rows.push_back({words("Currency"), words(c_.code)});
    terms_.labour_per_hour =
        term(s, "Labour for an hour", t_.labour_per_hour, input(in_major(t_.labour_per_hour), Look::fine));
    terms_.failed =
        share_term(s, "Spoilt pieces", t_.failed, "1/(1 - spoilt) are made for each that is sold");
    terms_.overhead = share_term(s, "Overhead", t_.overhead, "on top of all costs but fees");
    terms_.fees =
        share_term(s, "Fees", t_.fees, t_.fees_on_gross ? "of the price with tax" : "of the net price");
    terms_.fees_on_gross = t_.fees_on_gross;
    terms_.fee_per_sale =
        term(s, "Fee for a sale", t_.fee_per_sale, input(in_major(t_.fee_per_sale), Look::fine));
    terms_.vat =
        share_term(s, "Tax", t_.vat, t_.vat_on_total ? "of the order's net sum" : "rounded line by line");
    if (t_.margin)
      margin_ = share_term(s, "Margin", *t_.margin, "profit over net price");
    else
      markup_ = share_term(s, "Markup", t_.markup.value_or(Ratio()), "profit over cost");
    if (t_.discount) terms_.discount = share_term(s, "Discount", *t_.discount, "off the price with tax");
    if (t_.wholesale_markup)
      terms_.wholesale_markup =
          share_term(s, "Wholesale markup", *t_.wholesale_markup, "on the cost without fees and shipping");
    if (t_.wholesale_discount)
      terms_.wholesale_discount =
          share_term(s, "Wholesale discount", *t_.wholesale_discount, "off the net price");
    constexpr std::string_view rules[] = {"to the nearest, halves to even", "to the nearest, halves up", "up",
                                          "down"};
    const Money step = smallest_step(t_);
    terms_.step = term(s, "Prices in steps of", step, input(major(step), Look::money),
                       fmt::format("rounded {}", rules[static_cast<std::size_t>(t_.rounding)]));
    return s;
  }

  // ---- what a kilogram of mix costs

  Sheet materials_sheet() {
    Sheet s{"Materials", {}, {28, 28, 12, 16}, 1, 0};
    s.rows.push_back({words("mix", Look::head), words("part", Look::head), words("parts by mass", Look::head),
                      words("for a kilogram, " + c_.code, Look::head)});
    std::map<std::string, std::string> first;  // a part that several mixes share has its price once
    for (const PriceMaterial& m : r_.materials) {
      const std::size_t from = s.rows.size() + 1;
      for (const PriceMaterial::Part& p : m.parts) {
        const auto [it, is_new] = first.emplace(p.name, fmt::format("D{}", s.rows.size() + 1));
        const double price = in_major(p.per_kilogram);
        s.rows.push_back({words(m.name), words(p.name),
                          input(static_cast<double>(p.millionths) / 1e6, Look::decimal),
                          is_new ? input(price, Look::fine) : formula(it->second, price, Look::fine)});
      }
      const Amount each = per_kilogram(m);
      mixes_.push_back({each, fmt::format("Materials!$D${}", s.rows.size() + 1)});
      s.rows.push_back(
          {words(m.name), words("the mix", Look::faint), words(""),
           formula(fmt::format("SUMPRODUCT(C{0}:C{1},D{0}:D{1})/SUM(C{0}:C{1})", from, s.rows.size()),
                   in_major(each), Look::fine)});
    }
    return s;
  }

  // ---- costs

  LineInputs<CostRow> inputs(CostRow& row, const PriceBasis& b) const {
    const PriceItem& i = b.item;
    const auto amount = [&](std::string head, Amount a) {
      return row.put(std::move(head), a, input(in_major(a), Look::fine));
    };
    const auto grams = [&](std::string head, Mass m) {
      return row.put(std::move(head), m, input(m.in_grams(), Look::decimal));
    };
    const auto count = [&](std::string head, std::int64_t n) {
      return row.put(std::move(head), n, input(static_cast<double>(n), Look::whole));
    };
    LineInputs<CostRow> in;
    row.put("piece", 0, words(i.name));
    in.pieces = count("pieces", std::max<std::int64_t>(1, i.pieces));
    in.surplus = count("made beyond them", i.surplus);
    row.put("mix", 0, words(r_.materials[b.material].name));
    in.per_kilogram = row.keep("for a kilogram", mixes_[b.material]);
    in.material = grams("mix, g", i.material);
    in.residue = grams("left behind, g", i.residue);
    in.pigment = amount("pigment", i.pigment);
    in.mold = amount("mold", i.mold);
    in.pulls = count("pulls", i.pulls);
    in.labour = row.put("minutes", i.labour, input(in_minutes(i.labour), Look::decimal));
    in.packaging = amount("packaging", i.packaging);
    in.shipping = amount("shipping", i.shipping);
    const bool own = i.markup || i.margin, by_margin = own ? i.margin.has_value() : margin_.has_value();
    const auto rate = [&](std::string head, const std::optional<Ratio>& mine,
                          const std::optional<Live<Ratio>>& terms) {
      return mine ? row.put(std::move(head), *mine, input(mine->value(), Look::percent))
                  : row.keep(std::move(head), *terms);
    };
    if (by_margin) {
      row.put("markup", 0, {});
      in.margin = rate("margin", i.margin, margin_);
    } else {
      in.markup = rate("markup", i.markup, markup_);
      row.put("margin", 0, {});
    }
    if (range_) {
      in.low = grams("mix at the low, g", i.low);
      in.high = grams("mix at the high, g", i.high);
    }
    return in;
  }

  Sheet costs_sheet() {
    Sheet s{"Costs", {}, {24}, 1, 1};
    s.rows.emplace_back();
    for (const PriceBasis& b : r_.basis) {
      CostRow row(s.rows.size() + 1, t_);
      lines_.push_back(work_out<CostRow>(row, inputs(row, b), terms_));
      heads_ = row.heads;
      s.rows.push_back(std::move(row.cells));
    }
    for (const std::string& h : heads_) s.rows[0].push_back(words(h, Look::head));
    for (std::size_t i = 1; i < heads_.size(); ++i) s.widths.push_back(13);
    return s;
  }

  // ---- the list itself

  Sheet prices_sheet() const {
    Sheet s{"Prices", {}, {28}, 3, 1};
    s.rows.push_back({words(r_.title.empty() ? "Price list" : r_.title, Look::title)});
    s.rows.push_back(
        {words("For one piece, in " + c_.code + ". The sheet Costs shows how each price comes about.",
               Look::faint)});
    std::vector<Cell> head;
    for (const std::string_view h : {"piece", "pieces", "cost", "net", "tax", "price"})
      head.push_back(words(h, Look::head));
    if (range_)
      for (const std::string_view h : {"price from", "to"}) head.push_back(words(h, Look::head));
    if (t_.wholesale_markup || t_.wholesale_discount) head.push_back(words("wholesale, net", Look::head));
    for (const std::string_view h : {"margin", "markup", "pieces that pay for the mold"})
      head.push_back(words(h, Look::head));
    for (std::size_t i = 1; i < head.size(); ++i) s.widths.push_back(13);
    s.rows.push_back(std::move(head));
    for (std::size_t i = 0; i < lines_.size(); ++i)
      s.rows.push_back(price_row(r_.basis[i].item, lines_[i], i + 2));
    add_totals(s);
    return s;
  }

  std::vector<Cell> price_row(const PriceItem& item, const WorkedOut<CostRow>& l, std::size_t row) const {
    const auto there = [](const std::string& cell) { return "Costs!" + cell; };
    const auto money = [&](const Live<Money>& m) {
      return formula(there(m.formula), major(m.value), Look::money);
    };
    const auto share = [&](const Live<Ratio>& r) {
      return formula(there(r.formula), r.value.value(), Look::percent);
    };
    std::vector<Cell> out{
        formula(fmt::format("Costs!A{}", row), item.name, Look::plain),
        formula(fmt::format("Costs!B{}", row), static_cast<double>(item.pieces), Look::whole),
        money(l.total),
        money(l.net),
        money(l.tax),
        money(l.price)};
    if (range_) {
      const auto end = [&](std::string_view which, const Live<Money>& m, Money value) {
        out.push_back(formula(fmt::format("{}({},{})", which, there(m.formula), there(l.price.formula)),
                              major(value), Look::money));
      };
      end("MIN", *l.price_low, std::min(l.price_low->value, l.price.value));
      end("MAX", *l.price_high, std::max(l.price_high->value, l.price.value));
    }
    if (l.wholesale) out.push_back(money(*l.wholesale));
    out.push_back(share(l.margin));
    out.push_back(share(l.markup));
    const auto& n = l.break_even;
    out.push_back(formula(there(n.formula),
                          n.value ? Content(static_cast<double>(*n.value)) : Content(std::string()),
                          Look::whole));
    return out;
  }

  void add_totals(Sheet& s) const {
    const std::size_t last = lines_.size() + 3;
    const auto sum = [&](std::string_view of) {
      return fmt::format("ROUND(SUMPRODUCT(B4:B{0},{1}4:{1}{0}),{2})", last, of, c_.exponent);
    };
    const PriceList& l = r_.list;
    s.rows.emplace_back();
    const auto line = [&](std::string_view label, std::string how, Money value) {
      s.rows.push_back({words(label), {}, {}, formula(std::move(how), major(value), Look::total)});
    };
    const std::size_t net = s.rows.size() + 1;
    line("The order, net", sum("D"), l.net);
    if (t_.vat_on_total) {
      const std::int64_t minor = std::llround(std::pow(10, c_.exponent));
      const double exact = in_major(Amount::of(l.net, c_) * t_.vat) * static_cast<double>(minor);
      s.rows.push_back({words("its tax, minor units", Look::faint),
                        {},
                        {},
                        formula(fmt::format("ROUND(D{}*{}*{},7)", net, terms_.vat.formula, minor),
                                std::round(exact * 1e7) / 1e7, Look::fine)});
      line("Tax on the sum", fmt::format("{}/{}", even(fmt::format("D{}", net + 1)), minor), l.tax);
    } else {
      line("Tax, line by line", sum("E"), l.tax);
    }
    line("With tax", fmt::format("ROUND(D{}+D{},{})", net, s.rows.size(), c_.exponent), l.gross);
  }

  const PriceReport& r_;
  const PriceTerms& t_;
  const Currency& c_;
  bool range_ = false;
  TermInputs<CostRow> terms_;
  std::optional<Live<Ratio>> markup_, margin_;  ///< the terms' own; one of them
  std::vector<Live<Amount>> mixes_;
  std::vector<std::string> heads_;
  std::vector<WorkedOut<CostRow>> lines_;
};

}  // namespace

Expected<std::string> price_xlsx(const PriceReport& report) {
  return PriceBook(report).bytes();
}

}  // namespace pourwright

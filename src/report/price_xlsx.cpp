// SPDX-License-Identifier: GPL-3.0-or-later
// The price list as a spreadsheet that goes on counting: what is blue may be changed, everything else
// follows.
#include <pourwright/report_run.hpp>

#include "report/xlsx.hpp"

#include <cassert>
#include <cmath>
#include <map>

#include <fmt/format.h>

namespace pourwright {
namespace {

using namespace xlsx;

/// In patterns of formulas # is the row's number, and @name@ the cell of a term.
constexpr char row_sign = '#', term_sign = '@';

/// Halves to even, which office programs have no function for. `x` is a cell; it is rounded to 7 decimals
/// first, so that binary fractions do not hide a half.
std::string even(std::string_view x) {
  return fmt::format("IF(MOD({0},1)=0.5,2*ROUND({0}/2,0),ROUND({0},0))", x);
}
double even(double x) {
  return std::nearbyint(x);
}
double cut(double x) {
  return std::round(x * 1e7) / 1e7;
}

class PriceBook {
 public:
  explicit PriceBook(const PriceReport& report) : r_(report), t_(report.terms), c_(report.list.currency) {
    minor_ = std::pow(10.0, c_.exponent);
    for (const PriceBasis& b : r_.basis) range_ |= b.low < b.item.material || b.high > b.item.material;
  }

  std::string bytes() {
    Sheet terms = terms_sheet(), materials = materials_sheet(), costs = costs_sheet();
    return workbook({prices_sheet(), std::move(costs), std::move(terms), std::move(materials)}, c_.exponent);
  }

 private:
  // ---- terms

  void term(Sheet& s, const std::string& key, std::string_view label, Cell value,
            std::string_view note = {}) {
    term_cell_[key] = fmt::format("Terms!$B${}", s.rows.size() + 1);
    s.rows.push_back({words(label), std::move(value), words(note, Look::faint)});
  }

  static Cell share(Ratio r) { return number(fixed(r.value(), 6), Look::percent, true); }
  Cell amount(Amount a) const { return number(amount_text(a, c_), Look::fine, true); }
  Cell grams(Mass m) const { return number(grams_text(m, Mass::micrograms(1)), Look::decimal, true); }

  Sheet terms_sheet() {
    Sheet s{"Terms", {}, {30, 14, 60}, 0, 0};
    s.rows.push_back({words("Terms", Look::title)});
    s.rows.push_back({words("What is blue may be changed; everything else follows.", Look::faint)});
    s.rows.push_back({words("Currency"), words(c_.code)});
    term(s, "labour", "Labour for an hour", amount(t_.labour_per_hour));
    term(s, "failed", "Spoilt pieces", share(t_.failed), "1/(1 - spoilt) are made for each that is sold");
    term(s, "overhead", "Overhead", share(t_.overhead), "on top of all costs but fees");
    term(s, "fees", "Fees", share(t_.fees), "of the net price");
    term(s, "vat", "Tax", share(t_.vat), t_.vat_on_total ? "of the order's net sum" : "rounded line by line");
    if (t_.margin)
      term(s, "margin", "Margin", share(*t_.margin), "profit over net price");
    else
      term(s, "markup", "Markup", share(t_.markup.value_or(Ratio())), "profit over cost");
    if (t_.wholesale_markup) term(s, "wholesale", "Wholesale markup", share(*t_.wholesale_markup));
    const Money step = t_.round_to > Money() ? t_.round_to : Money::minor(1);
    constexpr std::string_view rules[] = {"to the nearest, halves to even", "to the nearest, halves up", "up",
                                          "down"};
    term(s, "step", "Prices in steps of", number(money_text(step, c_), Look::money, true),
         fmt::format("rounded {}", rules[static_cast<std::size_t>(t_.rounding)]));
    return s;
  }

  // ---- what a kilogram of mix costs

  Sheet materials_sheet() {
    Sheet s{"Materials", {}, {28, 28, 12, 16}, 1, 0};
    s.rows.push_back({words("mix", Look::head), words("part", Look::head), words("parts by mass", Look::head),
                      words("for a kilogram, " + c_.code, Look::head)});
    std::map<std::string, std::string> first;
    for (const PriceMaterial& m : r_.materials) {
      const std::size_t from = s.rows.size() + 1;
      double sum = 0, whole = 0;
      for (const PriceMaterial::Part& p : m.parts) {
        const std::string here = fmt::format("D{}", s.rows.size() + 1);
        const auto [it, is_new] = first.emplace(p.name, here);
        const double price = std::stod(amount_text(p.per_kilogram, c_)),
                     part = static_cast<double>(p.millionths) / 1e6;
        sum += price * part;
        whole += part;
        s.rows.push_back({words(m.name), words(p.name), number(fixed(part, 6), Look::decimal, true),
                          is_new ? amount(p.per_kilogram) : formula(it->second, price, Look::fine)});
      }
      mix_cell_.push_back(fmt::format("Materials!$D${}", s.rows.size() + 1));
      mix_price_.push_back(sum / whole);
      s.rows.push_back(
          {words(m.name), words("the mix", Look::faint), words(""),
           formula(fmt::format("SUMPRODUCT(C{0}:C{1},D{0}:D{1})/SUM(C{0}:C{1})", from, s.rows.size()),
                   sum / whole, Look::fine)});
    }
    return s;
  }

  // ---- costs

  /// A row under way: cells by column, and what they hold.
  struct Row {
    std::vector<Cell> cells;
    std::size_t number = 0;
  };

  std::string at(const Row& row, std::string_view pattern) const {
    std::string out;
    for (std::size_t i = 0; i < pattern.size(); ++i)
      if (pattern[i] == row_sign) {
        out += fmt::format("{}", row.number);
      } else if (pattern[i] == term_sign) {
        const auto end = pattern.find(term_sign, i + 1);
        out += term_cell_.at(std::string(pattern.substr(i + 1, end - i - 1)));
        i = end;
      } else {
        out += pattern[i];
      }
    return out;
  }
  /// Puts a formula into the named column, which must be the next.
  double put(Row& row, [[maybe_unused]] std::string_view name, std::string_view pattern, double value,
             Look look = Look::fine) const {
    assert(column(row.cells.size()) == name);
    row.cells.push_back(formula(at(row, pattern), value, look));
    return value;
  }

  std::string stepped(std::string_view x) const {
    const std::string scaled = fmt::format("ROUND({}/(@step@*{}),7)", x, minor_);
    const std::string steps = t_.rounding == Rounding::half_even ? even(scaled)
                              : t_.rounding == Rounding::half_up ? fmt::format("ROUND({},0)", scaled)
                              : t_.rounding == Rounding::up      ? fmt::format("ROUNDUP({},0)", scaled)
                                                                 : fmt::format("ROUNDDOWN({},0)", scaled);
    return fmt::format("{}*@step@", steps);
  }

  /// Minor units before and after rounding, and the price, in three columns from `name` on; for a net price
  /// that is written `net`.
  void put_price(Row& row, std::size_t first, std::string_view net, double value, Money price) const {
    const std::string a = column(first) + "#", b = column(first + 1) + "#";
    const double exact = cut(value * (1 + t_.vat.value()) * minor_);
    put(row, column(first), fmt::format("ROUND({}*(1+@vat@)*{},7)", net, minor_), exact);
    put(row, column(first + 1), even(a), even(exact), Look::whole);
    put(row, column(first + 2), stepped(b), major(price), Look::money);
  }

  double major(Money m) const { return static_cast<double>(m.in_minor()) / minor_; }

  static constexpr std::string_view heads[] = {"piece",
                                               "pieces",
                                               "mix",
                                               "for a kilogram",
                                               "mix, g",
                                               "left behind, g",
                                               "pigment",
                                               "mold",
                                               "pulls",
                                               "minutes",
                                               "packaging",
                                               "markup",
                                               "margin",
                                               "material",
                                               "residue",
                                               "mold wear",
                                               "labour",
                                               "waste",
                                               "other",
                                               "cost before fees",
                                               "net, exact",
                                               "with tax, minor units",
                                               "rounded",
                                               "price",
                                               "tax, minor units",
                                               "tax",
                                               "net",
                                               "cost, minor units",
                                               "cost",
                                               "margin got",
                                               "markup got",
                                               "earned beyond the mold",
                                               "pieces that pay for the mold"};

  void put_inputs(Row& row, const PriceBasis& b) const {
    const PriceItem& i = b.item;
    row.cells = {words(i.name),
                 number(fmt::format("{}", i.pieces), Look::whole, true),
                 words(r_.materials[b.material].name),
                 formula(mix_cell_[b.material], mix_price_[b.material], Look::fine),
                 grams(i.material),
                 grams(b.residue),
                 amount(i.pigment),
                 amount(i.mold),
                 number(fmt::format("{}", i.pulls), Look::whole, true),
                 number(fixed(in_minutes(i.labour), 6), Look::decimal, true),
                 amount(i.packaging)};
    const bool own = i.markup || i.margin, by_margin = own ? i.margin.has_value() : t_.margin.has_value();
    Cell rate = own ? share(by_margin ? *i.margin : *i.markup)
                    : formula(term_cell_.at(by_margin ? "margin" : "markup"),
                              (by_margin ? *t_.margin : t_.markup.value_or(Ratio())).value(), Look::percent);
    row.cells.push_back(by_margin ? Cell{} : rate);
    row.cells.push_back(by_margin ? rate : Cell{});
  }

  Row cost_row(const PriceBasis& b, const PriceLine& line, std::size_t number) const {
    Row row{{}, number};
    put_inputs(row, b);
    put_costs(row, b, line);
    return row;
  }

  void put_costs(Row& row, const PriceBasis& b, const PriceLine& line) const {
    const PriceItem& i = b.item;
    const double kilogram = mix_price_[b.material], failed = t_.failed.value(), over = t_.overhead.value(),
                 fees = t_.fees.value();
    const auto money = [&](Amount a) { return static_cast<double>(a.in_billionths()) / 1e9; };
    const bool by_margin = !row.cells.back().text.empty();
    const double rate = std::stod(row.cells[by_margin ? 12 : 11].text);
    const double material = put(row, "N", "E#/1000*D#", i.material.in_grams() / 1000 * kilogram);
    const double residue = put(row, "O", "F#/1000*D#", b.residue.in_grams() / 1000 * kilogram);
    const double wear =
        put(row, "P", "IF(I#>0,H#/I#,0)", i.pulls > 0 ? money(i.mold) / static_cast<double>(i.pulls) : 0);
    const double labour =
        put(row, "Q", "J#/60*@labour@", in_minutes(i.labour) / 60 * money(t_.labour_per_hour));
    const double pigment = money(i.pigment), packaging = money(i.packaging);
    const double waste =
        put(row, "R", "O#+(N#+G#+O#+P#+Q#)*@failed@/(1-@failed@)",
            residue + (material + pigment + residue + wear + labour) * failed / (1 - failed));
    const double other = put(row, "S", "K#+(N#+G#+R#+P#+Q#+K#)*@overhead@",
                             packaging + (material + pigment + waste + wear + labour + packaging) * over);
    const double before =
        put(row, "T", "N#+G#+R#+P#+Q#+S#", material + pigment + waste + wear + labour + other);
    const auto net_of = [&](double cost) {
      return by_margin ? cost / (1 - rate - fees)
                       : cost * (1 + rate) / (1 - std::round((1 + rate) * fees * 1e6) / 1e6);
    };
    const std::string net_pattern = by_margin ? "{}/(1-M#-@fees@)" : "{}*(1+L#)/(1-ROUND((1+L#)*@fees@,6))";
    const auto net_text = [&](std::string_view cost) { return fmt::format(fmt::runtime(net_pattern), cost); };
    const double net = put(row, "U", net_text("T#"), net_of(before));
    put_price(row, 21, "U#", net, line.price);
    const double vat = t_.vat.value();
    put(row, "Y", fmt::format("ROUND(X#*{}*@vat@/(1+@vat@),7)", minor_),
        cut(major(line.price) * minor_ * vat / (1 + vat)));
    put(row, "Z", fmt::format("{}/{}", even("Y#"), minor_), major(line.tax), Look::money);
    put(row, "AA", fmt::format("ROUND(X#-Z#,{})", c_.exponent), major(line.net), Look::money);
    put(row, "AB", fmt::format("ROUND((T#+AA#*@fees@)*{},7)", minor_),
        cut((before + major(line.net) * fees) * minor_));
    put(row, "AC", fmt::format("{}/{}", even("AB#"), minor_), major(line.total), Look::money);
    put(row, "AD", "IF(AA#>0,(AA#-AC#)/AA#,0)", ratio(line.net - line.total, line.net), Look::percent);
    put(row, "AE", "IF(AC#>0,(AA#-AC#)/AC#,0)", ratio(line.net - line.total, line.total), Look::percent);
    put(row, "AF", "AA#-(T#+AA#*@fees@-P#)", major(line.net) - (before + major(line.net) * fees - wear));
    const std::string never = "IF(AND(H#>0,AF#>0),ROUNDUP(ROUND(H#/AF#,7),0),\"\")";
    if (line.break_even)
      put(row, "AG", never, static_cast<double>(*line.break_even), Look::whole);
    else
      row.cells.push_back(formula(at(row, never), std::string_view(), Look::whole));
    if (t_.wholesale_markup) {
      const double sold = cut(before * (1 + t_.wholesale_markup->value()) * minor_);
      put(row, "AH", fmt::format("ROUND(T#*(1+@wholesale@)*{},7)", minor_), sold);
      put(row, "AI", fmt::format("{}/{}", even("AH#"), minor_), major(line.wholesale.value_or(Money())),
          Look::money);
    }
    if (range_) put_range(row, b, line, net_text, before, net_of);
  }

  template <class Text, class Net>
  void put_range(Row& row, const PriceBasis& b, const PriceLine& line, Text net_text, double before,
                 Net net_of) const {
    const double each = mix_price_[b.material] / 1000 / (1 - t_.failed.value()) * (1 + t_.overhead.value());
    for (const bool high : {false, true}) {
      const std::size_t first = row.cells.size();
      const Mass mass = high ? b.high : b.low;
      row.cells.push_back(grams(mass));
      const std::string cost =
          fmt::format("(T#+({}#-E#)*D#/1000/(1-@failed@)*(1+@overhead@))", column(first));
      const double net = net_of(before + (mass.in_grams() - b.item.material.in_grams()) * each);
      put_price(row, first + 1, net_text(cost), net, high ? line.price_high : line.price_low);
    }
  }

  static double ratio(Money part, Money of) {
    return of > Money() ? static_cast<double>(part.in_minor()) / static_cast<double>(of.in_minor()) : 0;
  }

  Sheet costs_sheet() {
    Sheet s{"Costs", {}, {24}, 1, 1};
    std::vector<Cell> head;
    for (const std::string_view h : heads) head.push_back(words(h, Look::head));
    if (t_.wholesale_markup)
      for (const std::string_view h : {"wholesale, minor units", "wholesale"})
        head.push_back(words(h, Look::head));
    range_from_ = head.size();
    if (range_)
      for (const std::string_view end : {"low", "high"}) {
        head.push_back(words(fmt::format("mix at the {}, g", end), Look::head));
        for (const std::string_view h : {"with tax, minor units", "rounded", "price"})
          head.push_back(words(fmt::format("{} at the {}", h, end), Look::head));
      }
    for (std::size_t i = 1; i < head.size(); ++i) s.widths.push_back(13);
    s.rows.push_back(std::move(head));
    for (std::size_t i = 0; i < r_.basis.size(); ++i)
      s.rows.push_back(cost_row(r_.basis[i], r_.list.lines[i], i + 2).cells);
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
    if (t_.wholesale_markup) head.push_back(words("wholesale, net", Look::head));
    for (const std::string_view h : {"margin", "markup", "pieces that pay for the mold"})
      head.push_back(words(h, Look::head));
    for (std::size_t i = 1; i < head.size(); ++i) s.widths.push_back(13);
    s.rows.push_back(std::move(head));
    for (std::size_t i = 0; i < r_.list.lines.size(); ++i)
      s.rows.push_back(price_row(r_.list.lines[i], i + 2));
    add_totals(s);
    return s;
  }

  std::vector<Cell> price_row(const PriceLine& l, std::size_t row) const {
    const auto costs = [&](std::string_view name) { return fmt::format("Costs!{}{}", name, row); };
    std::vector<Cell> out{formula(costs("A"), l.name, Look::plain),
                          formula(costs("B"), static_cast<double>(l.pieces), Look::whole),
                          formula(costs("AC"), major(l.total), Look::money),
                          formula(costs("AA"), major(l.net), Look::money),
                          formula(costs("Z"), major(l.tax), Look::money),
                          formula(costs("X"), major(l.price), Look::money)};
    if (range_) {
      const std::string low = costs(column(range_from_ + 3)), high = costs(column(range_from_ + 7));
      out.push_back(formula(fmt::format("MIN({},{})", low, costs("X")), major(l.price_low), Look::money));
      out.push_back(formula(fmt::format("MAX({},{})", high, costs("X")), major(l.price_high), Look::money));
    }
    if (t_.wholesale_markup)
      out.push_back(formula(costs("AI"), major(l.wholesale.value_or(Money())), Look::money));
    out.push_back(formula(costs("AD"), ratio(l.net - l.total, l.net), Look::percent));
    out.push_back(formula(costs("AE"), ratio(l.net - l.total, l.total), Look::percent));
    out.push_back(l.break_even ? formula(costs("AG"), static_cast<double>(*l.break_even), Look::whole)
                               : formula(costs("AG"), std::string_view(), Look::whole));
    return out;
  }

  void add_totals(Sheet& s) const {
    const std::size_t last = r_.list.lines.size() + 3;
    const auto sum = [&](std::string_view of) {
      return fmt::format("ROUND(SUMPRODUCT(B4:B{0},{1}4:{1}{0}),{2})", last, of, c_.exponent);
    };
    const PriceList& l = r_.list;
    s.rows.emplace_back();
    const auto line = [&](std::string_view label, const std::string& how, Money value) {
      s.rows.push_back({words(label), {}, {}, formula(how, major(value), Look::total)});
    };
    const std::size_t net = s.rows.size() + 1;
    line("The order, net", sum("D"), l.net);
    if (t_.vat_on_total) {
      const double exact = cut(static_cast<double>(l.net.in_minor()) * t_.vat.value());
      s.rows.push_back(
          {words("its tax, minor units", Look::faint),
           {},
           {},
           formula(fmt::format("ROUND(D{}*{}*{},7)", net, term_cell_.at("vat"), minor_), exact, Look::fine)});
      line("Tax on the sum", fmt::format("{}/{}", even(fmt::format("D{}", net + 1)), minor_), l.tax);
    } else {
      line("Tax, line by line", sum("E"), l.tax);
    }
    line("With tax", fmt::format("ROUND(D{}+D{},{})", net, s.rows.size(), c_.exponent), l.gross);
  }

  const PriceReport& r_;
  const PriceTerms& t_;
  const Currency& c_;
  double minor_ = 100;
  bool range_ = false;
  std::size_t range_from_ = 0;
  std::map<std::string, std::string> term_cell_;
  std::vector<std::string> mix_cell_;
  std::vector<double> mix_price_;
};

}  // namespace

std::string price_xlsx(const PriceReport& report) {
  return PriceBook(report).bytes();
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// A production run and a price list on a page: batches in pouring order, the day, what to buy, what it costs.
#include <pourwright/report_run.hpp>

#include "report/layout.hpp"
#include "report/phrases.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace pourwright {
namespace {

class Writer {
 public:
  explicit Writer(const TextStyle& style) : page_(style), style_(style) {}

  void title(std::string_view what, const std::string& name, std::string_view beside) {
    const std::string left_side =
        name.empty() ? std::string(what) : fmt::format("{}: {}", what, harmless(name));
    phrases::title(page_, left_side, beside);
  }
  void notes(const Notes& list) {
    for (const bool warning : {true, false}) {
      std::string_view label = warning ? "Watch" : "Note";
      for (const Note& n : list) {
        if (n.warning != warning || n.topic == Topic::limit) continue;
        page_.entry(label, shown(n.text), warning);
        label = {};
      }
    }
  }
  void errors(const std::vector<CardReport::Failure>& list) {
    for (const auto& e : list) {
      page_.entry("Left out", fmt::format("{}: {}", e.path, e.problem.text), true);
      if (!e.problem.hint.empty()) page_.entry("", e.problem.hint);
    }
  }
  std::string shown(std::string text) const { return localized(std::move(text), style_.decimal); }
  std::string grams(Mass m, Mass step) const { return shown(grams_text(m, step)) + " g"; }

  Page page_;
  TextStyle style_;
};

class RunPage : Writer {
 public:
  RunPage(const RunReport& report, const TextStyle& style) : Writer(style), r_(report) {}

  std::string text() {
    const std::size_t n = r_.batches.size();
    title(
        "Run", r_.title,
        fmt::format("{} {}, scale {}", n, n == 1 ? "batch" : "batches", grams(r_.scale_step, r_.scale_step)));
    batches();
    summary();
    shopping();
    std::string_view label = "To gain";
    for (const Note& note : r_.notes)
      if (note.topic == Topic::limit) {
        page_.entry(label, shown(note.text));
        label = {};
      }
    notes(r_.notes);
    errors(r_.errors);
    label = "Take care";
    for (const std::string& c : r_.cautions) {
      page_.entry(label, c);
      label = {};
    }
    return page_.take();
  }

 private:
  bool hours() const { return !r_.plan.tasks.empty(); }

  /// "08:30", with the day before it when there are several.
  std::string hour_text(Duration d, bool with_day) const {
    auto second = static_cast<std::int64_t>(d.base() + 0.5);
    const auto length = static_cast<std::int64_t>(r_.order.limits.day.base() + 0.5);
    std::int64_t day = 0;
    if (length > 0) {
      // The last minute of a day belongs to that evening.
      day = second % length == 0 && second > 0 && !with_day ? second / length - 1 : second / length;
      second -= day * length;
    }
    const std::int64_t minute = r_.start_minute + (second + 30) / 60;
    const std::string time = fmt::format("{:02}:{:02}", minute / 60 % 24, minute % 60);
    return with_day && r_.plan.days > 1 ? fmt::format("{}/{}", day + 1, time) : time;
  }

  void batches() {
    if (r_.batches.empty()) return;
    int colour = 6;
    for (const RunBatchRow& b : r_.batches) colour = std::max(colour, cells(harmless(b.colour)));
    colour = std::min(colour, 14);
    std::string head = right("#", 3) + "  " + left("colour", colour) + right("liquid", 11) +
                       right("powder", 11) + right("mix", 11);
    if (hours()) head += right("weigh", r_.plan.days > 1 ? 9 : 7) + right("poured", 8) + right("out", 9);
    page_.line(page_.faint(head));
    for (const RunBatchRow& b : r_.batches) {
      std::string row = right(fmt::format("{}", b.id), 3) + "  " +
                        left(shortened(b.colour, colour, style_.unicode), colour);
      for (const Part& p : b.parts) row += right(grams(p.mass, r_.scale_step), 11);
      row += right(grams(b.mix, r_.scale_step), 11);
      if (b.start)
        row += right(hour_text(*b.start, true), r_.plan.days > 1 ? 9 : 7) +
               right(hour_text(b.poured.value_or(*b.start), false), 8) +
               right(hour_text(b.out.value_or(*b.start), true), 9);
      page_.line(page_.bold(row));
      std::string pieces;
      for (const RunPieceRow& p : b.pieces)
        pieces += fmt::format("{}{} × {} {}", pieces.empty() ? "" : ", ", p.pours, harmless(p.name),
                              shown(fmt::format("({} g)", grams_text(p.each, r_.scale_step))));
      for (const std::string& line : wrapped(pieces, style_.width - 5)) page_.line("     " + line);
      cups(b);
    }
    page_.line();
  }

  void cups(const RunBatchRow& b) {
    if (b.cups.empty()) return;
    std::string text;
    for (const RunCupRow& c : b.cups) {
      text += fmt::format("{}{} {}", text.empty() ? "" : "; ", harmless(c.name), grams(c.mix, r_.scale_step));
      for (const Part& p : c.pigments) text += fmt::format(" + {} pigment", grams(p.mass, Mass::grams(0.01)));
    }
    for (const std::string& line : wrapped(text, style_.width - 5)) page_.line(page_.faint("     " + line));
  }

  void summary() {
    const RunPlan& p = r_.plan;
    page_.entry("Batches", p.batches_proven ? fmt::format("{}: fewer are impossible", r_.batches.size())
                                            : fmt::format("{}; at least {} are needed, fewer may be possible",
                                                          r_.batches.size(), p.lower_bound));
    if (p.residue > Mass())
      page_.entry("Waste",
                  shown(fmt::format("{} g stay in buckets and cups{}", grams_text(p.residue, r_.scale_step),
                                    p.waste_proven ? ", the least there is" : "")));
    if (!hours()) return;
    const std::string day = p.days == 1 ? "done at " : fmt::format("{} days, done on day ", p.days);
    page_.entry("Day",
                fmt::format("{}{}{}", day, hour_text(p.finish - Duration(p.days > 1 ? 1 : 0), p.days > 1),
                            p.day_proven ? ", the soonest there is" : "; the best order found"));
  }

  void shopping() {
    if (r_.shopping.empty()) return;
    page_.line();
    page_.line(page_.faint(left("to have ready", 22) + right("need", 13) + right("in stock", 13) +
                           right("buy", 13) + "   packs"));
    Amount sum;
    bool priced = false;
    for (const ShoppingRow& s : r_.shopping) {
      const Mass step =
          s.need.in_micrograms() % r_.scale_step.in_micrograms() == 0 ? r_.scale_step : Mass::grams(0.01);
      std::string packs;
      for (const auto& pack : s.packs)
        packs += fmt::format("{}{} × {}", packs.empty() ? "" : ", ", pack.count, size_text(pack.size));
      if (s.cost && *s.cost > Amount()) {
        packs += fmt::format(" = {}", money_text(rounded(*s.cost, r_.currency), r_.currency));
        sum += *s.cost;
        priced = true;
      }
      page_.line(left(shortened(s.name, 22, style_.unicode), 22) + right(grams(s.need, step), 13) +
                 right(s.stock > Mass() ? grams(s.stock, Mass::grams(1)) : "–", 13) +
                 right(s.buy > Mass() ? grams(s.buy, step) : "–", 13) + "   " + shown(packs));
    }
    if (priced)
      page_.line(
          left("", 22) + right("", 39) + "   " +
          shown(fmt::format("{} {}", money_text(rounded(sum, r_.currency), r_.currency), r_.currency.code)));
    if (r_.from_stock) {
      const FromStock& from = *r_.from_stock;
      const auto all = static_cast<int>(r_.batches.size());
      std::string alone;
      for (const FromStock::Row& p : from.pieces)
        alone += fmt::format("{}{} of “{}”", alone.empty() ? "" : ", ", p.pieces, p.name);
      page_.entry("Shelf",
                  shown(from.batches == all
                            ? fmt::format("enough for the whole run; or for {}, each alone", alone)
                            : fmt::format("enough for the first {} of {} batches; or for {}, each alone",
                                          from.batches, all, alone)));
    }
    page_.line();
  }

  static std::string size_text(Mass m) {
    return m >= Mass::grams(1000) ? fmt::format("{:.6g} kg", m.in_grams() / 1000)
                                  : fmt::format("{:.6g} g", m.in_grams());
  }

  const RunReport& r_;
};

class PricePage : Writer {
 public:
  PricePage(const PriceReport& report, const TextStyle& style)
      : Writer(style), r_(report), c_(report.list.currency) {}

  std::string text() {
    title("Prices", r_.title, fmt::format("{}, each piece", c_.code));
    const int name = std::clamp(style_.width - 66, 14, 34);
    page_.line(page_.faint(left("piece", name) + right("material", 9) + right("labour", 8) +
                           right("other", 8) + right("cost", 9) + right("net", 9) + right("tax", 8) +
                           right("price", 9) + right("margin", 9)));
    for (const PriceLine& l : r_.list.lines)
      page_.line(left(shortened(l.name, name, style_.unicode), name) +
                 money(l.material + l.pigment + l.waste, 9) + money(l.labour, 8) +
                 money(l.mold_wear + l.other, 8) + money(l.total, 9) + money(l.net, 9) + money(l.tax, 8) +
                 page_.bold(money(l.price, 9)) + right(shown(fixed(l.margin.in_percent(), 1)) + " %", 9));
    page_.line();
    further();
    order();
    notes(r_.notes);
    errors(r_.errors);
    return page_.take();
  }

 private:
  std::string money(Money m, int width) const { return right(shown(money_text(m, c_)), width); }
  std::string plain(Money m) const { return shown(money_text(m, c_)); }

  void further() {
    for (std::size_t i = 0; i < r_.list.lines.size(); ++i) {
      const PriceLine& l = r_.list.lines[i];
      std::string text = fmt::format("markup {} %", shown(fixed(l.markup.in_percent(), 1)));
      if (l.price_low != l.price_high)
        text += fmt::format("; {} to {} as far as its volume is uncertain", plain(l.price_low),
                            plain(l.price_high));
      if (l.list_price != l.price) text += fmt::format("; {} before the discount", plain(l.list_price));
      if (l.wholesale) text += fmt::format("; wholesale {} net", plain(*l.wholesale));
      if (l.break_even) text += fmt::format("; its mold is paid after {} pieces", *l.break_even);
      if (r_.unchanged) {
        const Money before = r_.unchanged->lines[i].price;
        text += before == l.price ? fmt::format("; unchanged") : fmt::format("; was {}", plain(before));
      }
      page_.entry(i == 0 ? "Each" : "", fmt::format("{}: {}", l.name, text));
    }
  }

  void order() {
    page_.entry("Order",
                shown(fmt::format("net {} + tax {} = {} {}; tax rounded {}", money_text(r_.list.net, c_),
                                  money_text(r_.list.tax, c_), money_text(r_.list.gross, c_), c_.code,
                                  r_.list.vat_on_total ? "once, on the total" : "line by line")));
    if (r_.to_buy && *r_.to_buy > Money())
      page_.entry("To buy", shown(fmt::format("{} {} of material, in whole packs", money_text(*r_.to_buy, c_),
                                              c_.code)));
    std::string_view label = "What if";
    for (const auto& change : r_.changes) page_.entry(std::exchange(label, {}), change.what);
    page_.entry(
        "Rounding",
        "costs are added up unrounded; each line is rounded once, and its parts so that they add up to it");
  }

  const PriceReport& r_;
  const Currency& c_;
};

}  // namespace

std::string run_text(const RunReport& report, const TextStyle& style) {
  return RunPage(report, style).text();
}
std::string price_text(const PriceReport& report, const TextStyle& style) {
  return PricePage(report, style).text();
}

}  // namespace pourwright

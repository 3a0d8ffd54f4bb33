// SPDX-License-Identifier: GPL-3.0-or-later
// A production run and a price list on a page: batches in pouring order, the day, what to buy, what it costs.
#include <pourwright/numbers.hpp>
#include <pourwright/report_run.hpp>

#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace pourwright {
namespace {

class Writer {
 public:
  explicit Writer(const TextStyle& style) : page_(style), style_(style) {}

  void title(std::string_view what, const std::string& name, std::string_view beside) {
    page_.title(name.empty() ? std::string(what) : fmt::format("{}: {}", what, name), beside);
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
    phrases::cautions(page_, r_.cautions);
    return page_.take();
  }

 private:
  bool hours() const { return !r_.plan.tasks.empty(); }
  /// The hours need a day beside them: of several working days, or of one without end that passes midnight.
  bool several_days() const {
    return r_.plan.days > 1 ||
           (r_.order.limits.day <= Duration() && r_.start_minute + in_minutes(r_.plan.finish) >= 24 * 60);
  }

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
    if (length <= 0) day = minute / (24 * 60);
    const std::string time = fmt::format("{:02}:{:02}", minute / 60 % 24, minute % 60);
    return with_day && several_days() ? fmt::format("{}/{}", day + 1, time) : time;
  }

  void batches() {
    if (r_.batches.empty()) return;
    phrases::Rows rows{{"#   colour", "liquid", "powder", "mix"}};
    if (hours()) rows[0].insert(rows[0].end(), {"weigh", "poured", "out"});
    for (const RunBatchRow& b : r_.batches) {
      std::vector<std::string> row{fmt::format("{:<3} {}", b.id, b.colour)};
      for (const Part& p : b.parts) row.push_back(grams(p.mass, r_.scale_step));
      row.push_back(grams(b.mix, r_.scale_step));
      if (b.start)
        row.insert(row.end(), {hour_text(*b.start, true), hour_text(b.poured.value_or(*b.start), false),
                               hour_text(b.out.value_or(*b.start), true)});
      row.resize(rows[0].size());
      rows.push_back(std::move(row));
    }
    phrases::table(page_, rows, {.bold = true, .after = [&](std::size_t i) {
                                   pieces(r_.batches[i - 1]);
                                   cups(r_.batches[i - 1]);
                                 }});
    page_.line();
  }

  /// What of each colour goes into one piece.
  std::string colours(const RunPieceRow& p) const {
    if (p.colours.size() < 2) return {};
    Mass step = Mass::grams(1);
    for (const RunPieceRow::Colour& c : p.colours)
      while (c.each.in_micrograms() % step.in_micrograms() != 0)
        step = Mass::micrograms(step.in_micrograms() / 10);
    std::string out;
    for (const RunPieceRow::Colour& c : p.colours)
      out += fmt::format("{}{} {}", out.empty() ? ": " : " + ", harmless(c.name), grams(c.each, step));
    return out;
  }

  void pieces(const RunBatchRow& b) {
    std::string text;
    for (const RunPieceRow& p : b.pieces)
      text += fmt::format("{}{} × {} ({}{})", text.empty() ? "" : ", ", p.pours, harmless(p.name),
                          grams(p.each, r_.scale_step), colours(p));
    for (const std::string& line : wrapped(text, style_.width - 4)) page_.line("    " + line);
  }

  void cups(const RunBatchRow& b) {
    if (b.cups.empty()) return;
    std::string text;
    for (const RunCupRow& c : b.cups) {
      text += fmt::format("{}{} {}", text.empty() ? "" : "; ", harmless(c.name), grams(c.mix, r_.scale_step));
      for (const Part& p : c.pigments) text += fmt::format(" + {} pigment", grams(p.mass, Mass::grams(0.01)));
    }
    for (const std::string& line : wrapped(text, style_.width - 4)) page_.line(page_.faint("    " + line));
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
    const std::string day = !several_days() ? "done at "
                            : p.days == 1   ? "done on day "
                                            : fmt::format("{} days, done on day ", p.days);
    page_.entry("Day", fmt::format("{}{}{}", day, hour_text(p.finish - Duration(p.days > 1 ? 1 : 0), true),
                                   p.day_proven ? ", the soonest there is" : "; the best order found"));
    spare();
    int back = 0;
    for (std::size_t i = 1; i < p.batches.size(); ++i)
      back += p.batches[i].base < p.batches[i - 1].base ? 1 : 0;
    if (back > 0)
      page_.entry("Colours",
                  fmt::format("{} back to a lighter one, after a wash, because the day is shorter so",
                              back == 1 ? std::string("once") : fmt::format("{} times", back)));
  }

  void spare() {
    const RunBatchRow* least = nullptr;
    for (const RunBatchRow& b : r_.batches)
      if (b.spare && (least == nullptr || *b.spare < *least->spare)) least = &b;
    if (least == nullptr) return;
    page_.entry("Reserve",
                shown(fmt::format("the last mold is full at least {} min before the mix ceases to pour",
                                  fixed(std::floor(in_minutes(*least->spare) * 2) / 2,
                                        in_minutes(*least->spare) < 10 ? 1 : 0))));
  }

  void shopping() {
    if (r_.shopping.empty()) return;
    page_.line();
    phrases::Rows rows{{"to have ready", "need", "in stock", "buy", "packs"}};
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
      rows.push_back({s.name, grams(s.need, step), s.stock > Mass() ? grams(s.stock, Mass::grams(1)) : "–",
                      s.buy > Mass() ? grams(s.buy, step) : "–", shown(packs)});
    }
    if (priced)
      rows.push_back({"together", "", "", "",
                      shown(fmt::format("{} {}", money_text(rounded(sum, r_.currency), r_.currency),
                                        r_.currency.code))});
    phrases::table(page_, rows);
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
    return m >= Mass::grams(1000) ? significant(m.in_grams() / 1000, 6) + " kg"
                                  : significant(m.in_grams(), 6) + " g";
  }

  const RunReport& r_;
};

class PricePage : Writer {
 public:
  PricePage(const PriceReport& report, const TextStyle& style)
      : Writer(style), r_(report), c_(report.list.currency) {}

  std::string text() {
    title("Prices", r_.title, fmt::format("{}, each piece", c_.code));
    phrases::Rows rows{{"piece", "material", "labour", "other", "cost", "net", "tax", "price", "margin"}};
    for (const PriceLine& l : r_.list.lines)
      rows.push_back({l.name, plain(l.material + l.pigment + l.waste), plain(l.labour),
                      plain(l.mold_wear + l.other), plain(l.total), plain(l.net), plain(l.tax),
                      plain(l.price), shown(fixed(l.margin.in_percent(), 1)) + " %"});
    phrases::table(page_, rows);
    page_.line();
    further();
    order();
    notes(r_.notes);
    errors(r_.errors);
    return page_.take();
  }

 private:
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

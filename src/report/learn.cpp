// SPDX-License-Identifier: GPL-3.0-or-later
// What was learned, for people.
#include <pourwright/numbers.hpp>
#include <pourwright/report_learn.hpp>

#include "report/phrases.hpp"

#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string as_grams(Mass m) {
  // As many decimals as it has, up to three.
  for (int decimals = 0; decimals < 3; ++decimals)
    if (const std::string s = fixed(m.in_grams(), decimals); Mass::grams(std::stod(s)) == m) return s + " g";
  return fixed(m.in_grams(), 3) + " g";
}

std::string two_digits(double share) {
  return significant(100 * share, 2) + " %";
}

void show_notes(Page& page, const Notes& notes) {
  for (const bool warning : {false, true}) {
    std::string_view label = warning ? "Watch" : "Note";
    for (const Note& n : notes) {
      if (n.warning != warning) continue;
      page.entry(label, localized(n.text, page.style().decimal), warning);
      label = {};
    }
  }
}

void show_molds(Page& page, const LearnReport& r) {
  phrases::Rows rows{{"mold", "the file says", "it holds", "fills", "pours"}};
  for (const LearnedMoldRow& m : r.molds) {
    const std::string file = m.file ? fixed(in_millilitres(m.file->value), 1) + " ml" : "–";
    const double value = in_millilitres(m.capacity.value);
    const std::string holds = value > 0 ? fmt::format("{} ml ±{}", fixed(value, 1),
                                                      two_digits(2.6 * in_millilitres(m.capacity.u) / value))
                                        : "not known";
    const char decimal = page.style().decimal;
    rows.push_back({m.copies > 1 ? fmt::format("{} × {}", m.copies, m.mold) : m.mold,
                    localized(file, decimal), localized(holds, decimal), fmt::format("{}", m.water_fills),
                    fmt::format("{}", m.pours)});
  }
  phrases::table(page, rows);
  page.line();
}

void show_forecast(Page& page, const LearnReport& r, const Forecast& f) {
  const char decimal = page.style().decimal;
  const auto entry = [&](std::string_view label, const std::string& text) {
    page.entry(label, localized(text, decimal));
  };
  entry("Residue", fmt::format("{:.1f} ±{:.1f} g in each cup and {} of the mix", f.residue_per_cup_g.value,
                               2.6 * f.residue_per_cup_g.u, two_digits(f.residue_share.value)));
  entry("Scatter", fmt::format("{} from pour to pour, {} used", two_digits(f.scatter.value),
                               f.pours == 1 ? "1 pour" : fmt::format("{} pours", f.pours)));
  entry("Batch", fmt::format("{} g needed on average; {} g runs short in {:.3g} % of pours",
                             fixed(f.expected_g, 0), fixed(f.batch_g, 0), f.risk.in_percent()));
  entry("", fmt::format("the fixed {:.3g} % would be {} g", r.allowance.in_percent(), fixed(r.fixed_g, 0)));
}

std::string mold_list(const std::vector<PouredMold>& molds) {
  std::string s;
  for (const PouredMold& m : molds) {
    s += s.empty() ? "" : ", ";
    s += m.copies > 1 ? fmt::format("{} × {}", m.copies, m.mold) : m.mold;
  }
  return s;
}

}  // namespace

std::string record_text(const What& what) {
  if (const auto* w = std::get_if<WaterFill>(&what))
    return fmt::format("water fill of {}: {} at {:.3g} °C", w->mold, as_grams(w->water),
                       in_celsius(w->temperature));
  if (const auto* c = std::get_if<DensityCup>(&what))
    return fmt::format("cup of {}: {} in {:.5g} ml, {} g/ml", c->mix, as_grams(c->mass),
                       in_millilitres(c->volume), fixed(c->mass.in_grams() / in_millilitres(c->volume), 3));
  if (const auto* p = std::get_if<TestPour>(&what)) {
    std::string s = fmt::format("pour of {}: {} mixed, {} left", mold_list(p->molds), as_grams(p->mixed),
                                as_grams(p->left));
    if (p->ran_short) s += ", ran short";
    if (p->cups > 1) s += fmt::format(", {} cups", p->cups);
    if (p->room) s += fmt::format(", room {:.3g} °C", in_celsius(*p->room));
    return p->defects.empty() ? s : s + "; " + p->defects;
  }
  if (const auto* w = std::get_if<Withdrawal>(&what))
    return fmt::format("record {} withdrawn{}{}", w->record, w->why.empty() ? "" : ": ", w->why);
  if (const auto* c = std::get_if<StockChange>(&what)) {
    const std::string text = fmt::format("{} of {} {}", as_grams(c->mass), c->supply, name(c->kind));
    const auto currency = find_currency(c->currency);
    return c->cost ? fmt::format("{} for {} {}", text,
                                 amount_text(*c->cost, currency ? *currency : Currency{c->currency, 0}),
                                 c->currency)
                   : text;
  }
  if (const auto* l = std::get_if<LotOpened>(&what))
    return fmt::format("lot {} of {} opened", l->lot, l->supply);
  const auto& s = std::get<BatchSheet>(what);
  Mass total;
  for (const auto& part : s.parts) total += part.mass;
  return fmt::format("sheet “{}”: {} of {}", s.title, as_grams(total), s.mix);
}

std::string learn_text(const LearnReport& r, const TextStyle& style) {
  Page page(style);
  if (r.recorded)
    page.line(localized(fmt::format("Record {}: {}", r.recorded->id, harmless(record_text(r.recorded->what))),
                        style.decimal) +
              "\n");
  page.title("Learned", r.density_cups > 0 ? harmless(r.mix.name) : phrases::mix_name(r.mix));
  const double density = in_grams_per_millilitre(r.density.value), u = in_grams_per_millilitre(r.density.u);
  const std::string catalogue = fmt::format(
      "the catalogue's {} ({})", fixed(in_grams_per_millilitre(r.mix.density), 2), name(r.mix.density_from));
  const std::string cups =
      r.density_cups == 1 ? "1 cup test and " : fmt::format("{} cup tests and ", r.density_cups);
  page.entry("Density",
             localized(fmt::format("{} g/ml ±{}, from {}{}", fixed(density, 3), two_digits(2.6 * u / density),
                                   r.density_cups > 0 ? cups : std::string(), catalogue),
                       style.decimal));
  if (!r.molds.empty()) {
    page.line();
    show_molds(page, r);
  }
  if (r.forecast) show_forecast(page, r, *r.forecast);
  show_notes(page, r.notes);
  return page.take();
}

std::string chance_text(double chance) {
  if (chance < 1e-4) return "less than 1 time in 10,000";
  if (chance > 0.5) return "more often than not";
  const double n = 1 / chance, digits = n < 10 ? 1 : std::pow(10, std::floor(std::log10(n)) - 1);
  const double shown = std::round(n / digits) * digits;
  return fmt::format("1 time in {:.0f}", shown);
}

std::string stock_text(const std::vector<StockLevel>& levels, const TextStyle& style) {
  Page page(style);
  if (levels.empty()) page.line("nothing is in stock; record it with `pourwright learn bought` or `counted`");
  for (const StockLevel& level : levels) {
    const auto known = find_currency(level.currency);
    const std::string price =
        level.per_kilogram && known
            ? fmt::format("{} {} a kilogram", money_text(rounded(*level.per_kilogram, *known), *known),
                          known->code)
            : std::string();
    page.line(localized(left(shortened(level.supply, 27, style.unicode), 28) +
                            right(as_grams(level.there), 14) +
                            (level.short_of ? page.warn("   count it") : "   " + price),
                        style.decimal));
  }
  return page.take();
}

std::string imported_text(const Imported& i) {
  return fmt::format("{} records added, {} were there already\n", i.added, i.known);
}

std::string checked_text(const std::vector<Record>& latest) {
  return latest.empty() ? std::string("the ledger is whole and empty\n")
                        : fmt::format("the ledger is whole; its latest record is {}\n", latest.front().id);
}

std::string records_text(const std::vector<Record>& records, std::int64_t utc_offset,
                         const TextStyle& style) {
  Page page(style);
  if (records.empty()) page.line("nothing is recorded");
  for (const Record& r : records) {
    const std::string at = moment_text(r.at + utc_offset);
    page.entry(fmt::format("{:>9}", r.id),
               localized(fmt::format("{} {}  {}{}", at.substr(0, 10), at.substr(11, 5),
                                     harmless(record_text(r.what)), r.withdrawn ? " (withdrawn)" : ""),
                         style.decimal));
  }
  return page.take();
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities, weighings and notes as lines for a person; what several pages say in the same words. The law: a
// mass is shown as fine as its scale reads, never rounded to something that cannot be weighed.
#include "report/phrases.hpp"

#include <pourwright/numbers.hpp>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::phrases {
namespace {

/// On the step, or as much finer as the mass needs to be shown whole: at most two digits, more is no
/// weighing.
std::string decimal_text(Mass m, Mass step, const TextStyle& style) {
  std::int64_t s = step.in_micrograms();
  for (int finer = 0; finer < 2 && s > 1 && m.in_micrograms() % s != 0; ++finer)
    s = std::max<std::int64_t>(1, s / 10);
  const Mass at = m.in_micrograms() % s == 0 ? Mass::micrograms(s) : step;
  return localized(grams_text(round_to(m, at), at), style.decimal);
}

Mass finest(const Recipe& recipe, Mass step) {
  for (const Part& p : recipe.parts)
    if (p.step > Mass()) step = std::min(step, p.step);
  return step;
}

/// Liquid, powder and pigments are said in passing; more than that wants a list.
bool needs_list(const Recipe& recipe, const TextStyle& style) {
  return style.us || std::any_of(recipe.parts.begin(), recipe.parts.end(), [&](const Part& p) {
           return is_further(p.kind) || p.scale != recipe.parts[0].scale;
         });
}

/// Every part in the order of weighing, and what they make.
void weighing_list(Page& page, const Recipe& recipe, Mass step) {
  const TextStyle& style = page.style();
  const bool scales = std::any_of(recipe.parts.begin(), recipe.parts.end(),
                                  [&](const Part& p) { return p.scale != recipe.parts[0].scale; });
  Rows rows;
  const auto add = [&](const std::string& name, Mass mass, Mass at) {
    rows.push_back({name, grams(mass, at, style)});
    if (style.us) rows.back().push_back(ounces(mass, at, style));
  };
  for (const Part& p : recipe.parts)
    add(fmt::format("{}  {}{}", rows.size() + 1, p.name, scales ? ", on " + p.scale : std::string()), p.mass,
        p.step > Mass() ? p.step : step);
  add("=  mix", recipe.mix, finest(recipe, step));
  page.line("  in this order");
  table(page, rows, {.indent = 2, .heading = false});
}

/// "43.4 g acrylic liquid, then 138.9 g mineral powder: 182.3 g of mix"
std::string in_words(const Recipe& recipe, Mass step, const TextStyle& style) {
  std::string text;
  for (const Part& p : recipe.parts)
    text += fmt::format("{}{} {}", text.empty() ? "" : ", then ",
                        grams(p.mass, p.step > Mass() ? p.step : step, style), p.name);
  return fmt::format("{}: {} of mix", text, grams(recipe.mix, finest(recipe, step), style));
}

struct Column {
  std::string label, number;
};

/// Side by side under their names; false where they are too wide for that.
bool numerals(Page& page, const std::vector<Column>& columns) {
  const TextStyle& style = page.style();
  const int width = (style.width - 2) / static_cast<int>(columns.size());
  std::size_t tall = 1;
  std::vector<std::vector<std::string>> labels;
  for (const Column& c : columns) {
    if (!style.unicode || cells(large_numerals(c.number)[2] + "g") >= width) return false;
    labels.push_back(wrapped(page.shown(c.label), width - 2));
    tall = std::max(tall, labels.back().size());
  }
  std::vector<std::string> rows(tall + 3);
  for (std::size_t k = 0; k < columns.size(); ++k) {
    const auto digits = large_numerals(columns[k].number);
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const std::size_t above = tall - labels[k].size();  // labels stand on their numerals
      const std::string cell = r >= tall   ? digits[r - tall] + (r + 1 == rows.size() ? "g" : "")
                               : r < above ? std::string()
                                           : labels[k][r - above];
      rows[r] += left(cell, width);
    }
  }
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const std::string line = "  " + rows[r].substr(0, rows[r].find_last_not_of(' ') + 1);
    page.line(r < tall ? line : page.bold(line));
  }
  return true;
}

}  // namespace

std::string millilitre_text(Volume v) {
  const double ml = in_millilitres(v);
  if (ml > 0 && ml < 1e-5) return "less than 0.01 mm³";
  if (ml != 0 && std::abs(ml) < 0.1)
    return fixed(ml * 1000, std::abs(ml) < 1e-3 ? 2 : std::abs(ml) < 1e-2 ? 1 : 0) + " mm³";
  return fmt::format("{} ml", fixed(ml, ml < 10 ? 2 : ml < 1000 ? 1 : 0));
}

std::string volume_text(Volume v, const TextStyle& style) {
  const std::string ml = localized(millilitre_text(v), style.decimal);
  if (!style.us) return ml;
  constexpr double ml_per_fluid_ounce = 29.5735295625;  // 231/128 cubic inches: NIST Handbook 44, Appendix C
  return fmt::format("{} ({} fl oz)", ml,
                     localized(fixed(in_millilitres(v) / ml_per_fluid_ounce, 2), style.decimal));
}

std::string doubt(const Interval<Volume>& v) {
  const double value = in_cubic_millimetres(v.value);
  if (!(value > 0)) return {};
  const double half =
      std::max(in_cubic_millimetres(v.high) - value, value - in_cubic_millimetres(v.low)) / value;
  if (half < 5e-4) return {};
  if (half > 1) return "  unsure";
  return fmt::format(" ±{} %", significant(100 * half, half < 0.1 ? 2 : 3));
}

std::string grams(Mass m, Mass step, const TextStyle& style) {
  return decimal_text(m, step, style) + " g";
}

std::string ounces(Mass m, Mass step, const TextStyle& style) {
  constexpr double ug_per_ounce = 28'349'523.125;  // a sixteenth of the pound: NIST Handbook 44, Appendix C
  int decimals = 0;
  for (double unit = ug_per_ounce; decimals < 3 && unit > static_cast<double>(step.in_micrograms());
       unit /= 10)
    ++decimals;
  const double scale = std::pow(10, decimals);
  // Rounded once, so that "15.999 oz" never becomes "16.00 oz" of a pound that was not counted.
  const double all = std::round(static_cast<double>(m.in_micrograms()) / ug_per_ounce * scale) / scale;
  const double pounds = std::floor(all / 16);
  std::string text = fixed(all - 16 * pounds, decimals) + " oz";
  if (pounds >= 1) text = fixed(pounds, 0) + " lb " + text;
  return localized(text, style.decimal);
}

std::string mass_text(Mass m, Mass step, const TextStyle& style) {
  return style.us ? fmt::format("{} ({})", grams(m, step, style), ounces(m, step, style))
                  : grams(m, step, style);
}

std::string ratio_text(const Recipe& r) {
  std::string s = fmt::format("{:.6g} g powder to 1 g liquid", r.ratio_asked.value());
  if (std::abs(r.drift.in_percent()) >= 0.5)  // finer is no matter at a bench
    s += fmt::format("; on this scale {} ({:+.1f} %)", fixed(r.ratio_weighed.value(), 3),
                     r.drift.in_percent());
  return s;
}

std::string mix_name(const Mix& mix) {
  return harmless(mix.name) + (is_weighed(mix) ? "" : ", a mix nobody has weighed");
}

std::string scale_text(const std::string& name, Mass step, const TextStyle& style) {
  const std::string reads = localized(grams_text(step, step), style.decimal);
  return name.empty() ? reads + " g scale" : fmt::format("{}, reads {} g", harmless(name), reads);
}

void weights(Page& page, const Recipe& recipe, Mass step, const std::string& price) {
  const TextStyle& style = page.style();
  std::vector<Column> columns;
  for (const Part& p : recipe.parts)
    if (p.kind == PartKind::liquid || p.kind == PartKind::powder)
      columns.push_back({p.name, decimal_text(p.mass, step, style)});
  columns.push_back({"mix in all", decimal_text(recipe.mix, finest(recipe, step), style)});
  bool large = numerals(page, columns);
  if (!large) {  // the sum is not weighed: it can do without
    columns.pop_back();
    large = numerals(page, columns);
  }
  if (large && !needs_list(recipe, style)) {
    for (const std::string& l :
         wrapped(page.shown(in_words(recipe, step, style) + (price.empty() ? "" : ", " + price)),
                 style.width - 2))
      page.line("  " + l);
    return;
  }
  weighing_list(page, recipe, step);
  if (!price.empty()) page.line("  " + price);
}

std::string sentence(const std::string& text, char decimal) {
  const bool one = text.ends_with('.') && text.find(". ") == std::string::npos;
  return localized(one ? text.substr(0, text.size() - 1) : text, decimal);
}

bool is_said_elsewhere(const Note& n) {
  return n.topic == Topic::ratio;
}

void notes(Page& page, const Notes& list, bool warnings, std::string_view label) {
  for (const Note& n : list) {
    if (n.warning != warnings || is_said_elsewhere(n)) continue;
    page.entry(label, sentence(n.text, page.style().decimal), warnings);
    label = {};
  }
}

void times(Page& page, const Mix& mix) {
  std::string s;
  if (mix.working_time > Duration())
    s += fmt::format("pour within {:.0f} min of adding powder", in_minutes(mix.working_time));
  if (mix.demold_time > Duration())
    s += fmt::format("{}demold after about {:.0f} min, warm and hard to the nail", s.empty() ? "" : "; ",
                     in_minutes(mix.demold_time));
  if (s.empty()) return;
  s += fmt::format(" (at {} °C)", significant(in_celsius(mix.times_at), 3));
  page.entry("Times", localized(s, page.style().decimal));
}

std::string price_of(const std::optional<BatchCost>& c, const TextStyle& style) {
  if (!c) return {};
  std::string s = fmt::format("costs {} {}", localized(money_text(c->total, c->currency), style.decimal),
                              c->currency.code);
  if (!c->missing.empty())
    s += fmt::format(" without {}, whose price is not known", fmt::join(c->missing, ", "));
  return s;
}

void cautions(Page& page, const std::vector<std::string>& list) {
  std::string_view label = "Take care";
  if (page.style().cautions_known && !list.empty()) {
    page.entry(label,
               fmt::format("the {} cautions shown earlier today hold (again: --cautions)", list.size()));
    return;
  }
  for (const std::string& c : list) {
    page.entry(label, localized(c, page.style().decimal));
    label = {};
  }
}

}  // namespace pourwright::phrases

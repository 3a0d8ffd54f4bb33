// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities, weighings and notes as lines for a person; what several pages say in the same words. The law: a
// mass is shown as fine as its scale reads, never rounded to something that cannot be weighed.
#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::phrases {
namespace {

/// The step itself, or as much finer as the mass needs to be shown whole.
Mass shown(Mass m, Mass step) {
  std::int64_t s = step.in_micrograms();
  while (s > 1 && m.in_micrograms() % s != 0 && m.in_micrograms() % 10 == 0)
    s = std::max<std::int64_t>(1, s / 10);
  return Mass::micrograms(m.in_micrograms() % s == 0 ? s : step.in_micrograms());
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

void weighing_list(Page& page, const Recipe& recipe, Mass step) {
  const TextStyle& style = page.style();
  const bool scales = std::any_of(recipe.parts.begin(), recipe.parts.end(),
                                  [&](const Part& p) { return p.scale != recipe.parts[0].scale; });
  int name_width = 10, gram_width = 0, ounce_width = 0;
  const auto of = [&](const Part& p) { return p.step > Mass() ? p.step : step; };
  for (const Part& p : recipe.parts) {
    name_width = std::max(name_width, std::min(cells(harmless(p.name)), 30));
    gram_width = std::max(gram_width, cells(grams(p.mass, of(p), style)));
    ounce_width = std::max(ounce_width, cells(ounces(p.mass, of(p), style)));
  }
  page.line();
  page.line("  in this order");
  for (std::size_t i = 0; i < recipe.parts.size(); ++i) {
    const Part& p = recipe.parts[i];
    std::string line =
        fmt::format("  {}  {}  {}", i + 1, left(shortened(p.name, name_width, style.unicode), name_width),
                    right(grams(p.mass, of(p), style), gram_width));
    if (style.us) line += "  " + right(ounces(p.mass, of(p), style), ounce_width);
    if (scales) line += "  " + harmless(p.scale);
    page.line(line);
  }
}

}  // namespace

std::string millilitre_text(Volume v) {
  const double ml = in_millilitres(v);
  if (ml != 0 && std::abs(ml) < 0.1) return fmt::format("{:.3g} mm³", ml * 1000);
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
  return half < 0.1 ? fmt::format(" ±{:.2g} %", 100 * half) : fmt::format(" ±{:.0f} %", 100 * half);
}

std::string grams(Mass m, Mass step, const TextStyle& style) {
  return localized(grams_text(m, shown(m, step)), style.decimal) + " g";
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
  std::string s = fmt::format("{:.6g} parts powder to 1 of liquid by mass", r.ratio_asked.value());
  if (std::abs(r.drift.in_percent()) >= 0.05)
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

void large_parts(Page& page, const Recipe& recipe, Mass step) {
  const TextStyle& style = page.style();
  struct Column {
    std::string label;
    std::string number;
  };
  std::vector<Column> columns;
  const Mass fine = finest(recipe, step);
  for (const Part& p : recipe.parts)
    if (p.kind == PartKind::liquid || p.kind == PartKind::powder)
      columns.push_back({(p.kind == PartKind::liquid ? "first " : "then ") + p.name,
                         localized(grams_text(p.mass, shown(p.mass, step)), style.decimal)});
  columns.push_back({recipe.parts.size() > 2 ? "makes in all" : "makes",
                     localized(grams_text(recipe.mix, shown(recipe.mix, fine)), style.decimal)});
  const int width = std::max(18, (style.width - 2) / static_cast<int>(columns.size()));
  const bool large = style.unicode && std::all_of(columns.begin(), columns.end(), [&](const Column& c) {
                       return cells(large_numerals(c.number)[2] + "g") < width;
                     });
  std::string labels;
  std::vector<std::string> rows(large ? 3 : 1);
  for (const Column& c : columns) {
    labels += left(shortened(c.label, width - 1, style.unicode), width);
    const auto numerals = large ? large_numerals(c.number) : std::vector<std::string>{c.number};
    for (std::size_t r = 0; r < rows.size(); ++r)
      rows[r] += left(numerals[r] + (r + 1 < rows.size() ? "" : large ? "g" : " g"), width);
  }
  const auto trimmed = [](const std::string& s) { return "  " + s.substr(0, s.find_last_not_of(' ') + 1); };
  page.line();
  page.line(trimmed(labels));
  for (const std::string& r : rows) page.line(page.bold(trimmed(r)));
  if (needs_list(recipe, style))
    weighing_list(page, recipe, step);
  else
    for (const Part& p : recipe.parts)
      if (p.kind == PartKind::pigment)
        page.line(fmt::format("  then {} {}", harmless(p.name), grams(p.mass, step, style)));
  page.line();
}

void title(Page& page, std::string_view heading, std::string_view right_side) {
  const std::string& workshop = page.style().workshop;
  const std::string what =
      std::string(heading) + (workshop.empty() ? "" : fmt::format(", workshop {}", harmless(workshop)));
  const int width = page.style().width;
  if (cells(what) + 1 + cells(right_side) <= width) {
    page.line(page.bold(what) + right(right_side, width - cells(what)));
  } else {
    page.line(page.bold(what));
    for (const std::string& line : wrapped(right_side, width - 2)) page.line("  " + line);
  }
  page.rule();
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
  if (!s.empty()) page.entry("Times", s + fmt::format(" (at {:.3g} °C)", in_celsius(mix.times_at)));
}

void cost(Page& page, const std::optional<BatchCost>& c) {
  if (!c) return;
  std::string s = fmt::format("{} {}", localized(money_text(c->total, c->currency), page.style().decimal),
                              c->currency.code);
  if (!c->missing.empty()) s += fmt::format("; no price is known for {}", fmt::join(c->missing, ", "));
  page.entry("Costs", s);
}

void cautions(Page& page, const std::vector<std::string>& list) {
  std::string_view label = "Take care";
  for (const std::string& c : list) {
    page.entry(label, c);
    label = {};
  }
}

void table(Page& page, const std::vector<std::vector<std::string>>& rows) {
  const TextStyle& s = page.style();
  std::vector<int> widths(rows[0].size(), 0);
  int rest = s.width;
  for (std::size_t k = 0; k < widths.size(); ++k) {
    for (const auto& row : rows) widths[k] = std::max(widths[k], cells(row[k]) + (k == 0 ? 0 : 2));
    if (k > 0) rest -= widths[k];
  }
  widths[0] = std::min(widths[0], std::max(rest, 12));
  const int loose = std::clamp((rest - widths[0]) / static_cast<int>(widths.size() - 1), 0, 4);
  for (std::size_t k = 1; k < widths.size(); ++k) widths[k] += loose;
  for (const auto& row : rows) {
    std::string line = left(shortened(row[0], widths[0], s.unicode), widths[0]);
    for (std::size_t k = 1; k < row.size(); ++k) line += right(row[k], widths[k]);
    page.line(&row == &rows[0] ? page.faint(line) : line);
  }
}

}  // namespace pourwright::phrases

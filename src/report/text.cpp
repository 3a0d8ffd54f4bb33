// SPDX-License-Identifier: GPL-3.0-or-later
// What a person reads: at a bench, at arm's length, with wet hands. The two weights are the largest thing on
// it.
#include <pourwright/report.hpp>

#include "report/layout.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string file_name(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos ? path : path.substr(slash + 1);
}

/// "name: text", unless the text names the file itself.
std::string about_file(const std::string& name, const std::string& text) {
  return text.find("“" + name + "”") != std::string::npos ? text : name + ": " + text;
}

std::string millilitre_text(Volume v) {
  const double ml = in_millilitres(v);
  if (ml != 0 && std::abs(ml) < 0.1) return fmt::format("{:.3g} mm³", ml * 1000);
  return fmt::format("{} ml", fixed(ml, ml < 10 ? 2 : ml < 1000 ? 1 : 0));
}

/// "±0.3 %" of the wider side, or nothing when it is too small to matter at a bench.
std::string doubt(const Interval<Volume>& v) {
  const double value = in_cubic_millimetres(v.value);
  if (!(value > 0)) return {};
  const double half =
      std::max(in_cubic_millimetres(v.high) - value, value - in_cubic_millimetres(v.low)) / value;
  if (half < 5e-4) return {};
  if (half > 1) return "  unsure";
  return half < 0.1 ? fmt::format(" ±{:.2g} %", 100 * half) : fmt::format(" ±{:.0f} %", 100 * half);
}

std::string ratio_text(const Recipe& r) {
  std::string s = fmt::format("{:.6g} parts powder to 1 of liquid by mass", r.ratio_asked.value());
  if (std::abs(r.drift.in_percent()) >= 0.05)
    s += fmt::format("; on this scale {} ({:+.1f} %)", fixed(r.ratio_weighed.value(), 3),
                     r.drift.in_percent());
  return s;
}

/// The parts side by side in large numerals, where they fit: liquid first, then powder, then what it makes.
void large_parts(Page& page, const Recipe& recipe, Mass step) {
  const TextStyle& style = page.style();
  struct Column {
    std::string label;
    std::string number;
  };
  std::vector<Column> columns;
  const char* const order[] = {"first ", "then "};
  for (std::size_t i = 0; i < recipe.parts.size() && i < 2; ++i)
    columns.push_back(
        {order[i] + recipe.parts[i].name, localized(grams_text(recipe.parts[i].mass, step), style.decimal)});
  columns.push_back({recipe.parts.size() > 2 ? "makes in all" : "makes",
                     localized(grams_text(recipe.mix, step), style.decimal)});
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
  for (std::size_t i = 2; i < recipe.parts.size(); ++i)
    page.line(fmt::format("  then {} {} g", harmless(recipe.parts[i].name),
                          localized(grams_text(recipe.parts[i].mass, step), style.decimal)));
  page.line();
}

/// Notes are said as one sentence without its point.
std::string sentence(const std::string& text, char decimal) {
  const bool one = text.ends_with('.') && text.find(". ") == std::string::npos;
  return localized(one ? text.substr(0, text.size() - 1) : text, decimal);
}

/// The line with the ratio says this already.
bool is_said_elsewhere(const Note& n) {
  return n.code == "ratio-drift";
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
  if (!s.empty()) page.entry("Times", s + " (at 20 °C)");
}

void title(Page& page, std::string_view what, std::string_view right_side) {
  const int width = page.style().width;
  page.line(page.bold(what) + right(right_side, width - cells(what)));
  page.rule();
}

void errors(Page& page, const CardReport& r) {
  for (const auto& e : r.errors) {
    page.entry("Not poured", about_file(file_name(e.path), e.problem.text), true);
    if (!e.problem.hint.empty()) page.entry("", e.problem.hint);
  }
}

/// First column to the left and cut to what the others leave it; the others to the right, as wide as they
/// need.
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

void mold_table(Page& page, const CardReport& r) {
  const char decimal = page.style().decimal;
  const bool pigments = r.total.parts.size() > 2;
  const auto grams = [&](Mass m) { return localized(grams_text(m, r.scale_step), decimal) + " g"; };
  std::vector<std::vector<std::string>> rows{{"mold", "copies", "each holds", "liquid", "powder"}};
  if (pigments) rows[0].push_back("pigment");
  rows[0].push_back("mix");
  for (const CardMold& m : r.molds) {
    const std::vector<Part>& parts = m.weighed.parts;
    std::vector<std::string> row{file_name(m.path), fmt::format("{}", m.copies),
                                 localized(millilitre_text(m.fill.value), decimal), grams(parts[0].mass),
                                 grams(parts[1].mass)};
    Mass pigment;
    for (std::size_t i = 2; i < parts.size(); ++i) pigment += parts[i].mass;
    if (pigments) row.push_back(grams(pigment));
    row.push_back(grams(m.weighed.mix.value));
    rows.push_back(std::move(row));
  }
  table(page, rows);
}

/// "a.stl, b.stl, c.stl and 4 more"
std::string some_of(const std::vector<std::string>& names) {
  const std::size_t shown = names.size() > 4 ? 3 : names.size();
  std::string s =
      fmt::format("{}", fmt::join(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(shown), ", "));
  return shown == names.size() ? s : fmt::format("{} and {} more", s, names.size() - shown);
}

/// The level most molds are filled to, and which differ.
std::string levels(const CardReport& r, char decimal) {
  std::vector<std::pair<std::string, std::vector<std::string>>> kinds;
  for (const CardMold& m : r.molds) {
    auto it = std::find_if(kinds.begin(), kinds.end(), [&](const auto& k) { return k.first == m.level; });
    if (it == kinds.end()) it = kinds.insert(it, {m.level, {}});
    it->second.push_back(file_name(m.path));
  }
  std::stable_sort(kinds.begin(), kinds.end(),
                   [](const auto& a, const auto& b) { return a.second.size() > b.second.size(); });
  std::string text = localized(kinds[0].first, decimal);
  for (std::size_t i = 1; i < kinds.size(); ++i)
    text += fmt::format("; {}: {}", some_of(kinds[i].second), localized(kinds[i].first, decimal));
  return text;
}

/// A mold's note without what is true of that mold alone, when the card has a short form of it.
std::string in_short(const Note& n) {
  if (n.code == "unit-assumed" || n.code == "unit-given" || n.code == "unit-from-file")
    return n.text.substr(0, n.text.find(':'));
  if (n.code == "read-as-mold")
    return "read as a mold, because it holds liquid (--read-as piece for the other reading)";
  if (n.code == "read-as-piece") return "read as the piece itself";
  return n.text;
}

/// What all molds share is said once, what differs with their names.
void tray_notes(Page& page, const CardReport& r, bool warnings, std::string_view label) {
  struct Group {
    std::string code, text;
    std::vector<std::string> names;
  };
  std::vector<Group> groups;
  for (const CardMold& m : r.molds)
    for (const Note& n : m.notes) {
      if (n.warning != warnings) continue;
      const std::string text = in_short(n);
      auto it = std::find_if(groups.begin(), groups.end(), [&](const Group& g) { return g.text == text; });
      if (it == groups.end()) it = groups.insert(it, {n.code, text, {}});
      it->names.push_back(file_name(m.path));
    }
  const auto say = [&](const std::string& text) {
    page.entry(label, text, warnings);
    label = {};
  };
  const char decimal = page.style().decimal;
  for (const Notes* list : {&r.notes, &r.total.notes})
    for (const Note& n : *list)
      if (n.warning == warnings && !is_said_elsewhere(n)) say(sentence(n.text, decimal));
  for (const Group& g : groups) {
    const bool all = g.names.size() == r.molds.size();
    const std::string whose = !all ? some_of(g.names) + ": " : g.code.starts_with("read-as") ? "each " : "";
    say(whose + sentence(g.text, decimal));
  }
}

/// The finest decimal step that the cups' weights need, so that their points stand below each other.
Mass common_step(const Split& split) {
  Mass step = Mass::grams(1);
  for (const FilledCup& c : split.cups)
    while (step > Mass::micrograms(1) && c.mix.in_micrograms() % step.in_micrograms() != 0)
      step = Mass::micrograms(step.in_micrograms() / 10);
  return step;
}

void cautions(Page& page, const std::vector<std::string>& list) {
  std::string_view label = "Take care";
  for (const std::string& c : list) {
    page.entry(label, c);
    label = {};
  }
}

std::vector<std::vector<std::string>> cavity_rows(const std::vector<CavityRow>& cavities, char decimal) {
  std::vector<std::vector<std::string>> rows{{"cavity", "holds", "brim at", "depth", "opening", "filled"}};
  const auto mm = [](Length l) { return fixed(in_millimetres(l), 2) + " mm"; };
  for (const CavityRow& c : cavities) {
    rows.push_back({fmt::format("{} {}", c.id, c.kind), millilitre_text(c.capacity.value) + doubt(c.capacity),
                    mm(c.brim), mm(c.brim - c.floor),
                    fixed(in_square_millimetres(c.opening) / 100, 2) + " cm²",
                    c.filled       ? "yes"
                    : c.parent > 0 ? fmt::format("in {}", c.parent)
                                   : "no"});
    for (std::string& cell : rows.back()) cell = localized(std::move(cell), decimal);
  }
  return rows;
}

}  // namespace

std::string card_text(const CardReport& r, const TextStyle& style) {
  Page page(style);
  title(page, "Pour card",
        fmt::format("{}, {} g scale", harmless(r.mix.name),
                    localized(grams_text(r.scale_step, r.scale_step), style.decimal)));
  if (r.molds.size() == 1) {
    const CardMold& m = r.molds[0];
    page.line(page.bold(shortened(file_name(m.path), style.width - 14, style.unicode)) +
              (m.copies > 1 ? fmt::format("   {} copies", m.copies) : ""));
    large_parts(page, r.total, r.scale_step);
    const std::string_view joint = m.copies > 1 ? " each, " : m.how.starts_with("to ") ? " " : ", ";
    page.entry(m.level.starts_with("to ") ? "Holds" : "Takes",
               localized(millilitre_text(m.fill.value) + doubt(m.fill) + std::string(joint) + m.how +
                             fmt::format("; {:.3g} % added so that it does not come up short",
                                         r.allowance.in_percent()),
                         style.decimal));
  } else if (!r.molds.empty()) {
    mold_table(page, r);
    large_parts(page, r.total, r.scale_step);
    page.entry("Filled", levels(r, style.decimal) +
                             localized(fmt::format("; {:.3g} % added so that nothing comes up short",
                                                   r.allowance.in_percent()),
                                       style.decimal));
  }
  if (!r.molds.empty()) {
    page.entry("Ratio", localized(ratio_text(r.total), style.decimal));
    times(page, r.mix);
  }
  if (r.molds.size() == 1) {
    Notes all = r.molds[0].notes;
    all.insert(all.end(), r.notes.begin(), r.notes.end());
    all.insert(all.end(), r.total.notes.begin(), r.total.notes.end());
    notes(page, all, false, "Assumed");
    notes(page, all, true, "Watch");
  } else {
    tray_notes(page, r, false, "Assumed");
    tray_notes(page, r, true, "Watch");
  }
  errors(page, r);
  cautions(page, r.cautions);
  return page.take();
}

std::string mix_text(const Mix& mix, const Recipe& recipe, const std::vector<std::string>& warnings,
                     Mass scale_step, const TextStyle& style) {
  Page page(style);
  title(page, "Mix",
        fmt::format("{}, {} g scale", harmless(mix.name),
                    localized(grams_text(scale_step, scale_step), style.decimal)));
  large_parts(page, recipe, scale_step);
  page.entry("Makes",
             localized(millilitre_text(recipe.mix / mix.density) +
                           fmt::format(" at {} g/ml", fixed(in_grams_per_millilitre(mix.density), 2)),
                       style.decimal));
  page.entry("Ratio", localized(ratio_text(recipe), style.decimal));
  times(page, mix);
  notes(page, recipe.notes, false, "Assumed");
  notes(page, recipe.notes, true, "Watch");
  cautions(page, warnings);
  return page.take();
}

std::string split_text(const Split& split, const TextStyle& style) {
  Page page(style);
  const auto grams = [&](Mass m, Mass step) { return localized(grams_text(m, step), style.decimal) + " g"; };
  const Mass step = common_step(split), fine = Mass::grams(0.01);
  title(page, "Split", grams(split.mix, step) + " of mix");
  page.line(page.faint(left("cup", 20) + right("share", 9) + right("mix", 12) + "   pigment"));
  for (const FilledCup& c : split.cups) {
    std::string row = left(shortened(c.name, 20, style.unicode), 20) +
                      right(localized(fmt::format("{:.4g} %", c.share.in_percent()), style.decimal), 9) +
                      right(grams(c.mix, step), 12);
    if (c.pigments.empty()) page.line(row + "   –");
    for (const Part& p : c.pigments) {
      page.line(row + "   " + grams(p.mass, fine) + " " + harmless(p.name));
      row = std::string(41, ' ');
    }
    for (const MasterBatch& m : c.masters)
      page.entry(
          "", fmt::format("{} is too little to weigh: stir {} into {} of mix, take {} of that in place of as "
                          "much plain mix",
                          m.pigment_name, grams(m.pigment, fine), grams(m.mix, fine), grams(m.take, fine)));
  }
  Notes rest;
  for (const Note& n : split.notes)
    if (n.code != "pigment-too-small") rest.push_back(n);  // said below its cup
  if (!rest.empty()) page.line();
  notes(page, rest, false, "Note");
  notes(page, rest, true, "Watch");
  return page.take();
}

std::string mixes_text(const Catalogue& catalogue, const TextStyle& style) {
  Page page(style);
  page.line(page.faint(left("mix", 28) + "powder : liquid" + right("density", 17)));
  for (const Mix& m : catalogue.mixes) {
    const bool chosen = m.key == catalogue.default_mix;
    page.line(left(shortened(m.name, 27, style.unicode), 28) +
              localized(right(fmt::format("{:.6g} : 1", m.ratio.value()), 15) +
                            right(fmt::format("{} g/ml", fixed(in_grams_per_millilitre(m.density), 2)), 17),
                        style.decimal) +
              (chosen ? "   default" : ""));
    for (const std::string& l : wrapped(harmless(m.description), style.width - 4)) page.line("    " + l);
  }
  return page.take();
}

std::string explain_text(std::string_view code, std::string_view explain, const TextStyle& style) {
  Page page(style);
  page.line(page.bold(code));
  page.line();
  for (const std::string& l : wrapped(explain, style.width)) page.line(l);
  return page.take();
}

std::string doctor_text(const SelfDescription& self) {
  return fmt::format("pourwright {}\ngeometry wing   {}\nmesh formats    {}\nmixes           {}\n",
                     self.version, self.geometry ? "built in" : "left out",
                     self.formats.empty() ? "none" : fmt::format("{}", fmt::join(self.formats, " ")),
                     self.mixes);
}

std::string measure_text(const MeasureReport& report, const TextStyle& style) {
  Page page(style);
  for (std::size_t i = 0; i < report.files.size(); ++i) {
    const MeasureRow& f = report.files[i];
    if (i > 0) page.line();
    title(page, shortened(file_name(f.path), style.width - 22, style.unicode),
          f.ok() ? (f.read_as.empty() ? "" : "read as a " + f.read_as) : "not measured");
    if (f.error) {
      page.entry("Problem", f.error->text, true);
      if (!f.error->hint.empty()) page.entry("", f.error->hint);
      page.entry("Code", fmt::format("{} (pourwright explain {})", info(f.error->code).slug,
                                     info(f.error->code).slug));
      continue;
    }
    page.entry("Mesh", fmt::format("{} triangles, {} {}, {}", f.triangles, f.shells,
                                   f.shells == 1 ? "shell" : "shells", f.closed ? "closed" : "open"));
    if (f.solid)
      page.entry("Solid", localized(millilitre_text(f.solid->volume.value) + doubt(f.solid->volume) +
                                        fmt::format(", surface {} cm²",
                                                    fixed(in_square_millimetres(f.solid->area) / 100, 1)),
                                    style.decimal));
    // The dips of a piece are no cavities of a mold.
    if (!f.cavities.empty() && f.read_as != "piece") {
      page.line();
      table(page, cavity_rows(f.cavities, style.decimal));
      page.line();
    }
    for (const MendRow& m : f.mended)
      page.entry("Mended",
                 fmt::format("{}: {} ({:+.3g} ml)", m.code, m.count, in_millilitres(m.volume_change)));
    notes(page, f.notes, false, "Assumed");
    notes(page, f.notes, true, "Watch");
  }
  return page.take();
}

}  // namespace pourwright

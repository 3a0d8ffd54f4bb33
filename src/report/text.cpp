// SPDX-License-Identifier: GPL-3.0-or-later
// What a person reads: at a bench, at arm's length, with wet hands. The two weights are the largest thing on it.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <pourwright/report.hpp>

#include "report/layout.hpp"

namespace pourwright {
namespace {

std::string file_name(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos ? path : path.substr(slash + 1);
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
  const double half = std::max(in_cubic_millimetres(v.high) - value, value - in_cubic_millimetres(v.low)) / value;
  return half < 5e-4 ? std::string() : fmt::format(" ±{:.2g} %", 100 * half);
}

std::string ratio_text(const Recipe& r) {
  std::string s = fmt::format("{:.6g} parts powder to 1 of liquid by mass", r.ratio_asked.value());
  if (std::abs(r.drift.in_percent()) >= 0.05)
    s += fmt::format("; on this scale {} ({:+.1f} %)", fixed(r.ratio_weighed.value(), 3), r.drift.in_percent());
  return s;
}

/// The parts side by side in large numerals: liquid first, then powder, then what it makes.
void large_parts(Page& page, const Recipe& recipe, Mass step) {
  struct Column {
    std::string label;
    std::string number;
  };
  std::vector<Column> columns;
  const char* const order[] = {"first ", "then ", "then "};
  for (std::size_t i = 0; i < recipe.parts.size() && i < 2; ++i)
    columns.push_back({order[i] + recipe.parts[i].name, grams_text(recipe.parts[i].mass, step)});
  columns.push_back({"makes", grams_text(recipe.mix, step)});
  const int width = std::max(18, (page.style().width - 2) / static_cast<int>(columns.size()));
  std::string labels = "  ";
  for (const Column& c : columns) labels += left(c.label, width);
  page.line();
  while (!labels.empty() && labels.back() == ' ') labels.pop_back();
  page.line(labels);
  if (page.style().unicode) {
    std::vector<std::string> rows(3, "  ");
    for (const Column& c : columns) {
      const auto numerals = large_numerals(localized(c.number, page.style().decimal));
      for (std::size_t r = 0; r < 3; ++r) rows[r] += left(numerals[r] + (r == 2 ? " g" : ""), width);
    }
    for (std::string& r : rows) {
      while (!r.empty() && r.back() == ' ') r.pop_back();
      page.line(page.bold(r));
    }
  } else {
    std::string row = "  ";
    for (const Column& c : columns) row += left(localized(c.number, page.style().decimal) + " g", width);
    page.line(page.bold(row));
  }
  for (std::size_t i = 2; i < recipe.parts.size(); ++i)
    page.line(fmt::format("  then {} {} g", recipe.parts[i].name, localized(grams_text(recipe.parts[i].mass, step), page.style().decimal)));
  page.line();
}

void notes(Page& page, const Notes& list, bool warnings, std::string_view label, std::string_view prefix = {}) {
  for (const Note& n : list) {
    if (n.warning != warnings) continue;
    page.entry(label, std::string(prefix) + localized(n.text, page.style().decimal), warnings);
    label = {};
  }
}

void times(Page& page, const Mix& mix) {
  std::string s;
  if (mix.working_time > Duration()) s += fmt::format("pour within {:.0f} min of adding powder", in_minutes(mix.working_time));
  if (mix.demold_time > Duration())
    s += fmt::format("{}demold after about {:.0f} min, warm and hard to the nail", s.empty() ? "" : "; ", in_minutes(mix.demold_time));
  if (!s.empty()) page.entry("Times", s + " (at 20 °C)");
}

void title(Page& page, std::string_view what, std::string_view right_side) {
  const int width = page.style().width;
  page.line(page.bold(what) + right(right_side, width - cells(what)));
  page.rule();
}

void errors(Page& page, const CardReport& r) {
  for (const auto& e : r.errors) {
    page.entry("Not poured", fmt::format("{}: {}", harmless(file_name(e.path)), e.problem.text), true);
    if (!e.problem.hint.empty()) page.entry("", e.problem.hint);
  }
}

void mold_table(Page& page, const CardReport& r) {
  const TextStyle& s = page.style();
  const int name_width = std::clamp(s.width - 56, 12, 40);
  page.line(page.faint(left("mold", name_width) + right("copies", 7) + right("each holds", 14) + right("liquid", 11) +
                       right("powder", 11) + right("mix", 11)));
  for (const CardMold& m : r.molds) {
    const auto part = [&](std::size_t i) {
      return i < m.weighed.parts.size() ? localized(grams_text(m.weighed.parts[i].mass, r.scale_step), s.decimal) + " g" : std::string();
    };
    page.line(left(shortened(file_name(m.path), name_width, s.unicode), name_width) + right(fmt::format("{}", m.copies), 7) +
              right(localized(millilitre_text(m.fill.value), s.decimal), 14) + right(part(0), 11) + right(part(1), 11) +
              right(localized(grams_text(m.weighed.mix.value, r.scale_step), s.decimal) + " g", 11));
  }
}

/// What differs between molds is said per mold; what all share, once.
void tray_notes(Page& page, const CardReport& r, bool warnings, std::string_view label) {
  Notes out;
  for (const Note& n : r.notes)
    if (n.warning == warnings) out.push_back(n);
  for (const Note& n : r.total.notes)
    if (n.warning == warnings) out.push_back(n);
  std::vector<std::pair<std::string, int>> kinds;
  for (const CardMold& m : r.molds)
    for (const Note& n : m.notes) {
      if (n.warning != warnings) continue;
      if (warnings || n.code.starts_with("filled-")) {
        out.push_back({n.code, fmt::format("{}: {}", harmless(file_name(m.path)), n.text), warnings});
        continue;
      }
      auto it = std::find_if(kinds.begin(), kinds.end(), [&](const auto& k) { return k.first == n.code; });
      if (it == kinds.end()) kinds.emplace_back(n.code, 1);
      else ++it->second;
    }
  const auto total = static_cast<int>(r.molds.size());
  const auto say = [&](std::string_view code, std::string_view text) {
    for (const auto& [c, n] : kinds)
      if (c == code) out.push_back({c, fmt::format("{}{}", n == total ? "" : fmt::format("{} of {}: ", n, total), text), false});
  };
  say("unit-assumed", "lengths taken as millimetres");
  say("read-as-mold", "each read as a mold, because it holds liquid (--read-as piece for the other reading)");
  say("read-as-piece", "read as the piece itself: it holds no liquid");
  notes(page, out, warnings, label);
}

}  // namespace

std::string card_text(const CardReport& r, const TextStyle& style) {
  Page page(style);
  title(page, "Pour card", fmt::format("{}, {} g scale", harmless(r.mix.name), localized(grams_text(r.scale_step, r.scale_step), style.decimal)));
  if (r.molds.size() == 1) {
    const CardMold& m = r.molds[0];
    page.line(page.bold(shortened(file_name(m.path), style.width - 14, style.unicode)) +
              (m.copies > 1 ? fmt::format("   {} copies", m.copies) : ""));
    large_parts(page, r.total, r.scale_step);
    page.entry("Holds", localized(millilitre_text(m.fill.value) + doubt(m.fill) + (m.copies > 1 ? " each, " : m.how.starts_with("to ") ? " " : ", ") + m.how +
                                      fmt::format("; {:.3g} % added so that it does not come up short", r.allowance.in_percent()),
                                  style.decimal));
  } else if (!r.molds.empty()) {
    mold_table(page, r);
    large_parts(page, r.total, r.scale_step);
    page.entry("Holds", fmt::format("filled {}; {:.3g} % added so that nothing comes up short",
                                    std::all_of(r.molds.begin(), r.molds.end(), [](const CardMold& m) { return m.how.find("to the brim") != std::string::npos; })
                                        ? "to the brim" : "as noted below", r.allowance.in_percent()));
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
  std::string_view label = "Take care";
  for (const std::string& c : r.cautions) {
    page.entry(label, c);
    label = {};
  }
  return page.take();
}

std::string mix_text(const Mix& mix, const Recipe& recipe, const std::vector<std::string>& cautions, Mass scale_step,
                     const TextStyle& style) {
  Page page(style);
  title(page, "Mix", fmt::format("{}, {} g scale", harmless(mix.name), localized(grams_text(scale_step, scale_step), style.decimal)));
  large_parts(page, recipe, scale_step);
  page.entry("Makes", localized(millilitre_text(recipe.mix / mix.density) +
                                    fmt::format(" at {} g/ml", fixed(in_grams_per_millilitre(mix.density), 2)), style.decimal));
  page.entry("Ratio", localized(ratio_text(recipe), style.decimal));
  times(page, mix);
  notes(page, recipe.notes, false, "Assumed");
  notes(page, recipe.notes, true, "Watch");
  std::string_view label = "Take care";
  for (const std::string& c : cautions) {
    page.entry(label, c);
    label = {};
  }
  return page.take();
}

std::string split_text(const Split& split, const TextStyle& style) {
  Page page(style);
  const Mass fine = Mass::grams(0.01);
  title(page, "Split", fmt::format("{} g of mix", localized(grams_text(split.mix, Mass::grams(1)), style.decimal)));
  page.line(page.faint(left("cup", 20) + right("share", 9) + right("mix", 12) + right("pigment", 12)));
  for (const FilledCup& c : split.cups) {
    page.line(left(shortened(c.name, 20, style.unicode), 20) + right(localized(fmt::format("{:.4g} %", c.share.in_percent()), style.decimal), 9) +
              right(localized(grams_text(c.mix, Mass::grams(1)), style.decimal) + " g", 12) +
              right(c.pigment > Mass() ? localized(grams_text(c.pigment, fine), style.decimal) + " g" : std::string("–"), 12));
    for (const MasterBatch& m : c.masters)
      page.entry("", localized(fmt::format("{}: too little to weigh. Stir {} g into {} g of mix, take {} g of that.", m.pigment_name,
                                           grams_text(m.pigment, fine), grams_text(m.mix, fine), grams_text(m.take, fine)), style.decimal));
  }
  page.line();
  notes(page, split.notes, false, "Note");
  notes(page, split.notes, true, "Watch");
  return page.take();
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
      page.entry("Code", fmt::format("{} (pourwright explain {})", info(f.error->code).slug, info(f.error->code).slug));
      continue;
    }
    page.entry("Mesh", fmt::format("{} triangles, {} {}, {}", f.triangles, f.shells, f.shells == 1 ? "shell" : "shells",
                                   f.closed ? "closed" : "open"));
    if (f.solid)
      page.entry("Solid", localized(millilitre_text(f.solid->volume.value) + doubt(f.solid->volume) +
                                        fmt::format(", surface {} cm²", fixed(in_square_millimetres(f.solid->area) / 100, 1)), style.decimal));
    if (!f.cavities.empty()) {
      page.line();
      page.line(page.faint(left("cavity", 12) + right("holds", 14) + right("brim at", 12) + right("depth", 11) +
                           right("opening", 13) + "   filled"));
      for (const CavityRow& c : f.cavities) {
        const double depth = in_millimetres(c.brim - c.floor);
        page.line(localized(left(fmt::format("{} {}", c.id, c.kind), 12) + right(millilitre_text(c.capacity.value) + doubt(c.capacity), 14) +
                                right(fmt::format("{} mm", fixed(in_millimetres(c.brim), 2)), 12) +
                                right(fmt::format("{} mm", fixed(depth, 2)), 11) +
                                right(fmt::format("{} cm²", fixed(in_square_millimetres(c.opening) / 100, 2)), 13) + "   " +
                                (c.filled ? "yes" : c.parent > 0 ? fmt::format("in {}", c.parent) : "no"), style.decimal));
      }
      page.line();
    }
    for (const MendRow& m : f.mended)
      page.entry("Mended", fmt::format("{}: {} ({:+.3g} ml)", m.code, m.count, in_millilitres(m.volume_change)));
    notes(page, f.notes, false, "Assumed");
    notes(page, f.notes, true, "Watch");
  }
  return page.take();
}

}  // namespace pourwright

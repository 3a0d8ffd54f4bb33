// SPDX-License-Identifier: GPL-3.0-or-later
// What a person reads: at a bench, at arm's length, with wet hands. The two weights are the largest thing on
// it.
#include <pourwright/report.hpp>

#include "report/layout.hpp"
#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
using namespace phrases;

namespace {

/// "name: text", unless the text names the file itself.
std::string about_file(const std::string& name, const std::string& text) {
  return text.find("“" + name + "”") != std::string::npos ? text : name + ": " + text;
}

bool is_asked(const CardReport& r, const std::string& path) {
  return std::any_of(r.questions.begin(), r.questions.end(),
                     [&](const Question& q) { return q.path == path; });
}

/// Both readings as equals, and what settles it.
void questions(Page& page, const CardReport& r) {
  const TextStyle& style = page.style();
  const auto grams = [&](Mass m) { return phrases::grams(m, r.scale_step, style); };
  for (const Question& q : r.questions) {
    page.line();
    page.line(page.bold(shortened(file_name(q.path), style.width - 14, style.unicode)) +
              (q.copies > 1 ? fmt::format("   {} copies", q.copies) : ""));
    std::vector<std::vector<std::string>> rows{{"either", "each takes", "liquid", "powder", "mix"}};
    std::string options;
    for (const Question::Answer& a : q.answers) {
      rows.push_back({a.says, localized(millilitre_text(a.fill.value), style.decimal),
                      grams(mass_of(a.recipe.parts, PartKind::liquid)),
                      grams(mass_of(a.recipe.parts, PartKind::powder)), grams(a.recipe.mix)});
      options += (options.empty() ? "" : " or ") + a.option;
    }
    table(page, rows);
    page.entry("Say which", options + "; it is in no total until then", true);
    page.entry("Because", fmt::format("{}", fmt::join(q.why, "; ")));
  }
}

void errors(Page& page, const CardReport& r) {
  for (const auto& e : r.errors) {
    if (is_asked(r, e.path)) continue;
    page.entry("Not poured", about_file(file_name(e.path), e.problem.text), true);
    if (!e.problem.hint.empty()) page.entry("", e.problem.hint);
  }
}

/// One row a mold: what of each kind of part goes into all its copies, and what is poured into each of them.
void mold_table(Page& page, const CardReport& r) {
  const TextStyle& style = page.style();
  const auto some = [&](PartKind kind) {
    return std::any_of(r.total.parts.begin(), r.total.parts.end(),
                       [&](const Part& p) { return p.kind == kind; });
  };
  const auto grams = [&](Mass m) { return phrases::grams(m, r.scale_step, style); };
  const bool others = some(PartKind::component) || some(PartKind::water), pigments = some(PartKind::pigment);
  const bool several =
      std::any_of(r.molds.begin(), r.molds.end(), [](const CardMold& m) { return m.copies > 1; });
  std::vector<std::vector<std::string>> rows{{"mold", "copies", "each holds", "liquid", "powder"}};
  if (others) rows[0].push_back("other");
  if (pigments) rows[0].push_back("pigment");
  rows[0].push_back("mix");
  if (several) rows[0].push_back("each");
  for (const CardMold& m : r.molds) {
    const std::vector<Part>& parts = m.weighed.parts;
    std::vector<std::string> row{file_name(m.path), fmt::format("{}", m.copies),
                                 localized(millilitre_text(m.fill.value), style.decimal),
                                 grams(mass_of(parts, PartKind::liquid)),
                                 grams(mass_of(parts, PartKind::powder))};
    if (others) row.push_back(grams(mass_of(parts, PartKind::component) + mass_of(parts, PartKind::water)));
    if (pigments) row.push_back(grams(mass_of(parts, PartKind::pigment)));
    row.push_back(grams(m.weighed.mix.value));
    const Mass each = Mass::micrograms(m.weighed.mix.value.in_micrograms() / m.copies);
    if (several) row.push_back(grams(round_to(each, r.scale_step)));
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

/// What all molds share is said once, what differs with their names.
void tray_notes(Page& page, const CardReport& r, bool warnings, std::string_view label) {
  struct Group {
    Topic topic;
    std::string text;
    std::vector<std::string> names;
  };
  std::vector<Group> groups;
  for (const CardMold& m : r.molds)
    for (const Note& n : m.notes) {
      if (n.warning != warnings) continue;
      const std::string& text = n.brief.empty() ? n.text : n.brief;
      auto it = std::find_if(groups.begin(), groups.end(), [&](const Group& g) { return g.text == text; });
      if (it == groups.end()) it = groups.insert(it, {n.topic, text, {}});
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
    const std::string whose = !all ? some_of(g.names) + ": " : g.topic == Topic::reading ? "each " : "";
    say(whose + sentence(g.text, decimal));
  }
}

std::vector<std::vector<std::string>> cavity_rows(const std::vector<Cavity>& cavities, char decimal) {
  std::vector<std::vector<std::string>> rows{{"cavity", "holds", "brim at", "depth", "opening", "filled"}};
  const auto mm = [](Length l) { return fixed(in_millimetres(l), 2) + " mm"; };
  for (const Cavity& c : cavities) {
    rows.push_back({fmt::format("{} {}", c.id, name(c.kind)),
                    millilitre_text(c.capacity.value) + doubt(c.capacity), mm(c.brim), mm(c.brim - c.floor),
                    fixed(in_square_millimetres(c.opening) / 100, 2) + " cm²",
                    c.filled       ? "yes"
                    : c.parent > 0 ? fmt::format("in {}", c.parent)
                                   : "no"});
    for (std::string& cell : rows.back()) cell = localized(std::move(cell), decimal);
  }
  return rows;
}

/// Level, volume and free surface of each cavity, from a tenth of the height to the brim; once for cavities
/// that are alike.
void fill_tables(Page& page, const std::string& name, const std::vector<CardMold::Table>& tables) {
  using Rows = std::vector<std::vector<std::string>>;
  std::vector<std::pair<std::string, Rows>> kinds;  // numbers of the cavities, and the lines
  for (const CardMold::Table& t : tables) {
    Rows rows{{"", "above the floor", "height", "free surface"}};
    for (const FillMark& m : t.marks)
      rows.push_back({millilitre_text(m.volume) + fmt::format("  ({} %)", fixed(100 * m.share, 1)),
                      fixed(in_millimetres(m.level - t.floor), 2) + " mm",
                      fixed(in_millimetres(m.level), 2) + " mm",
                      fixed(in_square_millimetres(m.surface) / 100, 2) + " cm²"});
    const auto same =
        std::find_if(kinds.begin(), kinds.end(), [&](const auto& k) { return k.second == rows; });
    if (same == kinds.end())
      kinds.emplace_back(fmt::format("{}", t.cavity), std::move(rows));
    else
      same->first += fmt::format(", {}", t.cavity);
  }
  for (auto& [numbers, rows] : kinds) {
    rows[0][0] = name;
    if (tables.size() > 1) rows[0][0] += fmt::format("{}cavity {}", name.empty() ? "" : ", ", numbers);
    for (auto& row : rows)
      for (std::string& cell : row) cell = localized(std::move(cell), page.style().decimal);
    page.line();
    table(page, rows);
  }
  if (!kinds.empty()) page.line();
}

/// How sure the grams are, and how often the batch runs short all the same.
void certainty(Page& page, const CardReport& r) {
  double least = 1e9, most = 0;
  for (const CardMold& m : r.molds) {
    // Of what the mold takes: the row's own interval holds the rounding to the scale too, and its value may
    // follow from the liquid.
    const double spread = r.mix.density_spread.value();
    const double low = in_millilitres(m.fill.low) * (1 - spread),
                 high = in_millilitres(m.fill.high) * (1 + spread);
    if (!(low + high > 0)) continue;
    const double half = (high - low) / (high + low);
    least = std::min(least, half);
    most = std::max(most, half);
  }
  if (most < 5e-4) return;
  const auto percent = [](double x) { return fmt::format("±{} %", fixed(100 * x, x < 0.1 ? 1 : 0)); };
  const std::string low = percent(least), high = percent(most);
  std::string text = low == high ? high : low + " to " + high;
  text += r.molds.size() == 1 ? " of the grams" : " of each mold's grams";
  text += is_weighed(r.mix) ? ", volume and density together; "
                            : fmt::format(", of which the density of a mix nobody has weighed is ±{:.2g} %; ",
                                          r.mix.density_spread.in_percent());
  if (r.running_short && r.running_short->covered())
    text += fmt::format("what is added covers it and what stays in the cup, but for {}",
                        chance_text(r.running_short->stated.value()));
  else if (r.running_short)
    text += fmt::format("with what is added it runs short {}", chance_text(r.running_short->chance));
  page.entry("Sure to", localized(text, page.style().decimal));
}

void tilt_lines(Page& page, const std::vector<TiltLoss>& tilt) {
  std::string_view label = "Bench";
  for (const TiltLoss& t : tilt) {
    page.entry(label, localized(fmt::format("{:.2g}° off level costs {} %, leaning towards {:.0f}°",
                                            t.degrees, fixed(100 * t.share, 2), t.azimuth_degrees),
                                page.style().decimal));
    label = {};
  }
}

}  // namespace

std::string card_text(const CardReport& r, const TextStyle& style) {
  Page page(style);
  title(page, "Pour card", fmt::format("{}, {}", mix_name(r.mix), scale_text(r.scale, r.scale_step, style)));
  if (r.molds.size() == 1) {
    const CardMold& m = r.molds[0];
    page.line(page.bold(shortened(file_name(m.path), style.width - 14, style.unicode)) +
              (m.copies > 1 ? fmt::format("   {} copies", m.copies) : ""));
    large_parts(page, r.total, r.scale_step);
    const std::string_view joint = m.copies > 1 ? " each, " : m.how.starts_with("to ") ? " " : ", ";
    page.entry(m.level.starts_with("to ") ? "Holds" : "Takes",
               volume_text(m.fill.value, style) +
                   localized(doubt(m.fill) + std::string(joint) + m.how +
                                 fmt::format("; {:.3g} % added", r.allowance.in_percent()),
                             style.decimal));
  } else if (!r.molds.empty()) {
    mold_table(page, r);
    large_parts(page, r.total, r.scale_step);
    page.entry("Filled",
               levels(r, style.decimal) +
                   localized(fmt::format("; {:.3g} % added", r.allowance.in_percent()), style.decimal));
  }
  for (const CardMold& m : r.molds)
    fill_tables(page, shortened(file_name(m.path), 24, style.unicode), m.fill_tables);
  if (!r.molds.empty()) {
    certainty(page, r);
    page.entry("Ratio", localized(ratio_text(r.total), style.decimal));
    times(page, r.mix);
    cost(page, r.cost);
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
  questions(page, r);
  errors(page, r);
  cautions(page, r.cautions);
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
  std::string out = fmt::format(
      "pourwright {}\ngeometry wing   {}\nmesh formats    {}\nmixes           {}\n", self.version,
      self.geometry ? "built in" : "left out",
      self.formats.empty() ? "none" : fmt::format("{}", fmt::join(self.formats, " ")), self.mixes);
  if (!self.workshop) return out;
  const SelfDescription::Workshop& w = *self.workshop;
  out += fmt::format("workshop        {}{}\nits own mixes   {}\n", harmless(w.folder),
                     w.remembered ? ", remembered" : "",
                     w.mixes.empty() ? "none" : harmless(fmt::format("{}", fmt::join(w.mixes, ", "))));
  out += fmt::format("pigments        {}\nscales          {}\nleftover molds  {}\nprices          {}\n",
                     w.pigments, w.scales, w.leftover_molds, w.supplies);
  if (w.ledger.empty()) return out + "records         none yet\n";
  return out + (w.damage ? fmt::format("records         not usable: {}\n", harmless(w.damage->text))
                         : fmt::format("records         {}, every page read and whole\n", w.records));
}

std::string measure_text(const MeasureReport& report, const TextStyle& style, bool with_fill_tables) {
  Page page(style);
  for (std::size_t i = 0; i < report.files.size(); ++i) {
    const MeasureRow& f = report.files[i];
    if (i > 0) page.line();
    title(page, shortened(file_name(f.path), style.width - 22, style.unicode),
          !f.ok()     ? "not measured"
          : f.reading ? fmt::format("read as a {}", name(f.reading->chosen))
                      : "");
    if (f.error) {
      page.entry("Problem", f.error->text, true);
      if (!f.error->hint.empty()) page.entry("", f.error->hint);
      page.entry("Code", fmt::format("{} (pourwright explain {})", info(f.error->code).slug,
                                     info(f.error->code).slug));
      continue;
    }
    page.entry("Mesh", fmt::format("{} triangles, {} {}, {}", f.triangles, f.shells,
                                   f.shells == 1 ? "shell" : "shells", f.closed ? "closed" : "open"));
    if (f.solid) {
      const std::string surface =
          f.solid->area
              ? fmt::format(", surface {} cm²", fixed(in_square_millimetres(*f.solid->area) / 100, 1))
              : "";
      page.entry("Solid", localized(millilitre_text(f.solid->volume.value) + doubt(f.solid->volume) + surface,
                                    style.decimal));
    }
    // The dips of a piece are no cavities of a mold.
    if (!f.cavities.empty() && !f.read_as(Reading::piece)) {
      page.line();
      table(page, cavity_rows(f.cavities, style.decimal));
      page.line();
    }
    if (with_fill_tables) {
      std::vector<CardMold::Table> tables;
      for (const Cavity& c : f.cavities)
        if (c.filled) tables.push_back({c.id, c.floor, c.fill_table});
      fill_tables(page, "", tables);
    }
    if (!f.read_as(Reading::piece)) tilt_lines(page, f.tilt);
    Notes mended, others;
    for (const Note& n : f.notes) (n.topic == Topic::mending ? mended : others).push_back(n);
    for (const bool warning : {false, true}) notes(page, mended, warning, "Mended");
    notes(page, others, false, "Assumed");
    notes(page, others, true, "Watch");
  }
  return page.take();
}

}  // namespace pourwright

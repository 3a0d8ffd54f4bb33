// SPDX-License-Identifier: GPL-3.0-or-later
// What a person reads: at a bench, at arm's length, with wet hands. The law: in the order of use. Weights,
// what to watch, how sure, times, what was assumed, care.
#include <pourwright/numbers.hpp>
#include <pourwright/report.hpp>

#include "report/layout.hpp"
#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

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
    for (const std::string& l : wrapped(page.shown(file_name(q.path)), style.width)) page.line(page.bold(l));
    if (q.copies > 1) page.line(fmt::format("  {} copies", q.copies));
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
    page.entry("Because", localized(fmt::format("{}", fmt::join(q.why, "; ")), style.decimal));
  }
}

void not_poured(Page& page, const CardReport& r) {
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
  Rows rows{{"mold", "copies", "each holds", "liquid", "powder"}};
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

// ---- notes ---------------------------------------------------------------------------------------------

/// What says the same of several molds stands once, with their names.
struct Said {
  Topic topic = Topic::general;
  std::string text;
  std::vector<std::string> names;  ///< empty: of the whole card
};

/// Notes of the card and of its molds that `wanted` picks, in that order.
template <class Wanted>
std::vector<Said> gathered(const CardReport& r, Wanted wanted) {
  std::vector<Said> out;
  const bool one = r.molds.size() == 1;
  for (const Notes* list : {&r.notes, &r.total.notes})
    for (const Note& n : *list)
      if (wanted(n)) out.push_back({n.topic, n.brief.empty() ? n.text : n.brief, {}});
  for (const CardMold& m : r.molds)
    for (const Note& n : m.notes) {
      if (!wanted(n)) continue;
      const std::string& text = one || n.brief.empty() ? n.text : n.brief;
      auto it = std::find_if(out.begin(), out.end(),
                             [&](const Said& s) { return !s.names.empty() && s.text == text; });
      if (it == out.end()) it = out.insert(it, {n.topic, text, {}});
      it->names.push_back(file_name(m.path));
    }
  for (Said& s : out) {
    if (s.names.size() != r.molds.size()) continue;
    s.names.clear();
    if (!one && s.topic == Topic::reading) s.text = "each " + s.text;
  }
  return out;
}

std::string with_names(const Said& s, char decimal) {
  return (s.names.empty() ? std::string() : some_of(s.names) + ": ") + sentence(s.text, decimal);
}

/// Less than this is lost in what stays in the cup.
constexpr double least_spill = 0.005;

/// How much a degree spills, worst first.
void bench(Page& page, const CardReport& r, std::string_view& label) {
  struct Spill {
    double share;
    std::string name;
  };
  std::vector<Spill> spills;
  double degrees = 1;
  for (const CardMold& m : r.molds)
    if (!m.tilt.empty() && m.tilt[0].share >= least_spill) {
      spills.push_back({m.tilt[0].share, file_name(m.path)});
      degrees = m.tilt[0].degrees;
    }
  if (spills.empty()) return;
  std::stable_sort(spills.begin(), spills.end(),
                   [](const Spill& a, const Spill& b) { return a.share > b.share; });
  const char decimal = page.style().decimal;
  const auto percent = [&](double share) { return localized(fixed(100 * share, 1) + " %", decimal); };
  const std::string lean = localized(significant(degrees, 2) + "°", decimal);
  if (r.molds.size() == 1) {
    page.entry(label, fmt::format("stand it level: leaning {} spills {} of the fill", lean,
                                  percent(spills[0].share)));
  } else {
    std::string text;
    std::size_t told = 0;
    for (; told < spills.size() && told < 3; ++told)
      text += fmt::format("{}{} of {}", told > 0 ? ", " : "", percent(spills[told].share), spills[told].name);
    if (told < spills.size())
      text +=
          fmt::format(", at most {} of {}", percent(spills[told].share),
                      spills.size() - told == 1 ? "another" : fmt::format("{} others", spills.size() - told));
    page.entry(label, fmt::format("stand them level: leaning {} spills {}", lean, text));
  }
  label = {};
}

/// What has to be done or looked at, warnings first.
void watch(Page& page, const CardReport& r) {
  std::string_view label = "Watch";
  const char decimal = page.style().decimal;
  for (const Said& s : gathered(r, [](const Note& n) { return n.warning && !is_said_elsewhere(n); })) {
    page.entry(label, with_names(s, decimal), true);
    label = {};
  }
  bench(page, r, label);
  for (const Said& s : gathered(r, [](const Note& n) { return !n.warning && n.topic == Topic::walls; })) {
    page.entry(label, with_names(s, decimal));
    label = {};
  }
}

/// What was taken for granted: what holds for all in one paragraph, what differs below it.
void assumed(Page& page, const CardReport& r) {
  const auto wanted = [](const Note& n) {
    return !n.warning && n.topic != Topic::walls && !is_said_elsewhere(n);
  };
  const char decimal = page.style().decimal;
  std::string together = localized(ratio_text(r.total), decimal);
  std::vector<std::string> apart;
  for (const Said& s : gathered(r, wanted)) {
    const std::string text = with_names(s, decimal);
    if (!s.names.empty())
      apart.push_back(text);
    else
      together += (together.empty() ? "" : "; ") + text;
  }
  std::string_view label = "Assumed";
  if (!together.empty()) page.entry(std::exchange(label, {}), together);
  for (const std::string& text : apart) page.entry(std::exchange(label, {}), text);
}

// ---- tables ----------------------------------------------------------------------------------------------

Rows cavity_rows(const std::vector<Cavity>& cavities, char decimal) {
  Rows rows{{"cavity", "holds", "brim at", "depth", "opening", "filled"}};
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

/// Of the grams, volume and density together: the least and the most of the molds.
std::pair<double, double> doubt_of_grams(const CardReport& r) {
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
  return {least, most};
}

/// How sure the grams are, and whether what is added is more than the doubt.
void accuracy(Page& page, const CardReport& r) {
  const auto [least, most] = doubt_of_grams(r);
  const auto percent = [](double x) { return fmt::format("±{} %", fixed(100 * x, x < 0.1 ? 1 : 0)); };
  std::string text;
  if (most >= 5e-4) {
    const std::string low = percent(least), high = percent(most);
    text = fmt::format("{}grams within {}; ", r.molds.size() == 1 ? "" : "each mold's ",
                       low == high ? high : low + " to " + high);
  }
  if (!is_weighed(r.mix))
    text += fmt::format("the density of a mix nobody has weighed is ±{} % of it; ",
                        significant(r.mix.density_spread.in_percent(), 2));
  const std::string extra = r.allowance > Ratio()
                                ? fmt::format("the extra {} %", fixed(r.allowance.in_percent(), 1))
                                : std::string("nothing extra");
  text += r.running_short
              ? fmt::format("with {} it runs short {}", extra,
                            chance_text(r.running_short->covered() ? r.running_short->stated.value()
                                                                   : r.running_short->chance))
              : extra + " is added";
  page.entry("Accuracy", localized(text, page.style().decimal));
}

void tilt_lines(Page& page, const std::vector<TiltLoss>& tilt) {
  std::string_view label = "Bench";
  for (const TiltLoss& t : tilt) {
    page.entry(label,
               localized(fmt::format("leaning {}° spills {} % of the fill, most towards {:.0f}°",
                                     significant(t.degrees, 2), fixed(100 * t.share, 2), t.azimuth_degrees),
                         page.style().decimal));
    label = {};
  }
}

}  // namespace

namespace {

/// The one mold of a card: its name, how it is filled, and how much that is.
void one_mold(Page& page, const CardReport& r) {
  const CardMold& m = r.molds[0];
  const TextStyle& style = page.style();
  const std::string name = page.shown(file_name(m.path));
  const std::string_view joint = m.copies > 1 ? " each, " : m.how.starts_with("to ") ? " " : ", ";
  std::string fill = m.copies > 1 ? fmt::format("{} copies, ", m.copies) : std::string();
  fill +=
      volume_text(m.fill.value, style) + localized(doubt(m.fill) + std::string(joint) + m.how, style.decimal);
  const std::string beside = page.shown("   " + fill);
  if (cells(name) + cells(beside) <= style.width) {
    page.line(page.bold(name) + beside);
    return;
  }
  for (const std::string& l : wrapped(name, style.width)) page.line(page.bold(l));
  for (const std::string& l : wrapped(page.shown(fill), style.width - 2)) page.line("  " + l);
}

/// "32.8 g in each of 6", or how much in which.
std::string shares(const CardMold& m, Mass step, const TextStyle& style) {
  std::vector<std::pair<std::string, std::vector<int>>> kinds;
  for (const CardMold::Share& s : m.shares) {
    Mass fine = step;  // two digits at least: a small cavity has to be told from its neighbour
    while (fine > Mass::grams(0.01) && s.mix < fine * std::int64_t{10})
      fine = Mass::micrograms(fine.in_micrograms() / 10);
    const std::string text = grams(round_to(s.mix, fine), fine, style);
    auto it = std::find_if(kinds.begin(), kinds.end(), [&](const auto& k) { return k.first == text; });
    if (it == kinds.end()) it = kinds.insert(it, {text, {}});
    it->second.push_back(s.cavity);
  }
  if (kinds.size() == 1) return fmt::format("{} in each of {}", kinds[0].first, m.shares.size());
  std::string out;
  for (const auto& [text, numbers] : kinds)
    out += fmt::format("{}{} in {}", out.empty() ? "" : ", ", text, fmt::join(numbers, " + "));
  return out;
}

void cavities(Page& page, const CardReport& r) {
  std::string_view label = "Cavities";
  for (const CardMold& m : r.molds) {
    if (m.shares.size() < 2) continue;
    const std::string whose = r.molds.size() > 1 ? file_name(m.path) + ": " : "";
    page.entry(std::exchange(label, {}), whose + shares(m, r.scale_step, page.style()));
  }
}

}  // namespace

std::string card_text(const CardReport& r, const TextStyle& style) {
  Page page(style);
  page.title("Pour card", fmt::format("{}, {}", mix_name(r.mix), scale_text(r.scale, r.scale_step, style)));
  const bool any = !r.molds.empty();
  questions(page, r);
  if (!r.questions.empty() && any) page.line();
  if (r.molds.size() == 1) {
    one_mold(page, r);
  } else if (any) {
    mold_table(page, r);
    page.line();
  }
  if (any) weights(page, r.total, r.scale_step, price_of(r.cost, style));
  if (any) page.line();
  not_poured(page, r);
  if (any) cavities(page, r);
  watch(page, r);
  if (any) {
    accuracy(page, r);
    if (r.molds.size() > 1) page.entry("Filled", levels(r, style.decimal));
    times(page, r.mix);
    assumed(page, r);
  }
  for (const CardMold& m : r.molds) fill_tables(page, file_name(m.path), m.fill_tables);
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
      "pourwright {}\nreading meshes  {}\nmesh formats    {}\nmixes           {}\n", self.version,
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
    page.title(file_name(f.path), !f.ok()     ? "not measured"
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

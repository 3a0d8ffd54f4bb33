// SPDX-License-Identifier: GPL-3.0-or-later
// Batch sheets that were kept, and one of them weighed again.
#include <pourwright/report_split.hpp>

#include "report/phrases.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
using namespace phrases;

namespace {

std::string day_of(Moment at, std::int64_t utc_offset) {
  const std::string text = moment_text(at + utc_offset);
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

std::string doses(const std::vector<BatchSheet::Dose>& list) {
  std::string out;
  for (const BatchSheet::Dose& d : list)
    out += fmt::format("{}{:.3g} % {}", out.empty() ? "" : " + ", d.dose.in_percent(), d.pigment);
  return out.empty() ? std::string("no pigment") : out;
}

std::string molds_of(const BatchSheet& s) {
  std::string out;
  for (const BatchSheet::Mold& m : s.molds)
    out += fmt::format("{}{} × {}", out.empty() ? "" : ", ", m.copies, m.mold);
  return out;
}

std::string colours_of(const BatchSheet& s) {
  std::string out;
  for (const BatchSheet::Cup& c : s.cups)
    if (!c.doses.empty()) out += (out.empty() ? "" : ", ") + doses(c.doses);
  return out;
}

void whole(Page& page, const Record& r, std::int64_t utc_offset) {
  const auto& s = std::get<BatchSheet>(r.what);
  const TextStyle& style = page.style();
  const std::string when = fmt::format("sheet {}, {}", r.id, day_of(r.at, utc_offset));
  page.title(s.title, when);
  page.entry("Mix", localized(fmt::format(
                                  "{}, {:.6g} g powder to 1 g liquid{}", s.mix, s.ratio.value(),
                                  s.room ? fmt::format(", in a room of {:.3g} °C", in_celsius(*s.room)) : ""),
                              style.decimal));
  std::string_view label = "Weighed";
  for (const BatchSheet::Amount& p : s.parts) {
    page.entry(label, fmt::format("{} {}", grams(p.mass, s.scale_step, style), p.name));
    label = {};
  }
  label = "Molds";
  for (const BatchSheet::Mold& m : s.molds) {
    page.entry(label, fmt::format("{} × {}, {}", m.copies, m.mold, grams(m.mix, s.scale_step, style)));
    label = {};
  }
  label = "Colours";
  for (const BatchSheet::Cup& c : s.cups) {
    page.entry(label, localized(fmt::format("{}, {:.4g} %, {}: {}", c.name, c.share.in_percent(),
                                            grams(c.mix, s.scale_step, style), doses(c.doses)),
                                style.decimal));
    label = {};
  }
  if (!s.dry_colour.empty()) page.entry("Dry", s.dry_colour);
  if (!s.note.empty()) page.entry("Note", s.note);
}

}  // namespace

std::string sheets_text(const std::vector<Record>& sheets, std::int64_t utc_offset, const TextStyle& style) {
  Page page(style);
  if (sheets.empty()) page.line("no such sheet is recorded: --record TITLE on card, mix and split keeps one");
  if (sheets.size() == 1) {
    whole(page, sheets[0], utc_offset);
    return page.take();
  }
  for (const Record& r : sheets) {
    const auto& s = std::get<BatchSheet>(r.what);
    std::string text = fmt::format("{}  {}", day_of(r.at, utc_offset), s.title);
    for (const std::string& more :
         {molds_of(s), colours_of(s), s.dry_colour.empty() ? "" : "dry: " + s.dry_colour})
      if (!more.empty()) text += "; " + more;
    page.entry(fmt::format("{:>9}", r.id), localized(text, style.decimal));
  }
  return page.take();
}

std::string repeat_text(const RepeatReport& r, std::int64_t utc_offset, const TextStyle& style) {
  Page page(style);
  const auto& s = std::get<BatchSheet>(r.record.what);
  const MixReport& w = r.weighed;
  const std::string when =
      fmt::format("as on {}, sheet {}", day_of(r.record.at, utc_offset).substr(0, 10), r.record.id);
  page.title(s.title, when);
  weights(page, w.recipe, w.scale_step, price_of(w.cost, style));
  page.line();
  std::string_view label = "Molds";
  for (const RepeatReport::Row& m : r.molds) {
    const Mass each = round_to(Mass::micrograms(m.mix.in_micrograms() / m.copies), w.scale_step);
    page.entry(label, fmt::format("{} × {}, {} each, {} in all", m.copies, m.mold,
                                  mass_text(each, w.scale_step, style), grams(m.mix, w.scale_step, style)));
    label = {};
  }
  if (r.cups) {
    label = "Cups";
    for (const FilledCup& c : r.cups->cups) {
      std::string text = fmt::format("{} {}", c.name, mass_text(c.mix, w.scale_step, style));
      for (const Part& p : c.pigments)
        text += fmt::format(", {} {}", grams(p.mass, Mass::grams(0.01), style), p.name);
      page.entry(label, text);
      label = {};
    }
  }
  page.entry("Mix", fmt::format("{}, {}", w.mix.name, localized(ratio_text(w.recipe), style.decimal)));
  times(page, w.mix);
  if (r.steps) {
    page.line();
    for (std::size_t i = 0; i < r.steps->plan.steps.size(); ++i)
      split_step(page, *r.steps, r.steps->plan.steps[i], i + 1);
  }
  if (!s.dry_colour.empty()) page.entry("Dry", "then it dried " + s.dry_colour);
  notes(page, w.recipe.notes, false, "Note");
  notes(page, w.recipe.notes, true, "Watch");
  cautions(page, w.cautions);
  return page.take();
}

}  // namespace pourwright

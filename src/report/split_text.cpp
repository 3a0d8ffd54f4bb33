// SPDX-License-Identifier: GPL-3.0-or-later
// Cups on the bench, in the order of the hands.
#include <pourwright/report_split.hpp>

#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
using namespace phrases;

namespace {

/// The finest decimal step that the cups' weights need, so that their points stand below each other.
Mass common_step(const std::vector<FilledCup>& cups) {
  Mass step = Mass::grams(1);
  for (const FilledCup& c : cups)
    while (step > Mass::micrograms(1) && c.mix.in_micrograms() % step.in_micrograms() != 0)
      step = Mass::micrograms(step.in_micrograms() / 10);
  return step;
}

const Mass fine = Mass::grams(0.01);

void cup_table(Page& page, const std::vector<FilledCup>& cups) {
  const TextStyle& style = page.style();
  const Mass step = common_step(cups);
  const int mix_width = style.us ? 22 : 12, names = style.us ? 12 : 20;
  page.line(page.faint(left("cup", names) + right("share", 9) + right("mix", mix_width) + "   pigment"));
  for (const FilledCup& c : cups) {
    std::string row = left(shortened(c.name, names, style.unicode), names) +
                      right(localized(fmt::format("{:.4g} %", c.share.in_percent()), style.decimal), 9) +
                      right(mass_text(c.mix, step, style), mix_width);
    if (c.pigments.empty()) page.line(row + (style.unicode ? "   –" : "   -"));
    for (std::size_t i = 0; i < c.pigments.size(); ++i) {
      const Part& p = c.pigments[i];
      std::string pigment = localized(fmt::format("{:.4g} % ", c.doses[i].in_percent()), style.decimal) +
                            harmless(p.name) + ": " + mass_text(p.mass, fine, style);
      if (i < c.drops.size() && c.drops[i] > 0) pigment += fmt::format(", about {} drops", c.drops[i]);
      page.line(row + "   " + pigment);
      row = std::string(static_cast<std::size_t>(names + 9 + mix_width), ' ');
    }
    for (const MasterBatch& m : c.masters)
      page.entry(
          "", fmt::format("{} is too little to weigh: stir {} into {} of mix, take {} of that in place of as "
                          "much plain mix; {} of it are left, which the cups do without",
                          m.pigment_name, grams(m.pigment, fine, style), grams(m.mix, fine, style),
                          grams(m.take, fine, style), grams(m.left(), fine, style)));
  }
}

/// To the step of the scale the cups stand on: nobody pours finer.
std::string of_cup(const FilledStep& s, const Pouring& p, Mass step, const TextStyle& style) {
  return fmt::format("{} {}", s.cups[p.cup].name, grams(round_to(p.mass, step), step, style));
}

/// What the hands do, in one line.
std::string movement(const FilledStep& s, Mass step, const TextStyle& style) {
  std::string out;
  for (const Pouring& p : s.order) {
    if (!out.empty()) out += s.technique == Technique::side_by_side ? " and " : ", ";
    if (p.portions > 1)
      out +=
          fmt::format("{} in {} drops of about {}", of_cup(s, p, step, style), p.portions,
                      grams(round_to(Mass::micrograms(p.mass.in_micrograms() / p.portions), Mass::grams(0.1)),
                            Mass::grams(0.1), style));
    else
      out += of_cup(s, p, step, style);
  }
  switch (s.technique) {
    case Technique::solid:
      return out;
    case Technique::veins:
      return out + "; two to four strokes with a stick, then stop";
    case Technique::side_by_side:
      return out + " at once from two sides; do not stir";
    case Technique::layered:
      return "into one cup in this order: " + out + "; then all from one point";
  }
  return out;
}

}  // namespace

namespace phrases {

void split_step(Page& page, const SplitReport& r, const FilledStep& s, std::size_t number) {
  const TextStyle& style = page.style();
  const auto minutes_text = [](Duration d) {
    return fixed(in_minutes(d), in_minutes(d) == std::floor(in_minutes(d)) ? 0 : 1);
  };
  const std::string head =
      fmt::format("{}{}, {}", r.plan.steps.size() > 1 ? fmt::format("{}  ", number) : std::string(),
                  shortened(s.name, 40, style.unicode), name(s.technique));
  const std::string when = localized(
      fmt::format("{} to {} min after the powder", minutes_text(s.from), minutes_text(s.to)), style.decimal);
  page.line(page.bold(head) + right(when, style.width - cells(head)));
  if (s.carried > Mass())
    page.entry(
        "From",
        fmt::format("{} left by the step before, {} % pigment in it{}", grams(s.carried, fine, style),
                    localized(fixed(s.carried_pigment.in_percent(), 2), style.decimal),
                    s.plain > Mass() ? fmt::format(", and {} plain", grams(s.plain, r.scale_step, style))
                                     : std::string()));
  cup_table(page, s.cups);
  page.entry("Pour", movement(s, r.scale_step, style));
  page.entry("Then", fmt::format("{} poured, {} stay in the cups, {} left{}", grams(s.poured, fine, style),
                                 grams(s.residue - s.aside, fine, style), grams(s.left, fine, style),
                                 s.bucket > Mass() ? fmt::format("; {} plain in the bucket",
                                                                 grams(s.bucket, r.scale_step, style))
                                                   : std::string()));
  page.line();
}

}  // namespace phrases

namespace {

std::string leftover_words(const LeftoverPlan& plan, const TextStyle& style) {
  std::string out;
  const Mass tenth = Mass::grams(0.1);
  for (const LeftoverFill& f : plan.fills)
    out += fmt::format("{}{} × {} of {}", out.empty() ? "" : ", ", f.count, f.name,
                       grams(round_to(f.each, tenth), tenth, style));
  if (plan.chips > Mass())
    out += fmt::format("{}{} for chips", out.empty() ? "" : "; ",
                       grams(round_to(plan.chips, tenth), tenth, style));
  return out;
}

constexpr std::string_view never_again = "what begins to set is never stirred with water or liquid again";

}  // namespace

std::string split_text(const SplitReport& r, const TextStyle& style) {
  Page page(style);
  const std::string of = grams(r.plan.mix, r.scale_step, style) + " of mix";
  page.title(r.title.empty() ? "Split" : r.title, of);
  if (r.base) {
    weights(page, *r.base, r.scale_step);
    page.line();
    times(page, r.mix);
    page.entry("Ratio", localized(ratio_text(*r.base), style.decimal));
    page.line();
  }
  if (!r.followed)
    cup_table(page, r.plan.steps[0].cups);
  else
    for (std::size_t i = 0; i < r.plan.steps.size(); ++i) split_step(page, r, r.plan.steps[i], i + 1);
  const Mass poured = r.plan.poured();
  if (r.pieces && poured > Mass()) {
    const Mass tenth = Mass::grams(0.1);
    page.entry("Pieces",
               fmt::format("{}, {} in each", *r.pieces,
                           grams(round_to(Mass::micrograms(poured.in_micrograms() / *r.pieces), tenth), tenth,
                                 style)));
  }
  if (r.leftovers) {
    const Mass left = r.plan.left + r.plan.bucket;
    page.entry("Left over", fmt::format("{}: {}; {}", grams(left, fine, style),
                                        leftover_words(*r.leftovers, style), never_again));
  }
  if (r.cost) page.entry("Costs", price_of(r.cost, style).substr(6));
  Notes rest;
  for (const Note& n : r.notes)
    if (n.topic != Topic::pigment) rest.push_back(n);  // said below its cup
  if (!rest.empty() && !r.followed) page.line();
  notes(page, rest, false, "Note");
  notes(page, rest, true, "Watch");
  return page.take();
}

std::string leftover_text(const LeftoverReport& r, const TextStyle& style) {
  Page page(style);
  page.title("Left over", fmt::format("{} of {}", grams(r.left, r.scale_step, style), mix_name(r.mix)));
  const Mass tenth = Mass::grams(0.1);
  for (const LeftoverFill& f : r.plan.fills)
    page.entry("Pour", fmt::format("{} × {}, {} each", f.count, f.name,
                                   mass_text(round_to(f.each, tenth), tenth, style)));
  if (r.plan.chips > Mass())
    page.entry("Spread", fmt::format("{} thin on a sheet: chips for a later piece",
                                     mass_text(round_to(r.plan.chips, tenth), tenth, style)));
  if (!r.has_molds)
    page.entry("Note",
               "the workshop names no small molds: a [[leftover]] in its file is a place for what is left");
  notes(page, r.notes, false, "Note");
  notes(page, r.notes, true, "Watch");
  page.entry("Take care", std::string(never_again));
  return page.take();
}

}  // namespace pourwright

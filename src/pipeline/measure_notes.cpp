// SPDX-License-Identifier: GPL-3.0-or-later
// What measuring assumed, changed and noticed, in sentences. Law: written from the findings alone, once, in
// the order of the steps; a leak keeps its warning whatever the file is then read as, unless the user said
// that it is the piece.
#include "geometry/mesh/points.hpp"
#include "pipeline/findings.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

// ---- unit ----------------------------------------------------------------------------------------------

/// Décor pieces are a hand to an arm long. Outside that, some other unit would usually make sense.
constexpr double shortest_mm = 8, longest_mm = 1500;
/// And this is what would make sense.
constexpr double likely_low_mm = 20, likely_high_mm = 1000;

bool unit_unlikely(const Findings& f) {
  const double longest = f.box.size().maxCoeff();
  return f.unit_from != UnitFrom::option && !(longest >= shortest_mm && longest <= longest_mm);
}

void note_unlikely_unit(const Findings& f, Notes& notes) {
  const double longest = f.box.size().maxCoeff();
  std::string better;
  for (const LengthUnit u : {LengthUnit::mm, LengthUnit::cm, LengthUnit::in, LengthUnit::m}) {
    const double would = longest / millimetres_in(f.unit) * millimetres_in(u);
    if (u != f.unit && would >= likely_low_mm && would <= likely_high_mm)
      better +=
          fmt::format("{}--unit {} would make it {:.4g} mm", better.empty() ? "" : ", ", name(u), would);
  }
  notes.push_back({"unit-unlikely",
                   fmt::format("the model is {:.3g} mm long{}{}", longest,
                               longest < shortest_mm ? ", tiny" : ", very large",
                               better.empty() ? "; check its unit (--unit)" : "; " + better),
                   true});
}

std::string_view plural(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::mm:
      return "millimetres";
    case LengthUnit::cm:
      return "centimetres";
    case LengthUnit::m:
      return "metres";
    case LengthUnit::in:
      return "inches";
    case LengthUnit::ft:
      return "feet";
  }
  return "";
}

void note_unit(const Findings& f, Notes& notes) {
  if (f.box.empty()) return;
  const Vec3 s = f.box.size();
  const std::string size = fmt::format("{:.4g} × {:.4g} × {:.4g} mm", s.x(), s.y(), s.z());
  const auto say = [&](std::string code, const std::string& brief) {
    notes.push_back({std::move(code), brief + ": " + size, false, Topic::unit, brief});
  };
  switch (f.unit_from) {
    case UnitFrom::assumed:
      say("unit-assumed", "lengths taken as millimetres");
      break;
    case UnitFrom::option:
      say("unit-given", fmt::format("lengths read as {}", plural(f.unit)));
      break;
    case UnitFrom::file:
      say("unit-from-file", fmt::format("the file says {}", plural(f.unit)));
      break;
  }
  if (unit_unlikely(f)) note_unlikely_unit(f, notes);
}

void note_scale(const Findings& f, Notes& notes) {
  if (!f.scale) return;
  notes.push_back({"scale-known",
                   fmt::format("scaled by {:.6g} so that {}; the last digit given leaves ±{:.2g} % of volume",
                               f.scale->factor, f.scale->known.text, 100 * f.scale->doubt),
                   false});
}

// ---- cavities ------------------------------------------------------------------------------------------

/// A place as people read it: tenths of a micrometre are noise.
std::string exact_place(const Point& p) {
  const auto n = [](double v) { return std::abs(v) < 5e-4 ? 0.0 : v; };
  return fmt::format("({:.4g}, {:.4g}, {:.4g})", n(p[0]), n(p[1]), n(p[2]));
}

/// Less air than this share of its cavity is not worth a word.
constexpr double least_trap = 1e-4;

/// What a maker has to do about air that cannot leave.
void note_traps(const Cavity& c, Notes& notes) {
  for (const AirTrap& t : c.air_traps) {
    if (t.volume < c.capacity.value * least_trap) continue;
    std::string vent = t.vent_length ? fmt::format("a vent {:.3g} mm long at {} lets it out",
                                                   in_millimetres(*t.vent_length), exact_place(t.vent))
                                     : "its top is at " + exact_place(t.vent);
    if (t.tops > 1) vent += fmt::format(", and {} more tops", t.tops - 1);
    notes.push_back({"air-trap",
                     fmt::format("air is caught: {} above height {:.4g} mm; {}",
                                 in_millilitres(t.volume) < 0.05
                                     ? fmt::format("{:.2g} mm³", in_cubic_millimetres(t.volume))
                                     : fmt::format("{:.1f} ml", in_millilitres(t.volume)),
                                 in_millimetres(t.lip), vent),
                     true});
  }
}

void note_bottom_drain(const Drain& d, Notes& notes) {
  notes.push_back(
      {"drain",
       fmt::format("leaks through a passage of {:.3g} mm² at ({:.4g}, {:.4g}, {:.4g}); plugged it would "
                   "hold {:.1f} ml",
                   in_square_millimetres(*d.throat), d.at[0], d.at[1], d.at[2], in_millilitres(d.would_hold)),
       true});
}

/// The holes in the side of one cavity, the lowest first.
void note_side_holes(const std::vector<Drain>& holes, const Cavity& c, Notes& notes) {
  const std::string what =
      holes.size() > 1 ? fmt::format("{} holes in the side, the lowest", holes.size()) : "a hole in the side";
  const auto throat = holes.front().throat;
  notes.push_back(
      {"side-hole",
       fmt::format(
           "{}{} at height {:.4g} mm, lowers the brim to {:.1f} ml; plugged it would hold {}{:.1f} ml", what,
           throat ? fmt::format(" of {:.3g} mm²", in_square_millimetres(*throat)) : "",
           in_millimetres(c.brim), in_millilitres(holes.front().holds), throat ? "" : "about ",
           in_millilitres(holes.front().would_hold)),
       true});
}

void note_drains(const CavityResult& found, Notes& notes) {
  for (std::size_t i = 0; i < found.drains.size(); ++i) {
    const Drain& d = found.drains[i];
    if (d.kind == DrainKind::bottom) {
      note_bottom_drain(d, notes);
      continue;
    }
    std::vector<Drain> holes{d};
    while (i + 1 < found.drains.size() && found.drains[i + 1].kind == DrainKind::side &&
           found.drains[i + 1].cavity == d.cavity)
      holes.push_back(found.drains[++i]);
    note_side_holes(holes, found.cavities.at(d.cavity), notes);
  }
}

/// A piece missing from a scan's rim lets out what the mold would hold.
void note_bites(const CavityResult& found, Notes& notes) {
  for (const Bite& b : found.bites)
    notes.push_back(
        {"rim-bite",
         fmt::format("it spills at {:.4g} mm where the rim is missing or dips, at {}; with its rim whole, at "
                     "{:.4g} mm, it would hold {:.1f} ml",
                     in_millimetres(b.spills), exact_place(point(b.at)), in_millimetres(b.rim),
                     in_millilitres(b.would_hold)),
         true});
}

void note_nothing_held(const Findings& f, Notes& notes) {
  if (!f.is(Reading::mold) || !f.filling || !f.filling->each.empty()) return;
  Volume closed;
  for (const Cavity& c : f.cavities)
    if (c.kind == CavityKind::sealed) closed += c.capacity.value;
  notes.push_back(
      {"nothing-held",
       closed > Volume()
           ? fmt::format("nothing can be poured into it as it stands: a closed void of {:.1f} ml has no "
                         "opening",
                         in_millilitres(closed))
           : std::string("nothing in it holds liquid as it stands"),
       true});
}

void note_cavities(const Findings& f, Notes& notes) {
  if (!f.found) return;
  for (const Cavity& c : f.found->cavities.list())
    if (c.filled) note_traps(c, notes);
  if (const auto& lean = f.found->lean)
    notes.push_back(
        {"lean",
         fmt::format("leaning it by {:.0f}° while pouring, so that {} points up, lets the caught air out",
                     lean->degrees, exact_place(point(lean->up))),
         false});
  notes.insert(notes.end(), f.found->notes.begin(), f.found->notes.end());
  const bool piece_for_sure = f.is(Reading::piece) && f.reading->given;
  if (!piece_for_sure) note_drains(*f.found, notes);
  note_bites(*f.found, notes);
  note_nothing_held(f, notes);
}

}  // namespace

Notes notes_of(const Findings& f) {
  Notes notes = f.file_notes;
  note_scale(f, notes);
  note_unit(f, notes);
  if (f.overlap_skipped)
    notes.push_back(
        {"overlap-not-checked", "quick: whether the surface overlaps itself was not checked", false});
  if (f.closed) {
    const Notes closing = closing_notes(*f.closed, f.joined, f.left_open_holds);
    notes.insert(notes.end(), closing.begin(), closing.end());
  }
  if (f.pose) notes.push_back({"up-chosen", f.pose->why, false});
  note_cavities(f, notes);
  if (f.is(Reading::scan))
    notes.push_back(
        {"read-as-scan", "an open surface with a rim: read as a scan of the mold's inside", false});
  if (f.body_untold)
    notes.push_back({"solid-uncertain", "the volume of the mold itself is too uncertain to be told", false});
  return notes;
}

std::vector<Alternative> doubts_of(const Findings& f) {
  std::vector<Alternative> out;
  if (f.reading && !f.reading->sure) out = f.reading->others;
  if (f.left_open_holds)
    out.push_back({"bodies", "the gaps between the bodies are left open", "--gap 0mm", *f.left_open_holds});
  if (!f.box.empty() && unit_unlikely(f))
    for (const LengthUnit u : {LengthUnit::mm, LengthUnit::cm, LengthUnit::in, LengthUnit::m}) {
      const double k = millimetres_in(u) / millimetres_in(f.unit), would = f.box.size().maxCoeff() * k;
      if (u == f.unit || would < likely_low_mm || would > likely_high_mm) continue;
      Alternative a{"unit",
                    fmt::format("lengths in {}: {:.4g} mm long", plural(u), would),
                    fmt::format("--unit {}", name(u)),
                    {}};
      if (f.poured) a.fill = f.poured->value * (k * k * k);
      out.push_back(std::move(a));
    }
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What measuring assumed, changed and noticed, in sentences. Law: written from the findings alone, once, in
// the order of the steps; a leak keeps its warning whatever the file is then read as, unless the user said
// that it is the piece.
#include "geometry/mesh/points.hpp"
#include "pipeline/findings.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace pourwright {
namespace {

// ---- unit ----------------------------------------------------------------------------------------------

/// Décor pieces are a finger to an arm long: one of 12 cm exported in centimetres is 12 mm. Outside that,
/// some other unit would usually make sense.
constexpr double shortest_mm = 20, longest_mm = 1500;
/// And this is what would make sense.
constexpr double likely_low_mm = 20, likely_high_mm = 1000;
/// The molds of one workshop differ, and a further one may differ more: by this factor of volume.
constexpr double unlike_the_others = 20, like_the_others = 5;

/// What the workshop's other molds say of an amount, if they say anything.
bool among(const std::array<Volume, 2>& usual, Volume v, double factor) {
  return v * factor >= usual[0] && v <= usual[1] * factor;
}

bool unit_unlikely(const Findings& f) {
  if (f.unit_from == UnitFrom::option) return false;
  if (f.usual && f.poured) return !among(*f.usual, f.poured->value, unlike_the_others);
  const double longest = f.box.size().maxCoeff();
  return !(longest >= shortest_mm && longest <= longest_mm);
}

/// Units in which the size would make sense, with the factor of a length.
std::vector<std::pair<LengthUnit, double>> likelier_units(const Findings& f) {
  std::vector<std::pair<LengthUnit, double>> out;
  for (const LengthUnit u : {LengthUnit::mm, LengthUnit::cm, LengthUnit::in, LengthUnit::m}) {
    if (u == f.unit) continue;
    const double k = millimetres_in(u) / millimetres_in(f.unit), would = f.box.size().maxCoeff() * k;
    const bool likely = f.usual && f.poured ? among(*f.usual, f.poured->value * (k * k * k), like_the_others)
                                            : would >= likely_low_mm && would <= likely_high_mm;
    if (likely) out.emplace_back(u, k);
  }
  return out;
}

std::string amount(Volume v) {
  const double ml = in_millilitres(v);
  return ml < 0.1 ? fmt::format("{:.2g} mm³", ml * 1000) : fmt::format("{:.3g} ml", ml);
}

void note_unlikely_unit(const Findings& f, Notes& notes) {
  const double longest = f.box.size().maxCoeff();
  std::string better;
  for (const auto& [unit, k] : likelier_units(f))
    better += fmt::format("{}--unit {} would make it {:.4g} mm", better.empty() ? "" : ", ", name(unit),
                          longest * k);
  std::string against = longest < shortest_mm ? ", tiny" : ", very large";
  if (f.usual && f.poured)
    against = fmt::format(" and would take {}, while the workshop's molds take {} to {}",
                          amount(f.poured->value), amount((*f.usual)[0]), amount((*f.usual)[1]));
  notes.push_back({"unit-unlikely",
                   fmt::format("the model is {:.3g} mm long{}{}", longest, against,
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

/// "12.0 ml, 13 % more": against what it holds as it is.
std::string against(Volume other, Volume now) {
  const double ml = in_millilitres(other);
  const std::string text = fmt::format("{} ml", ml < 10 ? fmt::format("{:.2g}", ml) : fixed(ml, 1));
  return now > Volume() ? fmt::format("{}, {:.2g} % more", text, 100 * (other / now - 1)) : text;
}

void note_ways(const Findings& f, Notes& notes) {
  if (!f.ways || (f.reading && f.reading->given && f.is(Reading::piece))) return;
  const Ways& w = *f.ways;
  if (w.axis && (!f.is(Reading::piece) || w.mold_when_turned)) {
    const std::string up = direction_text(w.axis->up);
    notes.push_back(
        {"holds-more-turned",
         fmt::format("with {} up it would hold {} (--up {})", up, against(w.axis->holds, w.now.holds), up),
         true});
  }
  if (w.rim && !f.is(Reading::piece))
    notes.push_back({"rim-leans",
                     fmt::format("the rim leans by {:.1f}°; standing level it would hold {} (--up rim)",
                                 w.rim->degrees, against(w.rim->holds, w.now.holds)),
                     true});
}

void note_bodies(const Findings& f, Notes& notes) {
  if (!f.bodies) return;
  const Bodies& b = *f.bodies;
  if (b.apart)
    notes.push_back(
        {"bodies-apart",
         fmt::format("{} bodies lie {:.2g} mm apart; joined they would hold {} ({})", b.count,
                     in_millimetres(b.apart->gap),
                     against(b.apart->holds, f.ways ? f.ways->now.holds : Volume()), gap_option(*b.apart)),
         true});
  if (f.is(Reading::piece)) return;
  if (b.side_by_side)
    notes.push_back(
        {"halves-side-by-side",
         "two bodies of one outline stand side by side, each with a channel out of its side, like the halves "
         "of "
         "one mold opened: put together in the modelling program it would be measured as it is poured",
         true});
  for (const Box& box : b.idle) {
    const Vec3 s = box.size();
    notes.push_back(
        {"body-idle",
         fmt::format("a body of {:.3g} × {:.3g} × {:.3g} mm at {} plays no part in what is poured", s.x(),
                     s.y(), s.z(), exact_place(point(box.centre()))),
         false});
  }
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
  note_ways(f, notes);
  note_bodies(f, notes);
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
  if (f.ways && f.is(Reading::mold) && f.ways->axis) {
    const std::string up = direction_text(f.ways->axis->up);
    out.push_back({"up", fmt::format("standing with {} up", up), "--up " + up, f.ways->axis->holds});
  }
  if (f.ways && !f.is(Reading::piece) && f.ways->rim)
    out.push_back({"up",
                   fmt::format("standing with its rim level, which leans by {:.1f}°", f.ways->rim->degrees),
                   "--up rim", f.ways->rim->holds});
  if (f.bodies && f.bodies->apart && !f.is(Reading::piece))
    out.push_back({"bodies",
                   fmt::format("the bodies joined across the {:.2g} mm between them",
                               in_millimetres(f.bodies->apart->gap)),
                   gap_option(*f.bodies->apart), f.bodies->apart->holds});
  if (!f.box.empty() && unit_unlikely(f))
    for (const auto& [unit, k] : likelier_units(f)) {
      Alternative a{"unit",
                    fmt::format("lengths in {}: {:.4g} mm long", plural(unit), f.box.size().maxCoeff() * k),
                    fmt::format("--unit {}", name(unit)),
                    {}};
      if (f.poured) a.fill = f.poured->value * (k * k * k);
      out.push_back(std::move(a));
    }
  return out;
}

}  // namespace pourwright

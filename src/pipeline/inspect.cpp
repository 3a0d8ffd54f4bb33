// SPDX-License-Identifier: GPL-3.0-or-later
// Thin places → stress against green strength → what to say of it.
#include "pipeline/inspect.hpp"

#include <pourwright/numbers.hpp>

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string place(const Point& p) {
  const auto n = [](double v) { return std::abs(v) < 0.05 ? 0.0 : v; };
  return fmt::format("({:.1f}, {:.1f}, {:.1f})", n(p[0]), n(p[1]), n(p[2]));
}

/// "x", or the direction in numbers; which way along it does not matter.
std::string along(const Point& d) {
  static constexpr std::string_view axes[] = {"x", "y", "z"};
  for (std::size_t k = 0; k < 3; ++k)
    if (std::abs(d[k]) > 0.985) return std::string(axes[k]);
  const double sign = d[2] < 0 ? -1 : 1;
  const auto round = [&](double v) { return std::abs(v) < 0.005 ? 0.0 : sign * v; };
  return fmt::format("({:.2f}, {:.2f}, {:.2f})", round(d[0]), round(d[1]), round(d[2]));
}

/// So thin or so short that it chips, not bends, whatever the loads: a blemish, not a break.
bool is_feather(const ThinSpot& s) {
  return s.typical < millimetres(0.5) ||
         (s.kind != ThinKind::plate && s.kind != ThinKind::neck && s.reach < millimetres(2));
}

/// The bending place that a spot is. A sheet bends at its root, which in a taper is thicker than its middle
/// by as much as its edge is thinner, but is not beyond the limit that bounds the spot; a neck breaks where
/// it is thinnest.
ThinPlace bending_place(const ThinSpot& s, Length limit) {
  ThinPlace p;
  p.kind = s.kind;
  p.thickness = p.kind == ThinKind::neck ? s.thickness
                                         : std::max(s.typical, std::min(limit, s.typical * 2 - s.thickness));
  p.reach = p.kind == ThinKind::plate  ? s.span / 2
            : p.kind == ThinKind::neck ? std::max(s.span, s.reach)
                                       : s.reach;
  p.width = s.width;
  return p;
}

/// How long to wait and how thick to make it, by a measured strength.
std::vector<std::string> measured_help(const SpotRow& s) {
  const std::string thicker =
      s.thicken_to ? fmt::format("make it {:.1f} mm thick", in_millimetres(*s.thicken_to)) : "";
  if (!s.wait_until && thicker.empty()) return {"waiting alone will not do"};
  if (!s.wait_until) return {"waiting alone will not do: " + thicker};
  std::vector<std::string> out{fmt::format("wait until {} after pouring", duration_text(*s.wait_until))};
  if (!thicker.empty()) out.push_back(thicker);
  return out;
}

/// Without one: what brings it level with the rest of the piece.
std::vector<std::string> ranked_help(const SpotRow& s, Duration age) {
  std::vector<std::string> out;
  if (s.risk == Risk::high && s.wait_until)
    out.push_back(
        fmt::format("wait for the mix's own demold time, {} after pouring", duration_text(*s.wait_until)));
  else if (s.wait_until)
    out.push_back(fmt::format("leave it in until {}, when it is as safe as the other thin places are at {}",
                              duration_text(*s.wait_until), duration_text(age)));
  if (s.thicken_to && s.risk != Risk::high)
    out.push_back(fmt::format("make it {:.1f} mm thick, and it is no weaker than the other thin places",
                              in_millimetres(*s.thicken_to)));
  if (out.empty()) out.emplace_back("take one piece out and look at it before the others");
  return out;
}

/// What a maker can do about a place.
std::vector<std::string> help_for(const SpotRow& s, const Point& pull, const Inspecting& how) {
  const ThinSpot& spot = s.spot;
  if (s.risk == Risk::low) return {};
  if (s.feather) return {"a feather edge chips in any case: sand it, or give it more body"};
  std::vector<std::string> out = how.strength.measured ? measured_help(s) : ranked_help(s, how.time.age);
  const std::string axis = along(spot.normal);
  if (spot.kind == ThinKind::plate) {
    out.push_back("support it in the middle, at " + place(spot.at));
    out.push_back("peel the mold from its border inwards, all round");
  } else if (spot.kind == ThinKind::neck) {
    out.push_back("hold the piece on both sides of it, at " + place(spot.at));
    out.push_back(fmt::format("open the mold along {} and lift both ends at once", axis));
  } else {
    out.push_back("support its free end, at " + place(spot.end));
    out.push_back(fmt::format(
        "spread the mold to both sides along {}, then draw the piece out along {} without twisting it", axis,
        along(pull)));
  }
  if (!s.wait_until) out.front() = "waiting alone will not do: " + out.front();
  return out;
}

Notes in_short(const Measured& m, const std::vector<SpotRow>& spots, const Inspecting& how, bool for_card) {
  Notes out;
  if (m.walls && m.walls->of == WallsOf::piece) {
    const Walls& w = *m.walls;
    const auto worst = std::find_if(spots.begin(), spots.end(),
                                    [](const SpotRow& r) { return r.risk > Risk::low && !r.feather; });
    const bool forecast = how.strength.measured || (worst != spots.end() && worst->risk == Risk::high);
    if (worst != spots.end())
      out.push_back(
          {"early-demold",
           fmt::format("a {} of {:.1f} mm at {} {} when it leaves the mold at {}: {}", name(worst->spot.kind),
                       in_millimetres(worst->spot.typical), place(worst->spot.at),
                       forecast ? "may snap" : "is the first to snap, if anything does,",
                       duration_text(how.time.age), worst->help[0]),
           worst->risk == Risk::high, Topic::walls});
    else if (w.thin_share > 0.01)
      out.push_back({"thin-walls",
                     fmt::format("{:.0f} % of the piece is thinner than {:.3g} mm", 100 * w.thin_share,
                                 in_millimetres(w.limit)),
                     false, Topic::walls});
  }
  // How a piece lay in its mold is only guessed.
  const bool known_pose = !for_card || !m.row.read_as(Reading::piece);
  if (m.release && known_pose && !m.release->leaves_rigid && m.release->opening != Opening::nowhere) {
    const Pull& p = m.release->pull;
    double need = 0;
    for (const Undercut& u : p.places) need = std::max(need, u.stretch);
    std::string text = fmt::format("a {} mm undercut holds the piece in the mold; ",
                                   significant(in_millimetres(p.depth), 2));
    text += need > 1 ? std::string("make the mold in parts")
                     : fmt::format("it needs a {} mold that stretches by {:.0f} %",
                                   m.release->leaves_flexible ? "flexible" : "very soft", 100 * need);
    out.push_back({"undercut", std::move(text), !m.release->leaves_flexible, Topic::walls});
  }
  return out;
}

}  // namespace

Expected<Inspecting> prepare_inspection(const MixSettings& settings, std::optional<Duration> age) {
  auto chosen = choose_mix(settings);
  if (!chosen) return chosen.error();
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  Inspecting how;
  how.mix = chosen->mix;
  how.notes = std::move(chosen->room_notes);
  how.handling = catalogue->handling.value_or(Handling());
  how.strength = green_strength(how.mix, how.handling);
  how.time = demold_time(how.strength, age);
  return how;
}

namespace {

/// Of a piece of an unmeasured mix, by spot; feather edges stay out, they chip whatever the others bear.
std::vector<std::optional<DemoldRank>> ranks_of(const Walls& w, const Inspecting& how) {
  std::vector<std::optional<DemoldRank>> out(w.spots.size());
  if (how.strength.measured || w.of == WallsOf::mold) return out;
  std::vector<ThinPlace> places;
  std::vector<std::size_t> spots;
  for (std::size_t i = 0; i < w.spots.size(); ++i)
    if (!is_feather(w.spots[i])) {
      places.push_back(bending_place(w.spots[i], w.limit));
      spots.push_back(i);
    }
  const auto ranks = rank_places(places, how.strength, how.time, how.handling, how.mix.density);
  for (std::size_t k = 0; k < spots.size(); ++k) out[spots[k]] = ranks[k];
  return out;
}

}  // namespace

Assessment assess_spots(const Measured& m, const Inspecting& how, bool for_card) {
  Assessment out;
  if (!m.walls) {
    out.notes = in_short(m, out.spots, how, for_card);
    return out;
  }
  const Point pull = m.release ? m.release->pull.direction : m.row.up;
  const auto ranks = ranks_of(*m.walls, how);
  for (const ThinSpot& spot : m.walls->spots) {
    SpotRow& s = out.spots.emplace_back();
    s.spot = spot;
    if (m.walls->of == WallsOf::mold) continue;
    const DemoldAnswer a =
        assess(bending_place(spot, m.walls->limit), how.strength, how.time, how.handling, how.mix.density);
    s.stress = a.stress;
    s.margin = a.margin;
    s.feather = is_feather(spot);
    s.risk = s.feather ? std::min(a.risk, Risk::watch) : a.risk;
    if (!s.feather) {
      s.wait_until = a.wait_until;
      s.thicken_to = a.thicken_to;
    }
    if (const auto& rank = ranks[out.spots.size() - 1]) {
      s.against_rest = rank->against_rest;
      if (!s.wait_until) s.wait_until = rank->wait_until;
      if (!s.thicken_to) s.thicken_to = rank->thicken_to;
    }
    s.help = help_for(s, pull, how);
  }
  // What breaks first comes first, feather edges last; places alike stay in the order of exposure.
  std::stable_sort(out.spots.begin(), out.spots.end(), [](const SpotRow& a, const SpotRow& b) {
    if (a.feather != b.feather) return b.feather;
    // Alike to a hundredth of a megapascal, as it is shown: then the one that peeling strains more.
    const auto order = [](const SpotRow& r) {
      return std::pair(std::lround(r.stress.worst_mpa() * 1e2), std::lround(r.stress.peel_mpa * 1e4));
    };
    return order(a) > order(b);
  });
  out.notes = in_short(m, out.spots, how, for_card);
  return out;
}

Expected<InspectReport> inspect_files(const std::vector<FoundFile>& files, const InspectSettings& settings) {
  const auto how = prepare_inspection(settings.mix, settings.age);
  if (!how) return how.error();
  InspectReport out;
  out.mix = how->mix;
  out.handling = how->handling;
  out.strength = how->strength;
  out.time = how->time;
  out.notes = how->notes;
  out.cautions = demold_cautions(how->strength);
  MeasureSettings measuring = settings.measure;
  measuring.only = Only::all;
  Inspection& look = measuring.inspection.emplace();
  look.limit = settings.min_wall.value_or(how->mix.min_wall);
  look.of_mold = settings.of_mold;
  look.pull = settings.pull;
  if (settings.stretch) look.stretch = settings.stretch->value();
  for (Measured& m : measure_all(files, measuring)) {
    InspectRow row;
    Assessment assessment = assess_spots(m, *how, false);
    row.spots = std::move(assessment.spots);
    row.measured = std::move(m.row);
    row.walls = std::move(m.walls);
    row.release = std::move(m.release);
    if (row.walls) row.limit_from = settings.min_wall ? "option" : how->mix.name;
    if (row.measured.ok())
      std::move(assessment.notes.begin(), assessment.notes.end(), std::back_inserter(row.measured.notes));
    for (const Limit& limit : settings.limits) {
      if (!row.measured.ok()) break;
      auto checked = check_limit(limit, row);
      if (checked)
        row.limits.push_back(std::move(*checked));
      else
        row.measured.error = checked.error();
    }
    out.files.push_back(std::move(row));
  }
  return out;
}

}  // namespace pourwright

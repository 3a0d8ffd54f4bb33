// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a thin place is likely to break while the piece leaves the mold: bending stress under stated
// handling loads against the green strength at that age, and what would help. Of a mix whose strength nobody
// measured, which place snaps first. An estimate for handling, never a strength certificate. Formulas,
// sources and assumptions: docs/algorithms/demold.md.
//
// Forces are newtons and stresses megapascals (N/mm²).
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/material.hpp>
#include <pourwright/units.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

// ---- elastic bending, small deflections; ν = 0.3 unless said -------------------------------------------

/// σ = stress·q·b²/t² and deflection = bending·q·b⁴/(E·t³) of a rectangular plate; b is its shorter side.
struct PlateFactors {
  double stress = 0, bending = 0;
};
/// All edges simply supported, uniform load q, at the middle; `aspect` = long side over short, at least 1.
PlateFactors uniform_plate(double aspect, double poisson = 0.3);
/// All edges simply supported, a force W on a small disc in the middle: σ = 3W/(2πt²)·((1+ν)·ln(2b/(πr)) +
/// stress), deflection = bending·W·b²/(E·t³).
PlateFactors patch_plate(double aspect, double poisson = 0.3);
/// The disc's radius as it counts: a force on a point of a plate of finite thickness is spread by it.
double patch_radius(double radius, double thickness);
double patch_stress(double force, double radius, double short_side, double thickness, double aspect,
                    double poisson = 0.3);
/// 6PL/(bt²), at the root.
double cantilever_stress(double force, double reach, double width, double thickness);
/// 3ρgL²/t in MPa, ρ in g/mL and lengths in mm.
double cantilever_own_weight(Density density, double reach, double thickness);
/// 3FL/(2bd²).
double three_point_stress(double force, double span, double width, double thickness);

// ---- thin places --------------------------------------------------------------------------------------

struct ThinPlace {
  ThinKind kind = ThinKind::fin;
  Length thickness;
  Length reach;  ///< how far it stands out from the thick body; of a plate, half its span
  Length width;  ///< across the reach
};

/// The largest bending stress under each load. A fin, lip, neck or tip is a cantilever strip; a plate is
/// supported along its border.
struct PlaceStress {
  double peel_mpa = 0, pry_mpa = 0, weight_mpa = 0;
  double worst_mpa() const;
  std::string_view worst_load() const;  ///< "peeling", "prying", "its own weight"
};
PlaceStress stress_in(const ThinPlace& place, const Handling& handling, Density density);

// ---- strength against age -----------------------------------------------------------------------------

/// Flexural strength of the wet piece by its age in the room: nothing until it sets, then full·x/(1+x) with x
/// growing in proportion to time, the hyperbola of ASTM C1074. Drying, which doubles it in the end, is left
/// out.
struct GreenStrength {
  double full_mpa = 0;
  Temperature room;
  Duration sets;          ///< where it begins
  Duration half;          ///< from there to half of the full strength
  Duration usual_demold;  ///< the mix's own demold time in the room, or the one assumed
  bool measured = false;
  bool demold_assumed = false;  ///< the catalogue gives no demold time
  std::string from;             ///< in words, with the source

  double at(Duration age) const;
  /// The age at which it is so strong; nothing when that takes more than a day.
  std::optional<Duration> age_for(double mpa) const;
};
/// From the mix's own measured value, else from the catalogue's published one; calibrated by the demold and
/// working times of the mix, which is taken to stand in the room that its times are stated for.
GreenStrength green_strength(const Mix& mix, const Handling& handling);

// ---- the answer ---------------------------------------------------------------------------------------

enum class Risk : std::uint8_t { low, watch, high };
std::string_view name(Risk risk);

/// What holds for every place of a piece.
struct DemoldTime {
  Duration age;        ///< in the room
  Duration age_at_20;  ///< that ages as much at 20 °C
  Temperature room;
  double strength_mpa = 0;
};
/// `age` is from pouring; nothing: the mix's own demold time.
DemoldTime demold_time(const GreenStrength& strength, std::optional<Duration> age = {});

/// `margin` is strength over stress: the risk is low from the handling's safety factor up, high below
/// three quarters of it. Whatever helps is given only where the risk is not low.
///
/// Without a measured strength the margin is that of the weakest graded gypsum, and low still means that it
/// would hold. High is only what comes out so early that the mix has less than three quarters of its strength
/// at its own demold time; `wait_until` is that time then. Everything else is watch: rank_places() tells
/// more.
struct DemoldAnswer {
  PlaceStress stress;
  double margin = 0;
  Risk risk = Risk::low;
  std::optional<Duration> wait_until;  ///< age from which the risk is low; at most a day
  std::optional<Length> thicken_to;    ///< thickness at which the risk is low at this age; at most 25 mm
};
DemoldAnswer assess(const ThinPlace& place, const GreenStrength& strength, const DemoldTime& time,
                    const Handling& handling, Density density);

/// A place beside the other thin places of its piece; needs no strength, only how it grows with age.
struct DemoldRank {
  double against_rest = 1;             ///< its stress over the median of the others'; the largest snaps first
  std::optional<Duration> wait_until;  ///< age at which it is as safe as the rest is at the age asked for
  std::optional<Length> thicken_to;    ///< thickness at which it is strained like the rest; at most 25 mm
};
/// By place; nothing for one that is alone. O(n log n).
std::vector<std::optional<DemoldRank>> rank_places(const std::vector<ThinPlace>& places,
                                                   const GreenStrength& strength, const DemoldTime& time,
                                                   const Handling& handling, Density density);

/// What this estimate is not, most important first.
std::vector<std::string> demold_cautions(const GreenStrength& strength);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What a mold holds: every cavity with its brim, floor, opening and capacity, how cavities join above their
// brims, and which of them a maker means to fill. Definitions and proofs: docs/algorithms/cavities.md.
//
// Laws: capacities do not depend on where the origin is, on the numbering of vertices or triangles, or on
// threads. Turning the mesh and `up` together changes nothing beyond rounding. Degenerate cases: a flat rim
// spills at its plane; cavities of equal brim are separate cavities, not a pool; a body standing in or
// floating in the liquid is not liquid.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/solid.hpp>

#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace pourwright {

/// Where a cavity lies, for the rooms that ask what else is there.
struct Wetted {
  Vec3 middle = Vec3::Zero();  ///< centre of the wetted surface
  Box box;                     ///< round the wetted triangles, in the file's frame
};

struct CavityOptions {
  Vec3 up = Vec3::UnitZ();
  /// Height differences below this are one level: text files keep three decimals of a millimetre. Never more
  /// than a ten-thousandth of the body's diagonal, so that a bead, or a model in metres, keeps its steps.
  Length plateau = millimetres(1e-3);
  Length least_depth;         ///< shallower pools are the surface's noise and not listed
  bool look_further = true;   ///< air traps, drains, ceilings and the column check
  std::vector<double> tilts;  ///< bench tilts in degrees to be tried in eight directions
  bool find_lean = false;     ///< look for the least lean (to 45°, in steps of 5°) that lets caught air out
  Length bridge;              ///< the column check takes level slits below this as closed; for gaps left open
  double floor_detail = 1e-3;  ///< pools smaller than this share of their outermost pool are not listed
  FillTo fill_to;
};

class Cavities {
 public:
  struct Patches;  // the wetted surfaces, kept for further questions; private to the room
  const std::vector<Cavity>& list() const { return list_; }
  const Cavity& at(int id) const { return list_[static_cast<std::size_t>(id - 1)]; }
  /// Numbers of the triangles that its liquid touches when it stands at the brim.
  std::span<const Index> wall(int id) const;
  const Wetted& wetted(int id) const { return wetted_[static_cast<std::size_t>(id - 1)]; }

  /// Liquid in a cavity standing at `level`, clamped to [floor, brim]. O(triangles of the cavity).
  Volume volume_at(int id, Length level) const;
  /// Its free surface there.
  Area surface_at(int id, Length level) const;
  /// Both in one pass.
  std::pair<Volume, Area> at_level(int id, Length level) const;
  /// The level at which the cavity holds `volume`; clamped to [floor, brim]. Safeguarded Newton.
  Length level_for(int id, Volume volume) const;
  /// The level asked for, or what is wrong with it.
  Expected<Length> level(int id, const FillLevel& fill) const;
  /// Capacity at that level, with its interval.
  Expected<Interval<Volume>> fill(int id, const FillLevel& fill) const;

 private:
  friend class CavityFinder;
  friend class FurtherLook;
  friend class PieceCaster;
  std::vector<Cavity> list_;
  std::vector<Wetted> wetted_;  // of each of them
  std::shared_ptr<const Patches> patches_;
};

/// A rim that stands level all round but for one place, where the cavity spills: a piece that is missing from
/// the rim of a scan, or a spout.
struct Bite {
  int cavity = 0;
  Vec3 at = Vec3::Zero();  ///< where it spills, in the file's frame
  Length spills;           ///< height of that place, the cavity's brim
  Length rim;              ///< height of the rest of the rim: the middle one of its sectors
  Volume would_hold;       ///< up to there, if the rim were whole; missing wall counts as upright
};

/// Void that columns see holding liquid and that belongs to no cavity: the surface has a way out narrower
/// than a column, or a fault, or the columns miss what is there.
struct UnheldVoid {
  Volume volume;           ///< by columns
  Length pitch;            ///< of the columns: their width
  Vec3 at = Vec3::Zero();  ///< its lowest point, in the file's frame
};

/// Leaning the mold while it fills, so that air can leave.
struct Lean {
  double degrees = 0;
  Vec3 up = Vec3::UnitZ();  ///< in the file's frame, while it leans
};

struct CavityResult {
  Cavities cavities;
  std::optional<Lean> lean;  ///< when asked for and one was found
  std::vector<Drain> drains;
  std::vector<Bite> bites;         ///< of scans only
  std::vector<UnheldVoid> unheld;  ///< each told by a note with a warning
  Ceiling ceiling;
  std::vector<TiltLoss> tilt;  ///< the worst direction for each tilt asked for
  /// What was known of the surface. Where it overlaps itself, capacities may be wrong by what overlaps.
  SelfOverlap overlap = SelfOverlap::not_checked;
  Notes notes;
};

/// Every cavity of a body in the position given by `up`. O(n log n). An empty list is an answer: it holds
/// nothing.
Expected<CavityResult> find_cavities(const ClosedBody& body, const CavityOptions& options = {});
/// The same; the result says that overlap is excluded.
Expected<CavityResult> find_cavities(const Solid& solid, const CavityOptions& options = {});
/// Which way is up, and why.
struct Pose {
  Vec3 up = Vec3::UnitZ();
  std::string why;
};
/// The direction in which the body holds most, of the axes, the lines square to most of its surface and those
/// of its spread; the one modelled when it is as good. Six sweeps, and up to sixteen for a body that stands
/// askew.
Expected<Pose> choose_up(const ClosedBody& body);
/// What a body holds standing another way: in cavities to their outermost brims.
struct OtherWay {
  Vec3 up = Vec3::UnitZ();
  Volume holds;
};
/// The axis directions other than `up` in which a body holds more than `more`, the most first. A sweep each,
/// and none where the room round the body could not hold that much.
std::vector<OtherWay> other_ways(const ClosedBody& body, const Vec3& up, Volume more);
/// What it holds with `up` upwards. One sweep.
Volume held_with(const ClosedBody& body, const Vec3& up);
/// Square to the plane that lies on the body over `above` and nowhere cuts it: of a mold, the plane of its
/// rim. Nothing when the body does not reach round that point. O(n) a step, few steps.
std::optional<Vec3> rim_normal(const std::vector<Vec3>& vertices, const Vec3& above, const Vec3& up);
/// The body stood with its rim level, or why it cannot be.
Expected<Pose> rim_up(const ClosedBody& body, const Vec3& up);

/// Square to the best plane through the open rim of a scan, the surface below it. O(n).
Expected<Pose> rim_up(const Surface& surface);
Expected<Pose> rim_up(const OpenSurface& surface);

/// The body cast in a cavity filled to `level`: its wetted wall, closed by the fill plane; a closed mesh
/// whose volume is the cavity's at that level. In the file's frame. It is as free of overlap as the surface
/// it was taken from.
Expected<TriangleSoup> cast_piece(const ClosedBody& body, const Cavities& cavities, int id, Length level);
Expected<TriangleSoup> cast_piece(const OpenSurface& surface, const Cavities& cavities, int id, Length level);
/// The same less the air that filling from below shuts in: its volume is the cavity's at that level minus
/// that of every air trap below it.
Expected<TriangleSoup> cast_piece_without_air(const ClosedBody& body, const Cavities& cavities, int id,
                                              Length level);
Expected<TriangleSoup> cast_piece_without_air(const OpenSurface& surface, const Cavities& cavities, int id,
                                              Length level);

/// The same for a scan; its rim is where it spills at the latest.
Expected<CavityResult> find_cavities(const OpenSurface& surface, const CavityOptions& options = {});
Expected<CavityResult> find_cavities(const ProvenOpenSurface& surface, const CavityOptions& options = {});

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// How a cast piece leaves its mold: draft and undercut for a pull direction, the best direction, and how a
// mold in two parts would be split. Definitions, proofs and limits: docs/algorithms/release.md.
//
// The piece is a closed, outward-facing body; its opening is where it was filled, and everything else is
// wall, which the mold touches. Draft of a wall is −asin(n·d), n outward from the piece and d the pull:
// positive where the cavity opens towards the pull, 0 along it, negative where the mold hangs over the piece,
// which is an undercut.
//
// Laws: areas do not depend on how the surface is cut into triangles; turning piece and directions together
// changes nothing beyond rounding.
#pragma once

#include <pourwright/mesh.hpp>

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace pourwright {

struct ReleaseOptions {
  Vec3 out = Vec3::UnitZ();  ///< out of the opening
  std::vector<Length>
      levels;  ///< heights of fill planes along `out`; none: the piece's flat top is the opening
  std::optional<Vec3> pull;  ///< nothing: out of the opening. Far from `out` it says where the opening is
  bool may_turn = false;     ///< the search may take another flat side for the opening (a piece, not a mold)
  bool search = true;        ///< look for the best pull
  bool part = true;          ///< look for the best split into two parts
  Length hold = millimetres(0.05);  ///< undercuts shallower than this hold nothing
  double stretch = 0.5;             ///< a flexible mold gives way by this share of what it must let through
};

/// Undercut wall that hangs together.
struct Undercut {
  Area area;
  Length depth;  ///< of its deepest point under the overhang, across the pull; the piece's size when nothing
                 ///< leads out
  Vec3 at = Vec3::Zero();   ///< that point
  Vec3 lip = Vec3::Zero();  ///< the nearest place that it has to pass
  double stretch = 0;       ///< depth over half of what is clear there: 0.2 is a ring that widens by a fifth
};

/// One direction of pull.
struct Pull {
  Vec3 direction = Vec3::UnitZ();
  Area undercut;
  double share = 0;               ///< of the wall
  Length depth;                   ///< of the deepest undercut
  double min_draft_degrees = 90;  ///< of all wall but the last ten thousandth of its area
  Vec3 min_draft_at = Vec3::Zero();
  std::vector<Undercut> places;  ///< the deepest first
};

enum class Opening : std::uint8_t {
  fill_plane,  ///< given by its height
  flat_top,    ///< the flat part of the surface that lies highest
  nowhere,     ///< there is no flat top: everything is wall
};
std::string_view name(Opening opening);

/// A mold in two parts that move apart along `axis`. Wall that neither can leave is undercut.
struct Parting {
  Vec3 axis = Vec3::UnitZ();
  Area undercut;  ///< measured by rays from `samples` places
  double share = 0;
  std::size_t samples = 0;
};

struct Release {
  Opening opening = Opening::nowhere;
  Area opening_area, wall;
  Pull pull;
  Pull best;  ///< the least undercut, of those the steepest draft; without a search the same as `pull`
  bool best_is_turned = false;     ///< it takes another side for the opening
  std::optional<Parting> parting;  ///< with part
  bool leaves_rigid = false;       ///< no undercut that holds
  bool leaves_flexible = false;    ///< none that needs more than the stretch
};

/// Takes the triangles of a closed piece in mm, outward. O(n log n) for each direction tried, some tens of
/// them. Fails with `no_volume` when the piece has no surface.
Expected<Release> find_release(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                               const ReleaseOptions& options = {});

}  // namespace pourwright

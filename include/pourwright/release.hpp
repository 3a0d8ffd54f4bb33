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

#include <pourwright/door.hpp>
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

/// Takes the triangles of a closed piece in mm, outward. O(n log n) for each direction tried, some tens of
/// them. Fails with `no_volume` when the piece has no surface.
Expected<Release> find_release(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                               const ReleaseOptions& options = {});

}  // namespace pourwright

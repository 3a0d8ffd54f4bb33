// SPDX-License-Identifier: GPL-3.0-or-later
// How thick a body is, and where it is thin enough to break. Millimetres only. Definitions, bounds and
// measured errors: docs/algorithms/{thickness,spots}.md.
//
// Laws: the same solid gives the same bits every time. At the same places, moving or renumbering the body
// changes no thickness beyond rounding, and turning or mirroring it no wall's own thickness; what an edge
// borrows may then move by a percent, where a ball can grow to either of two walls by more. Finer or coarser
// triangles on the same body change where places fall. Sources: J. Ma and others, Vis. Comput. 28, 2012 (the
// ball); A. Lieutier, Comput.-Aided Des. 36, 2004 (its growth off an edge); J. W. Tukey's biweight (rough
// surfaces).
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/solid.hpp>

#include <array>
#include <string_view>
#include <vector>

namespace pourwright {

struct WallsOptions {
  Length limit = millimetres(3);  ///< thinner than this is thin
  std::size_t samples = 12'000;   ///< places measured: one for each 1/samples of the area, at least
  bool find_spots = true;
  bool keep_samples = false;  ///< hands the single measurements out, for pictures
};

/// One measurement.
struct WallSample {
  Vec3 at = Vec3::Zero();
  Vec3 normal = Vec3::UnitZ();  ///< outward
  double area = 0;              ///< mm² it stands for
  double ball = 0;              ///< mm, diameter of the largest ball inside that touches here
  double ray = 0;               ///< mm, straight in to the opposite surface
  bool own = true;  ///< a wall stands straight behind; false: the rim of a plate, the end of a rod
  Index triangle = none;
};

struct MeasuredWalls : Walls {
  std::vector<WallSample> kept;  ///< with keep_samples
  /// What was known of the surface. Where it overlaps itself, a wall ends at the first surface met.
  SelfOverlap overlap = SelfOverlap::not_checked;
};

/// Measures a closed body: n triangles in mm, outward. O(n log n + samples · log n), about 200 bytes a
/// triangle. Fails with `no_triangles` for none and with `no_volume` when no place has a body behind it.
Expected<MeasuredWalls> measure_walls(const ClosedBody& piece, const WallsOptions& options = {});
/// The same; the result says that overlap is excluded.
Expected<MeasuredWalls> measure_walls(const Solid& piece, const WallsOptions& options = {});

}  // namespace pourwright

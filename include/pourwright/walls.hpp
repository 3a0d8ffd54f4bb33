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

#include <pourwright/solid.hpp>

#include <array>
#include <string_view>
#include <vector>

namespace pourwright {

/// A thin region that hangs together.
struct ThinSpot {
  enum class Kind : std::uint8_t {
    fin,    ///< a sheet held along one side, long against how far it stands out
    lip,    ///< a sheet held along one side that runs round a thicker body and closes on itself
    neck,   ///< thin between two thicker parts
    plate,  ///< a sheet held on most sides, or a body that is thin everywhere
    tip,    ///< narrow: stands out farther than it is wide, or comes to a point
  };
  Kind kind = Kind::plate;
  Length thickness;             ///< where it is thinnest
  Length typical;               ///< median over the region
  Length at_root;               ///< median where it joins the thick body
  Vec3 at = Vec3::Zero();       ///< a point of the surface where it is thinnest
  Vec3 normal = Vec3::UnitZ();  ///< outward there
  Vec3 end = Vec3::Zero();      ///< the point of the region farthest from the thick body
  Vec3 outward = Vec3::Zero();  ///< unit direction from root to free end; zero without a free end
  Length reach;                 ///< from the thick body to `end`, over the surface
  Length width;                 ///< length of the root along the thick body
  Length span;                  ///< short side between supports: plate and neck; else equal to reach
  Area area;                    ///< of surface, both faces
  std::size_t samples = 0;      ///< on how many measurements it rests
};
std::string_view name(ThinSpot::Kind kind);

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

struct Walls {
  std::size_t samples = 0;
  double samples_per_mm2 = 0;
  Length min, p05, median;     ///< of the ball, weighted by area
  Length ray_min, ray_median;  ///< the second measure: straight in
  Vec3 min_at = Vec3::Zero();
  Length noise;  ///< roughness found in the mesh and averaged out; zero for a clean one

  /// Share of the area by thickness: bin i holds thicknesses from i·step to (i+1)·step, the last one all
  /// above.
  struct Histogram {
    Length step;
    std::vector<double> share;
  };
  Histogram histogram;

  Length limit;
  Area thin_area;                ///< thinner than the limit
  double thin_share = 0;         ///< of the whole area
  std::vector<ThinSpot> spots;   ///< the most exposed first: by reach and area against thickness squared
  std::vector<WallSample> kept;  ///< with keep_samples
  Notes notes;
  /// What was known of the surface. Where it overlaps itself, a wall ends at the first surface met.
  SelfOverlap overlap = SelfOverlap::not_checked;
};

/// Measures a closed body: n triangles in mm, outward. O(n log n + samples · log n), about 200 bytes a
/// triangle. Fails with `no_triangles` for none and with `no_volume` when no place has a body behind it.
Expected<Walls> measure_walls(const ClosedBody& piece, const WallsOptions& options = {});
/// The same; the result says that overlap is excluded.
Expected<Walls> measure_walls(const Solid& piece, const WallsOptions& options = {});

}  // namespace pourwright

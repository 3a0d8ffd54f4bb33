// SPDX-License-Identifier: GPL-3.0-or-later
// What the two wings say to each other, once: how a mesh is to be read, and what was found in it. Plain
// values without a triangle and without a gram. The shells parse words into the first half, geometry fills
// the second, reports print it.
//
// Coordinates (`Point`) are millimetres in the file's own frame; heights (`brim`, `floor`, `lip`) run along
// up. Every enum has a `name`, which is the word in JSON and on the page, and where people type it a
// `parse_…` that is its inverse.
#pragma once

#include <pourwright/units.hpp>

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace pourwright {

using Point = std::array<double, 3>;

// ---- asked: how a file is to be read -------------------------------------------------------------------

/// Where a file's unit of length came from.
enum class UnitFrom : std::uint8_t { assumed, option, file };
std::string_view name(UnitFrom from);

/// What a mesh shows.
enum class Reading : std::uint8_t {
  mold,   ///< a body that holds what is poured
  piece,  ///< the body that is cast
  scan,   ///< an open surface: a mold's inside without its outside
};
std::string_view name(Reading reading);
/// "mold", "piece", "scan".
Expected<Reading> parse_reading(std::string_view text);

/// "+z", "-y", "x", or three numbers that are not all nothing: "0,0.1,1". Not of unit length.
Expected<Point> parse_direction(std::string_view text);

/// How high a cavity is filled.
struct FillLevel {
  enum class Kind : std::uint8_t { brim, below_brim, height, share, volume };
  Kind kind = Kind::brim;
  double value = 0;  ///< mm below the brim, mm above the floor, share of the capacity, or mm³
  auto operator<=>(const FillLevel&) const = default;
};
/// "brim", "-2mm", "35mm", "80%", "180ml".
Expected<FillLevel> parse_fill_level(std::string_view text);

/// Which of several cavities that join under an outer rim are meant.
struct FillTo {
  enum class Kind : std::uint8_t { evidence, brims, rim, chosen };
  Kind kind = Kind::evidence;
  std::vector<int> ids;  ///< the chosen ones, numbered as they are listed
  auto operator<=>(const FillTo&) const = default;
};
/// "decide", "brims", "rim", or numbers: "1,3".
Expected<FillTo> parse_fill_to(std::string_view text);

/// Which open borders are closed.
struct CloseHoles {
  enum class Which : std::uint8_t {
    decide,  ///< all but a scan's rim: geometric, see docs/algorithms/repair.md
    nothing,
    all,
    up_to,  ///< those whose extent is at most `size`
  };
  Which which = Which::decide;
  Length size;
};
/// "decide", "none", "all", or a size: "up-to 12mm", "up-to=12mm", "12mm".
Expected<CloseHoles> parse_close_holes(std::string_view text);

/// One size of the real thing, which gives a scan its scale.
struct KnownSize {
  enum class Kind : std::uint8_t { x, y, z, longest, between, capacity };
  Kind kind = Kind::x;
  double size = 0;     ///< mm, or mm³ for a capacity
  double doubt = 0;    ///< relative half width: half a unit of the last digit given
  Point p{}, q{};      ///< for `between`, in the file's own lengths
  std::string text{};  ///< as given
};
/// "x=118mm", "longest=4.5in", "0,0,0,12,5,3=42mm" (two points of the file), "capacity=186ml" (a water fill).
Expected<KnownSize> parse_known_size(std::string_view text);

/// The widest parting gap between bodies that is closed: a length of at least nothing.
Expected<Length> parse_gap(std::string_view text);

// ---- found: cavities -----------------------------------------------------------------------------------

enum class CavityKind : std::uint8_t {
  open,    ///< holds liquid by itself up to its own brim
  pool,    ///< several that have joined above their brims, up to an outer rim; counts everything under it
  sealed,  ///< a void without an opening
};
std::string_view name(CavityKind kind);

/// Air that rising liquid shuts in, filling slowly from below at the modelled pose.
struct AirTrap {
  Volume volume;  ///< shut in when the cavity is filled to its brim
  Length lip;     ///< height at which the last way out closes
  Point vent{};   ///< highest point, where a vent lets it out
  std::optional<Length>
      vent_length;       ///< straight up from there to the open; nothing when material never ends
  std::size_t tops = 1;  ///< separate high points, each needing a vent
};

/// One row of a table of levels.
struct FillMark {
  double share = 0;  ///< of the capacity
  Length level;      ///< along up
  Volume volume;     ///< liquid at that level
  Area surface;      ///< free surface there
};

struct Cavity {
  int id = 0;      ///< 1, 2, …
  int parent = 0;  ///< id of the pool it joins above its brim; 0 when it spills outside
  CavityKind kind = CavityKind::open;
  bool filled = false;                ///< the card pours it; filled cavities never contain each other
  Interval<Volume> capacity;          ///< up to the brim
  Length brim, floor;                 ///< heights along up
  Area opening;                       ///< free surface at the brim
  Point brim_at{};                    ///< where it spills first
  Point floor_at{};                   ///< lowest point
  std::optional<Length> typical_rim;  ///< of a noisy scan: where the rim spills but for its dents
  std::vector<AirTrap> air_traps;
  Volume usable;        ///< capacity less what the traps keep out
  double residual = 0;  ///< relative disagreement of three independent flux sums; 0 but for rounding
  std::vector<FillMark> fill_table;  ///< of filled cavities, in tenths of the depth
  std::optional<Length> level;       ///< to which it is filled, in a mold that is poured
};

enum class DrainKind : std::uint8_t { bottom, side };
std::string_view name(DrainKind kind);

/// A way out below the brim.
struct Drain {
  DrainKind kind = DrainKind::bottom;
  Volume would_hold;  ///< if it were plugged, and every side hole of the same cavity with it
  std::optional<Area>
      throat;  ///< section of the plug: level in a drain, upright in a side hole; nothing: not found
  Point at{};
  Volume holds;    ///< as it is; of a side hole's cavity
  int cavity = 0;  ///< of a side hole: whose brim it lowers
};

/// Surface so flat overhead that bubbles cling to it.
struct Ceiling {
  double angle_degrees = 15;  ///< from level
  Area area;
  double share = 0;  ///< of the wetted wall
};

/// What a bench that is not level costs.
struct TiltLoss {
  double degrees = 0, azimuth_degrees = 0;  ///< towards which side it leans, from +e1 counter-clockwise
  double share = 0;                         ///< of the filled capacity that is lost; the worst direction
};

// ---- found: walls --------------------------------------------------------------------------------------

/// What a thin region is to those who handle it.
enum class ThinKind : std::uint8_t {
  fin,    ///< a sheet held along one side, long against how far it stands out
  lip,    ///< a sheet held along one side that runs round a thicker body and closes on itself
  neck,   ///< thin between two thicker parts
  plate,  ///< a sheet held on most sides, or a body that is thin everywhere
  tip,    ///< narrow: stands out farther than it is wide, or comes to a point
};
std::string_view name(ThinKind kind);

/// A thin region that hangs together.
struct ThinSpot {
  ThinKind kind = ThinKind::plate;
  Length thickness;         ///< where it is thinnest
  Length typical;           ///< median over the region
  Length at_root;           ///< median where it joins the thick body
  Point at{};               ///< a point of the surface where it is thinnest
  Point normal{0, 0, 1};    ///< outward there
  Point end{};              ///< the point of the region farthest from the thick body
  Point outward{};          ///< unit direction from root to free end; zero without a free end
  Length reach;             ///< from the thick body to `end`, over the surface
  Length width;             ///< length of the root along the thick body
  Length span;              ///< short side between supports: plate and neck; else equal to reach
  Area area;                ///< of surface, both faces
  std::size_t samples = 0;  ///< on how many measurements it rests
};

/// Whose walls.
enum class WallsOf : std::uint8_t { piece, mold };
std::string_view name(WallsOf whose);

/// How thick a body is: docs/algorithms/thickness.md.
struct Walls {
  WallsOf of = WallsOf::piece;
  std::size_t samples = 0;
  double samples_per_mm2 = 0;
  Length min, p05, median;     ///< of the largest ball inside, weighted by area
  Length ray_min, ray_median;  ///< the second measure: straight in
  Point min_at{};
  Length noise;  ///< roughness found in the mesh and averaged out; zero for a clean one

  /// Share of the area by thickness: bin i holds thicknesses from i·step to (i+1)·step, the last one all
  /// above.
  struct Histogram {
    Length step;
    std::vector<double> share;
  };
  Histogram histogram;

  Length limit;  ///< thinner than this is thin
  Area thin_area;
  double thin_share = 0;        ///< of the whole area
  std::vector<ThinSpot> spots;  ///< the most exposed first: by reach and area against thickness squared
};

// ---- found: release ------------------------------------------------------------------------------------

/// Undercut wall that hangs together.
struct Undercut {
  Area area;
  Length depth;  ///< of its deepest point under the overhang, across the pull; the piece's size when nothing
                 ///< leads out
  Point at{};    ///< that point
  Point lip{};   ///< the nearest place that it has to pass
  double stretch = 0;  ///< depth over half of what is clear there: 0.2 is a ring that widens by a fifth
};

/// One direction of pull.
struct Pull {
  Point direction{0, 0, 1};
  Area undercut;
  double share = 0;               ///< of the wall
  Length depth;                   ///< of the deepest undercut
  double min_draft_degrees = 90;  ///< of all wall but the last ten thousandth of its area
  Point min_draft_at{};
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
  Point axis{0, 0, 1};
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
  std::optional<Parting> parting;  ///< when it was looked for
  bool leaves_rigid = false;       ///< no undercut that holds
  bool leaves_flexible = false;    ///< none that needs more than the stretch
  double stretch = 0.5;            ///< that a flexible mold was taken to bear
};

// ---- found: the whole file -----------------------------------------------------------------------------

/// What can be mended.
enum class Mending : std::uint8_t {
  doubled_faces,
  shared_faces,
  flat_faces,
  t_junctions,
  cracks,
  inner_sheets,
  flipped_faces,
  fragments,
  loose_sheets,
  table,
  missing_sides,
  holes_closed,
  wrapped,
  gap_closed,
  united,
  copies_dropped,
  shells_turned,
};
std::string_view name(Mending what);

/// One kind of mending, counted.
struct Mended {
  Mending what = Mending::holes_closed;
  std::size_t count = 0;
  Volume volume_change;
};

/// What else a file could be: another answer to a question that was decided, and what it would pour.
struct Alternative {
  std::string about;   ///< "reading", "up", "unit", "bodies"
  std::string says;    ///< a sentence
  std::string option;  ///< what settles it: "--read-as piece"
  std::optional<Volume> fill;
};

/// A choice between readings of the same evidence. `sure` decides whether the alternatives are asked about.
template <class T>
struct Decision {
  T chosen{};
  bool given = false;              ///< by the user; then there is nothing to decide
  bool sure = true;                ///< the evidence lies far from the border
  double doubt = 0;                ///< chance that another answer is right: 0.5 is the toss of a coin
  std::vector<std::string> why{};  ///< the evidence, a phrase each
  std::vector<Alternative> others{};
};

}  // namespace pourwright

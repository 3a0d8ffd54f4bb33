// SPDX-License-Identifier: GPL-3.0-or-later
// What `inspect` finds, as plain values, and its rendering.
#pragma once

#include <pourwright/demold.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// A thin place with what handling does to it.
struct SpotRow {
  std::string kind;  ///< "fin", "lip", "neck", "plate", "tip"
  Length thickness, typical;
  Point at{}, end{}, normal{}, outward{};
  Length reach, width, span;
  Area area;
  PlaceStress stress;
  double margin = 0;  ///< strength over stress
  Risk risk = Risk::low;
  bool feather = false;  ///< so thin or short that it chips rather than breaks
  std::optional<Duration> wait_until;
  std::optional<Length> thicken_to;
  std::vector<std::string> help;  ///< what would make it safer, a sentence each
};

struct WallsRow {
  std::string of;  ///< "piece", "mold"
  std::size_t samples = 0;
  double samples_per_mm2 = 0;
  Length min, p05, median, ray_min, ray_median;
  Point min_at{};
  Length limit;
  std::string limit_from;  ///< "option", or the mix's name
  Area thin_area;
  double thin_share = 0;
  Length histogram_step;
  std::vector<double> histogram;
  std::vector<SpotRow> spots;  ///< of a mold: without stresses
};

struct UndercutRow {
  Area area;
  Length depth;
  Point at{};
  double stretch = 0;
};

struct ReleaseRow {
  Point pull{0, 0, 1};
  std::string opening;  ///< "fill-plane", "flat-top", "nowhere"
  Area opening_area, wall, undercut;
  double share = 0;
  Length depth;
  double min_draft_degrees = 0;
  Point min_draft_at{};
  std::vector<UndercutRow> places;
  Point best_pull{0, 0, 1};
  Area best_undercut;
  double best_min_draft_degrees = 0;
  bool best_is_turned = false;
  bool leaves_rigid = false, leaves_flexible = false;
  double stretch = 0;  ///< that a flexible mold was taken to bear
  struct TwoParts {
    Point axis{0, 0, 1};
    Area undercut;
    double share = 0;
  };
  std::optional<TwoParts> parting;
};

/// A limit of the user's, against one file.
struct LimitRow {
  std::string limit;  ///< as given: "wall<2mm"
  bool exceeded = false;
  std::string text;  ///< "the thinnest wall is 1.8 mm"
};

struct InspectRow {
  MeasureRow measured;
  std::optional<WallsRow> walls;
  std::optional<ReleaseRow> release;
  std::vector<LimitRow> limits;
};

struct InspectReport {
  Mix mix;
  Handling handling;
  GreenStrength strength;
  DemoldTime time;
  Notes notes;  ///< what the room does to the mix
  std::vector<InspectRow> files;
  std::vector<std::string> cautions;
};

/// "2 h 35 min"
std::string duration_text(Duration d);

std::string inspect_text(const InspectReport& report, const TextStyle& style);
std::string inspect_json(const InspectReport& report);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What `inspect` finds, as plain values, and its rendering.
#pragma once

#include <pourwright/demold.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// A thin place with what handling does to it; without stresses when it is the mold's.
struct SpotRow {
  ThinSpot spot;
  PlaceStress stress;
  double margin = 0;                   ///< strength over stress
  std::optional<double> against_rest;  ///< stress over that of the other places, of an unmeasured mix
  Risk risk = Risk::low;
  bool feather = false;  ///< so thin or short that it chips rather than breaks
  std::optional<Duration> wait_until;
  std::optional<Length> thicken_to;
  std::vector<std::string> help;  ///< what would make it safer, a sentence each
};

/// A limit of the user's, against one file.
struct LimitRow {
  std::string limit;  ///< as given: "wall<2mm"
  bool exceeded = false;
  std::string text;  ///< "the thinnest wall is 1.8 mm"
};

struct InspectRow {
  MeasureRow measured;
  std::optional<Walls> walls;
  std::string limit_from;      ///< of the walls: "option", or the mix's name
  std::vector<SpotRow> spots;  ///< the walls' spots; of a piece what breaks first comes first
  std::optional<Release> release;
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

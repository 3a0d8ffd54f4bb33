// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>
#include <pourwright/pipeline.hpp>
#include <pourwright/report_inspect.hpp>

#include <functional>

namespace pourwright {

/// One measured file with what the card needs beyond the row.
struct Measured {
  MeasureRow row;
  std::optional<Interval<Volume>> fill;  ///< what is poured into one copy, at the fill level asked for
  std::optional<Interval<Volume>> body;  ///< of the solid, when there is one
  TriangleSoup mesh;                     ///< as measured, when the settings keep it
  std::vector<TriangleSoup> pieces;      ///< the cast body of each filled cavity, likewise
  std::vector<Length> levels;            ///< to which each of them was filled
  std::optional<WallsRow> walls;         ///< without stresses, when an inspection is asked for
  std::optional<ReleaseRow> release;     ///< likewise
  Volume would_hold;                     ///< of a piece, if it were read as a mold
  std::size_t cavities_filled = 0;
  Length deepest;  ///< greatest depth of liquid
};

inline Point point(const Vec3& v) {
  return {v.x(), v.y(), v.z()};
}

Measured measure_one(const FoundFile& file, const MeasureSettings& settings);
/// Hands over every file's result as soon as it is there, one at a time, and keeps none.
using TakeMeasured = std::function<void(std::size_t index, Measured measured)>;
void measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                 const TakeMeasured& take);
/// In the order of `files`, for any number of jobs.
std::vector<Measured> measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings);

}  // namespace pourwright

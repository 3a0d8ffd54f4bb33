// SPDX-License-Identifier: GPL-3.0-or-later
// One file measured: docs/algorithms/ has a page for each step.
#pragma once

#include <pourwright/mesh.hpp>
#include <pourwright/pipeline.hpp>

#include <functional>

namespace pourwright {

/// One measured file with what the card and the inspection need beyond the row.
struct Measured {
  MeasureRow row;
  TriangleSoup mesh;                 ///< as measured, when the settings keep it
  std::vector<TriangleSoup> pieces;  ///< the cast body of each filled cavity, likewise
  std::vector<Length> levels;        ///< to which each of them was filled
  std::optional<Walls> walls;        ///< when an inspection is asked for
  std::optional<Release> release;    ///< likewise
  std::size_t cavities_filled = 0;
  Length deepest;                  ///< greatest depth of liquid
  std::size_t bodies_written = 0;  ///< files that a mend has made of it
};

Measured measure_one(const FoundFile& file, const MeasureSettings& settings);
/// What is wrong with a mold into which nothing can be poured; nothing when something can.
std::optional<Problem> holds_nothing(const MeasureRow& row);

/// What is wrong when nobody can say which of its readings is meant; nothing when one is sure.
std::optional<Problem> in_doubt(const MeasureRow& row);

/// Hands over every file's result as soon as it is there, one at a time, and keeps none.
using TakeMeasured = std::function<void(std::size_t index, Measured measured)>;
void measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                 const TakeMeasured& take);
/// In the order of `files`, for any number of jobs.
std::vector<Measured> measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings);

}  // namespace pourwright

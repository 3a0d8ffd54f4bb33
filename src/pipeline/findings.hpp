// SPDX-License-Identifier: GPL-3.0-or-later
// What measuring one file found, step by step, as values. Report rows and notes are made from it once, at the
// end.
#pragma once

#include <pourwright/intake.hpp>

#include "pipeline/bodies.hpp"
#include "pipeline/closing.hpp"
#include "pipeline/filling.hpp"
#include "pipeline/measure.hpp"
#include "pipeline/scale.hpp"
#include "pipeline/ways.hpp"

#include <array>
#include <optional>
#include <vector>

namespace pourwright {

struct Findings {
  // read
  LengthUnit unit = LengthUnit::mm;
  UnitFrom unit_from = UnitFrom::assumed;
  std::optional<std::array<Volume, 2>> usual;  ///< what other molds of the workshop take
  Notes file_notes;
  Census census;
  // scale
  std::optional<MeshScale> scale;
  Box box;  ///< of what is measured, without what was dropped
  // close
  bool overlap_skipped = false;
  std::optional<Measurable> closed;
  std::optional<Pose> pose;  ///< that was chosen
  // decide the reading
  std::optional<Decision<Reading>> reading;
  std::optional<Ways> ways;      ///< other ways to stand, when they were looked at
  std::optional<Bodies> bodies;  ///< when there are several
  // find
  std::optional<CavityResult> found;
  bool looked_further = false;
  std::vector<Cavity> cavities;           ///< with intervals, tables and levels
  std::optional<Volume> left_open_holds;  ///< by a mold whose gaps were closed, if they were not
  // fill
  std::optional<Filling> filling;
  // widen
  std::optional<Interval<Volume>> body;  ///< of the solid
  std::optional<Area> area;
  std::optional<Interval<Volume>> poured;
  bool body_untold = false;  ///< too uncertain, and not what is asked for

  bool is(Reading r) const { return reading && reading->chosen == r; }
  /// A closed gap counts only for what holds liquid, or when closing it was asked for.
  bool joined = true;
};

/// Everything worth saying, in the order of the steps.
Notes notes_of(const Findings& f);
/// What else the file could be, where that is not sure.
std::vector<Alternative> doubts_of(const Findings& f);

}  // namespace pourwright

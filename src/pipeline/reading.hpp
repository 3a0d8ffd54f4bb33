// SPDX-License-Identifier: GPL-3.0-or-later
// Mold, piece or scan: decided by what the surface holds and how its walls run, as a value with its
// alternatives: docs/algorithms/reading.md.
#pragma once

#include <pourwright/door.hpp>

#include "pipeline/wall_shape.hpp"

#include <optional>

namespace pourwright {

/// What the decision rests on.
struct ReadingEvidence {
  std::optional<Reading> given;
  Volume body;                     ///< of the material
  Volume held;                     ///< by the cavities that would be filled
  Volume drained;                  ///< that they would hold besides if drains in the bottom were plugged
  std::optional<WallShape> shape;  ///< where what is held leaves it open
  int molds = 0, pieces = 0;       ///< among the files that are read with it, those that are sure
};
ReadingEvidence evidence_from(const ClosedBody& body, const CavityResult& found, const Vec3& up,
                              std::optional<Reading> given);

/// A closed body is a mold or the piece itself. The other reading is always among the alternatives, with what
/// it would pour.
Decision<Reading> decide_reading(const ReadingEvidence& evidence);

/// The same decision when the files beside it are known: each that is surely one of the two counts.
void weigh_company(Decision<Reading>& decision, int molds, int pieces);

}  // namespace pourwright

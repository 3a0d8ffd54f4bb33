// SPDX-License-Identifier: GPL-3.0-or-later
// Mold, piece or scan: decided by what the surface holds, as a value with its alternatives.
#pragma once

#include <pourwright/cavity.hpp>
#include <pourwright/door.hpp>

#include <optional>

namespace pourwright {

/// What the decision rests on.
struct ReadingEvidence {
  std::optional<Reading> given;
  Volume body;     ///< of the material
  Volume held;     ///< by the cavities that would be filled
  Volume drained;  ///< that they would hold besides if drains in the bottom were plugged
};
ReadingEvidence evidence_from(const CavityResult& found, Volume body, std::optional<Reading> given);

/// A closed body is a mold or the piece itself. The other reading is always among the alternatives, with what
/// it would pour.
Decision<Reading> decide_reading(const ReadingEvidence& evidence);

}  // namespace pourwright

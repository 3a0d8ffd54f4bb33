// SPDX-License-Identifier: GPL-3.0-or-later
// One record as a value with its own uncertainty.
#pragma once

#include <pourwright/ledger.hpp>

#include "workshop/learn/combine.hpp"

namespace pourwright::learn {

/// Full and empty are both read to the step: two flat errors of half a step each. In grams.
double weighing_u(Mass step);
Reading water_reading(const WaterFill& fill);  ///< ml
Reading cup_reading(const DensityCup& cup);    ///< g/ml

}  // namespace pourwright::learn

// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/pipeline_inspect.hpp>

#include "pipeline/measure.hpp"

namespace pourwright {

/// The mix and the hour that thin places are held against.
struct Inspecting {
  Mix mix;
  Handling handling;
  GreenStrength strength;
  DemoldTime time;
  Notes notes;  ///< what the room does to the mix
};
Expected<Inspecting> prepare_inspection(const MixSettings& settings, std::optional<Duration> age = {});

/// Adds stress, risk and help to the spots of a measured file. Returns what to say in a line or two.
Notes assess_spots(Measured& measured, const Inspecting& how, bool for_card);

}  // namespace pourwright

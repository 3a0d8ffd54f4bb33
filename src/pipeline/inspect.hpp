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

/// The spots of a measured file with stress, risk and help, and what to say of them in a line or two.
struct Assessment {
  std::vector<SpotRow> spots;
  Notes notes;
};
Assessment assess_spots(const Measured& measured, const Inspecting& how, bool for_card);

}  // namespace pourwright

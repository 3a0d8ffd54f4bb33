// SPDX-License-Identifier: GPL-3.0-or-later
// Files measured in child processes: what one of them takes, or breaks, is no other's business.
#pragma once

#include "pipeline/measure.hpp"

#include <functional>

namespace pourwright {

/// Of the processor, for each file, when nobody says otherwise.
constexpr Duration usual_time = minutes(10);

/// Measures the files of these indices in up to `count` children and hands over each result. A child that is
/// ended by a limit or a fault leaves an error with its file, and another child goes on with the rest. What
/// was not handed over when it returns, because no child could be started, is for the caller to do.
void measure_in_children(const std::vector<FoundFile>& files, std::vector<std::size_t> missing,
                         const MeasureSettings& settings, std::size_t count,
                         const std::function<Measured(const FoundFile&)>& measure, const TakeMeasured& take);

}  // namespace pourwright

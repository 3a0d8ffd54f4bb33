// SPDX-License-Identifier: GPL-3.0-or-later
// Files measured in child processes: what one of them takes, or breaks, is no other's business.
#pragma once

#include "pipeline/measure.hpp"

#include <functional>

namespace pourwright {

/// Measures every file that has no result yet, in `count` children. A child that is ended by a limit
/// or a fault leaves an error with its file, and another child goes on with the rest. False when no child
/// could be started; what has no result then is for the caller to do.
bool measure_in_children(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                         std::size_t count, const std::function<Measured(const FoundFile&)>& measure,
                         std::vector<std::optional<Measured>>& out);

}  // namespace pourwright

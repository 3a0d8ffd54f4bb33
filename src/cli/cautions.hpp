// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/run.hpp"

#include <string>
#include <vector>

namespace pourwright::cli {

/// Whether the reader of this terminal has been shown every one of these cautions today, in full. If not,
/// they count as shown from now on: the caller shows them. Never true where the output is no terminal.
bool seen_today(const Surroundings& around, const std::vector<std::string>& cautions);

}  // namespace pourwright::cli

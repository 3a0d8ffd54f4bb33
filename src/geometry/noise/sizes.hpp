// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

namespace pourwright::scatter {

/// Facets of a drawn curve stand out in turns as well, but by the same few heights again and again,
/// whereas noise repeats nothing and is spread like a normal distribution.
bool random_sizes(const std::vector<double>& all);

}  // namespace pourwright::scatter

// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers for people: as many digits as are known, and never an exponent.
#pragma once

#include <string>

namespace pourwright {

/// Rounded to as many digits as are known, in plain notation: 168 with two is "170", 0.03456 with two
/// "0.035". Zeros behind the point are dropped; below 10^-9 it is "0". O(1).
std::string significant(double value, int digits);

}  // namespace pourwright

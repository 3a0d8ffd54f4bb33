// SPDX-License-Identifier: GPL-3.0-or-later
// What somebody most likely did when a record cannot be right. It only names; whether a record is left out is
// decided where what was expected is known.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace pourwright::learn {

/// Further than this from what was expected, as a share of it, nobody just weighed badly.
constexpr double cannot_be = 0.10;

enum class Weighed { water, cup, pour };

struct OtherMold {
  std::string name;
  double holds = 0;  ///< in the unit of what was read
};

/// "ounces typed as grams", "2 copies rather than 1", …; empty when nothing fits. `read` and `expected` in
/// one unit, of which a weight left on the scale would be `grams` grams each.
std::string likely_slip(Weighed what, double read, double expected, double grams, int copies = 1,
                        const std::vector<OtherMold>& others = {});

}  // namespace pourwright::learn

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/run.hpp>

#include <algorithm>
#include <cmath>

namespace pourwright {

Duration at_room(Duration at_20, Temperature room) {
  const double t = std::clamp(in_celsius(room), 5.0, 35.0);
  return at_20 * std::exp2((20.0 - t) / 10.0);
}

}  // namespace pourwright

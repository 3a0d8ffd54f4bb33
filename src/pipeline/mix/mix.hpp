// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/pipeline.hpp>

namespace pourwright {

/// Where the density comes from, which decides how sure a weight made from a volume is.
Note density_note(const Mix& mix);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/report.hpp>

#include "report/json_values.hpp"

namespace pourwright::json {

Json point(const Point& p);
/// What `measure` says of one file; `inspect` adds to it.
Json measured_file(const MeasureRow& f);

}  // namespace pourwright::json

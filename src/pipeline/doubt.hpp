// SPDX-License-Identifier: GPL-3.0-or-later
// From what mending, noise, rounding and scale leave open to the intervals of volumes:
// docs/algorithms/interval.md.
#pragma once

#include "pipeline/closing.hpp"

namespace pourwright {

/// No file is believed to be better than single precision, which most formats keep and most programs write:
/// what moving every vertex by half a unit in the last place of the farthest coordinate may do to a volume.
Volume rounding(const Box& box, Area surface);

/// The half width that mending leaves to the capacity of each cavity of `found`, in its order.
std::vector<Volume> capacity_doubts(const Measurable& measurable, const CavityResult& found,
                                    const CavityOptions& options);

/// Widens by `doubt` on both sides without saying why; nothing is less than nothing.
Interval<Volume> wider(Interval<Volume> v, Volume doubt);
/// Widens by `doubt` on both sides and says why; reasons stay in order of size.
Interval<Volume> wider(Interval<Volume> v, Volume doubt, const Doubts& reasons);
/// Widens in proportion to the doubt about the scale.
Interval<Volume> wider(Interval<Volume> v, double scale_doubt);

/// The half width as a share of the value; of the wider side.
double half_width(const Interval<Volume>& v);

}  // namespace pourwright

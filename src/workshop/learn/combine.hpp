// SPDX-License-Identifier: GPL-3.0-or-later
// Several measurements of one thing to one value.
#pragma once

#include <cstddef>
#include <vector>

namespace pourwright::learn {

struct Reading {
  double value = 0;
  double u = 0;  ///< standard uncertainty, more than nothing
};

struct Combined {
  double value = 0, u = 0;
  double birge = 1;  ///< how many times further apart the readings lie than their u explain; at least 1
};

/// Mean weighted by 1/u². Where the readings scatter more than their u allow, u grows by that factor: R. T.
/// Birge, Phys. Rev. 40 (1932) 207-227. Precondition: not empty.
Combined combine(const std::vector<Reading>& readings);

/// Places of readings that the others contradict: further from the median than 3.5 robust deviations, as B.
/// Iglewicz and D. Hoaglin (How to Detect and Handle Outliers, ASQC 1993, from memory) advise, a deviation
/// being never taken for less than the reading's own u. Fewer than three readings contradict nobody.
std::vector<std::size_t> contradicted(const std::vector<Reading>& readings);

double median(std::vector<double> values);

}  // namespace pourwright::learn

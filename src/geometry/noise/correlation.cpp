// SPDX-License-Identifier: GPL-3.0-or-later
// Correlated noise as polynomials leave it. The table holds traces, which its test reckons anew.
#include "geometry/noise/correlation.hpp"

#include <algorithm>
#include <array>

namespace pourwright::scatter {
namespace {

constexpr std::array<Correlation, 12> table{{
    {0.00, 1.000, -0.083, 1.000, 1.000},
    {0.40, 1.015, -0.055, 0.990, 0.993},
    {0.55, 1.078, 0.049, 0.957, 0.968},
    {0.70, 1.182, 0.176, 0.910, 0.934},
    {0.85, 1.317, 0.284, 0.858, 0.894},
    {1.00, 1.479, 0.367, 0.802, 0.851},
    {1.30, 1.868, 0.469, 0.685, 0.757},
    {1.70, 2.451, 0.531, 0.536, 0.626},
    {2.20, 3.145, 0.560, 0.382, 0.472},
    {2.80, 3.815, 0.571, 0.251, 0.319},
    {3.40, 4.300, 0.574, 0.168, 0.209},
    {4.00, 4.646, 0.574, 0.115, 0.135},
}};

/// Between the rows, by a column that rises; the ends beyond them.
Correlation by(double Correlation::*column, double value) {
  std::size_t i = 1;
  while (i + 1 < table.size() && table[i].*column < value) ++i;
  const Correlation &a = table[i - 1], &b = table[i];
  const double step = b.*column - a.*column;
  const double share = step > 0 ? std::clamp((value - a.*column) / step, 0.0, 1.0) : 1;
  const auto between = [&](double Correlation::*of) { return a.*of + share * (b.*of - a.*of); };
  return {between(&Correlation::length), between(&Correlation::ratio), between(&Correlation::together),
          between(&Correlation::left_about), between(&Correlation::left_wide)};
}

}  // namespace

Correlation correlation_by_ratio(double ratio) {
  return by(&Correlation::ratio, ratio);
}
Correlation correlation_by_neighbours(double together) {
  return by(&Correlation::together, together);
}

}  // namespace pourwright::scatter

// SPDX-License-Identifier: GPL-3.0-or-later
// Whether what polynomials leave in many places is noise, and how much.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

namespace pourwright::scatter {

/// What was found of one neighbourhood.
struct Place {
  double near_by, about, wide;  ///< spreads, mm; wide: zero when too few vertices
  double spread, together;      ///< of the one of the latter two that shape adds less to
  double kurtosis;              ///< of the widest
  double edge;                  ///< mm
  bool whole;                   ///< no edge of the shape cuts it short
};

struct Places {
  std::vector<Place> list;  ///< that are not clean
  std::size_t looked_at = 0;
};

struct Found {
  double spread = 0, reach = 0, edge = 0;  ///< mm
};

/// Places that must agree: the median spread of sixteen is known to a fifteenth.
inline constexpr std::size_t fewest_places = 16;
/// Wide residuals over those about, at least: a quartic leaves a tenth of what the quadric leaves of a
/// surface that is drawn smooth.
inline constexpr double least_growth = 0.6;

/// Noise leaves the same everywhere, near by and farther out, as far as neighbours go together. Clean places
/// are left out; nothing when the others do not agree. `floor`, mm: rounding of coordinates. O(n log n).
std::optional<Found> noise_of_places(const Places& places, double floor);

}  // namespace pourwright::scatter

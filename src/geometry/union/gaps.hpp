// SPDX-License-Identifier: GPL-3.0-or-later
// Parting gaps: narrow rooms between bodies that were meant to lie on each other.
#pragma once

#include <pourwright/union.hpp>

namespace pourwright::uniting {

struct GapPlates {
  TriangleSoup plates;     ///< closed bodies that sink a little into both sides
  std::size_t places = 0;  ///< pairs of faces that look at each other across a gap
  double volume = 0;       ///< of the gaps, mm³
  double widest = 0;       ///< mm
  bool too_many = false;   ///< more pairs of triangles than are looked at; no plates are made
  bool curved = false;     ///< more than `few` pairs of level faces, so no plates are made either
};

/// Plates between faces of different shells that look at each other across less than `gap` mm, cut to what
/// both faces cover, so that the outline of the gap stays where it is. Shells must face outward.
/// Faces that only rounding keeps from touching get plates too; `within` looks for these inside one shell as
/// well, for bodies that share edges are one shell. O(n log n + pairs).
GapPlates plates_for_gaps(const Surface& surface, double gap, std::size_t few, bool within);

}  // namespace pourwright::uniting

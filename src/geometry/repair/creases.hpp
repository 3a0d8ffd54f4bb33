// SPDX-License-Identifier: GPL-3.0-or-later
// Sharp edges that end at a hole: a rim, a corner of a wall. They go on across it.
#pragma once

#include "geometry/mesh/fans.hpp"
#include "geometry/repair/borders.hpp"

namespace pourwright::mending {

/// A hole's border cut into parts by creases. Corners below n are the border's, the others index `added`.
struct Parts {
  struct Part {
    std::vector<Index> corners;
    std::vector<HalfEdge> half_edges;  ///< outside edge i, from corner i+1 to corner i; none along a crease
  };
  std::vector<Part> list;  ///< one, the whole border, when no crease crosses
  std::vector<Vec3> added;
  double sag = 0;  ///< greatest distance of an added point from the straight line across
};

/// Creases are continued as cubic curves that leave and arrive in their own direction. O(n + ends³).
Parts continue_creases(const Workpiece& w, const Fans& fans, const BorderLine& line);

/// Whether the surface bends sharply between two triangles that share an edge.
bool sharp_between(const Workpiece& w, Index t, Index u);

}  // namespace pourwright::mending

// SPDX-License-Identifier: GPL-3.0-or-later
// Sharp edges that end at a hole: a rim, a corner of a wall. They go on across it.
#pragma once

#include "geometry/repair/borders.hpp"

#include <span>

namespace pourwright::mending {

/// The triangles at each vertex.
class Fans {
 public:
  Fans() = default;
  explicit Fans(const Workpiece& w);
  std::span<const Index> at(Index v) const {
    return std::span(round_).subspan(start_[v], start_[v + 1] - start_[v]);
  }

 private:
  std::vector<Index> start_, round_;
};

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

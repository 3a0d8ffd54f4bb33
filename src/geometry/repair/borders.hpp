// SPDX-License-Identifier: GPL-3.0-or-later
// The closed lines along which a surface is open.
#pragma once

#include "geometry/repair/workpiece.hpp"

namespace pourwright::mending {

struct BorderLine {
  std::vector<Index> vertices;       ///< in the direction in which a closing's triangles run
  std::vector<HalfEdge> half_edges;  ///< outside edge i, from vertex i+1 to vertex i
  Vec3 area = Vec3::Zero();          ///< area vector of the line
  Vec3 middle = Vec3::Zero();
  Box box;
  double unevenness = 0;  ///< greatest distance from its plane
  double steepness = 0;   ///< mean angle between its plane and the triangles beside it, 0 … π

  double extent = 0;  ///< how far apart its points lie at most, within a factor of two at worst
};

/// Every border as simple closed lines; where several meet at a vertex the narrowest gap is followed.
std::vector<BorderLine> border_lines(const Workpiece& w);

}  // namespace pourwright::mending

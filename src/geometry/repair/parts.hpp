// SPDX-License-Identifier: GPL-3.0-or-later
// Parts of a surface, each weighed as a whole.
#pragma once

#include "geometry/repair/workpiece.hpp"

namespace pourwright::mending {

/// A part of the triangles, as a whole.
struct Part {
  std::size_t triangles = 0;
  double area = 0;
  Vec3 facing = Vec3::Zero();  // sum of the area vectors: zero when closed, the area when flat
  double volume = 0;           // against `centre`; of a closed part, its own
  double border = 0;           // length
  Box box;

  /// 0 of a closed part, 1 of a flat one.
  double openness() const { return area > 0 ? facing.norm() / area : 1; }
};

/// Area, volume and border of the parts that `part_of` numbers for each triangle, 0 … count−1. O(n).
std::vector<Part> survey(const Workpiece& w, const std::vector<Index>& part_of, std::size_t count);

}  // namespace pourwright::mending

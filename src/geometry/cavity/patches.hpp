// SPDX-License-Identifier: GPL-3.0-or-later
// The wetted surfaces of the cavities found, and the frame in which up is z.
#pragma once

#include <pourwright/cavity.hpp>

#include "geometry/cavity/capacity.hpp"
#include "geometry/mesh/sums.hpp"

#include <span>
#include <vector>

namespace pourwright {

/// Everything that later questions about cavities need: the wetted triangles of every cavity, a cavity's in
/// one range.
struct Cavities::Patches {
  struct Range {
    std::size_t first = 0, last = 0;
  };
  Eigen::Matrix3d frame;         // rows e1, e2, up
  std::vector<Column> columns;   // heights relative to `datum`
  std::vector<Index> triangles;  // their numbers
  std::vector<Range> range;      // per cavity, by id − 1
  std::vector<int> cavity_of;    // per triangle of the mesh, the smallest listed cavity it belongs to; 0 none
  std::vector<Index> floor_vertex;  // per cavity, by id − 1, its lowest
  double datum = 0;
  double plateau = 0;

  std::span<const Index> wall(int id) const {
    const Range r = range[static_cast<std::size_t>(id - 1)];
    return {triangles.data() + r.first, r.last - r.first};
  }
  Slice at(int id, double level) const {
    const Range r = range[static_cast<std::size_t>(id - 1)];
    Sum volume, area;
    for (std::size_t i = r.first; i < r.last; ++i) {
      const Slice s = under(columns[i], level - datum);
      volume.add(s.volume);
      area.add(s.area);
    }
    return {volume.value(), area.value()};
  }
};

/// Rows e1, e2, up. Exact for the six axis directions.
inline Eigen::Matrix3d frame_with_up(const Vec3& direction) {
  const Vec3 u = direction.normalized();
  Eigen::Matrix3d f;
  for (int k = 0; k < 3; ++k)
    if (std::abs(u[k]) == 1) {
      f.setZero();
      const double s = u[k];
      f(0, (k + 1) % 3) = 1;
      f(1, (k + 2) % 3) = s;  // keeps the frame right-handed
      f(2, k) = s;
      return f;
    }
  f.row(0) = u.unitOrthogonal();
  f.row(1) = u.cross(Vec3(f.row(0)));
  f.row(2) = u;
  return f;
}

}  // namespace pourwright

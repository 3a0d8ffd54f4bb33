// SPDX-License-Identifier: GPL-3.0-or-later
// Points found by place: sorted into the cells of a grid.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace pourwright {

class PointGrid {
 public:
  /// `cell` is about the radius that will be asked for. `points` must outlive the grid.
  PointGrid(const std::vector<Vec3>& points, double cell) : points_(points), cell_(cell) {
    for (const Vec3& p : points) low_ = low_.cwiseMin(p);
    for (Index i = 0; i < points.size(); ++i) cells_.emplace_back(key(at(points[i])), i);
    std::sort(cells_.begin(), cells_.end());
  }
  /// Calls visit(index) for every point within `radius`, in a fixed order.
  template <class Visit>
  void around(const Vec3& p, double radius, Visit&& visit) const {
    const Cell from = at(p - Vec3::Constant(radius)), to = at(p + Vec3::Constant(radius));
    for (std::int64_t x = from[0]; x <= to[0]; ++x)
      for (std::int64_t y = from[1]; y <= to[1]; ++y) {
        // Cells that differ only in z follow each other.
        auto it = std::lower_bound(cells_.begin(), cells_.end(), std::pair(key({x, y, from[2]}), Index{0}));
        const std::uint64_t last = key({x, y, to[2]});
        for (; it != cells_.end() && it->first <= last; ++it)
          if ((points_[it->second] - p).squaredNorm() <= radius * radius) visit(it->second);
      }
  }

 private:
  using Cell = std::array<std::int64_t, 3>;
  static constexpr std::int64_t most = (1 << 20) - 1;
  Cell at(const Vec3& p) const {
    Cell c;
    for (int k = 0; k < 3; ++k)
      c[static_cast<std::size_t>(k)] = static_cast<std::int64_t>(
          std::clamp(std::floor((p[k] - low_[k]) / cell_), -1.0, static_cast<double>(most - 1)));
    return c;
  }
  static std::uint64_t key(const Cell& c) {
    return static_cast<std::uint64_t>(c[0] + 1) << 42 | static_cast<std::uint64_t>(c[1] + 1) << 21 |
           static_cast<std::uint64_t>(c[2] + 1);
  }

  const std::vector<Vec3>& points_;
  double cell_;
  Vec3 low_ = Vec3::Constant(std::numeric_limits<double>::max());
  std::vector<std::pair<std::uint64_t, Index>> cells_;
};

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Points found by box: a k-d tree kept in one array.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <utility>
#include <vector>

namespace pourwright {

class PointTree {
 public:
  /// `ids` index `points`, which must outlive the tree.
  PointTree(const std::vector<Vec3>& points, std::vector<Index> ids) : points_(points), ids_(std::move(ids)) {
    build(0, ids_.size(), 0);
  }
  /// Calls visit(id) for every point in the box [low, high].
  template <class Visit>
  void in_box(const Vec3& low, const Vec3& high, Visit&& visit) const {
    search(0, ids_.size(), 0, low, high, visit);
  }
  template <class Visit>
  void near(const Vec3& p, double reach, Visit&& visit) const {
    const Vec3 r = Vec3::Constant(reach);
    in_box(p - r, p + r, [&](Index i) {
      if ((points_[i] - p).squaredNorm() <= reach * reach) visit(i);
    });
  }

 private:
  void build(std::size_t begin, std::size_t end, int axis) {
    if (end - begin < 2) return;
    const std::size_t middle = begin + (end - begin) / 2;
    const auto at = [this](std::size_t i) { return ids_.begin() + static_cast<std::ptrdiff_t>(i); };
    std::nth_element(at(begin), at(middle), at(end), [&](Index a, Index b) {
      return points_[a][axis] != points_[b][axis] ? points_[a][axis] < points_[b][axis] : a < b;
    });
    build(begin, middle, (axis + 1) % 3);
    build(middle + 1, end, (axis + 1) % 3);
  }
  template <class Visit>
  void search(std::size_t begin, std::size_t end, int axis, const Vec3& low, const Vec3& high,
              Visit& visit) const {
    if (begin >= end) return;
    const std::size_t middle = begin + (end - begin) / 2;
    const Vec3& p = points_[ids_[middle]];
    if ((p.array() >= low.array()).all() && (p.array() <= high.array()).all()) visit(ids_[middle]);
    if (p[axis] >= low[axis]) search(begin, middle, (axis + 1) % 3, low, high, visit);
    if (p[axis] <= high[axis]) search(middle + 1, end, (axis + 1) % 3, low, high, visit);
  }

  const std::vector<Vec3>& points_;
  std::vector<Index> ids_;
};

}  // namespace pourwright

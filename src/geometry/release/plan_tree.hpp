// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

#include <functional>
#include <vector>

#include <Eigen/Core>

namespace pourwright::release {

using Vec2 = Eigen::Vector2d;

struct Rectangle {
  Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity());
  Vec2 high = Vec2::Constant(-std::numeric_limits<double>::infinity());
  void add(const Vec2& p) {
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
  }
  void add(const Rectangle& r) {
    low = low.cwiseMin(r.low);
    high = high.cwiseMax(r.high);
  }
  double squared_distance(const Vec2& p) const {
    return (low - p).cwiseMax(p - high).cwiseMax(Vec2::Zero()).squaredNorm();
  }
  bool holds(const Vec2& p) const {
    return (low.array() <= p.array()).all() && (p.array() <= high.array()).all();
  }
};

/// Rectangles in the plane, halved by their middles. Build O(n log n).
class PlanTree {
 public:
  explicit PlanTree(std::vector<Rectangle> items);

  /// The item with the least `distance` (squared, never below its rectangle's), and that distance; `none` for
  /// an empty tree or when nothing is nearer than `within`.
  std::pair<Index, double> nearest(const Vec2& p, double within,
                                   const std::function<double(Index)>& distance) const;
  /// Whether `found` says yes to an item whose rectangle holds p.
  bool any_at(const Vec2& p, const std::function<bool(Index)>& found) const;

 private:
  struct Node {
    Rectangle box;
    Index first = 0, count = 0;  ///< items; count 0: an inner node whose children are `first` and the next
  };
  std::vector<Rectangle> items_;
  std::vector<Index> order_;
  std::vector<Node> nodes_;
};

}  // namespace pourwright::release

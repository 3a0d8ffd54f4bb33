// SPDX-License-Identifier: GPL-3.0-or-later
// Rectangles in the plane found by place: the nearest, and those that hold a point.
#pragma once

#include <pourwright/mesh.hpp>

#include <array>
#include <limits>
#include <utility>
#include <vector>

#include <Eigen/Core>

namespace pourwright {

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
  /// `from` is, for each item, the height that a question must be above for the item to answer it; none at
  /// all: every item answers.
  explicit PlanTree(std::vector<Rectangle> items, std::vector<double> from = {});

  /// The item with the least `distance` (squared, never below its rectangle's) of those that answer at
  /// `height`, and that distance; `none` for an empty tree or when nothing is nearer than `within`. When
  /// something is nearer than `enough`, any such item will do.
  template <class Distance>
  std::pair<Index, double> nearest(const Vec2& p, double within, const Distance& distance,
                                   double height = std::numeric_limits<double>::infinity(),
                                   double enough = -1) const {
    Index best = none;
    double least = within;
    Stack stack;
    if (!nodes_.empty()) stack.push(0);
    while (!stack.empty() && least >= enough) {
      const Node& node = nodes_[stack.pop()];
      if (!(height > node.from) || node.box.squared_distance(p) >= least) continue;
      if (node.count == 0) {
        const bool second_nearer =
            nodes_[node.first + 1].box.squared_distance(p) < nodes_[node.first].box.squared_distance(p);
        stack.push(node.first + (second_nearer ? 0 : 1));
        stack.push(node.first + (second_nearer ? 1 : 0));
        continue;
      }
      for (Index i = node.first; i < node.first + node.count; ++i) {
        if (!(height > from(order_[i]))) continue;
        const double d = distance(order_[i]);
        if (d < least) {
          least = d;
          best = order_[i];
        }
      }
    }
    return {best, least};
  }

  /// Whether `found` says yes to an item whose rectangle holds p.
  template <class Found>
  bool any_at(const Vec2& p, const Found& found) const {
    Stack stack;
    if (!nodes_.empty()) stack.push(0);
    while (!stack.empty()) {
      const Node& node = nodes_[stack.pop()];
      if (!node.box.holds(p)) continue;
      if (node.count == 0) {
        stack.push(node.first);
        stack.push(node.first + 1);
        continue;
      }
      for (Index i = node.first; i < node.first + node.count; ++i)
        if (items_[order_[i]].holds(p) && found(order_[i])) return true;
    }
    return false;
  }

 private:
  struct Node {
    Rectangle box;
    double from = 0;             ///< the least of its items'
    Index first = 0, count = 0;  ///< items; count 0: an inner node whose children are `first` and the next
  };
  /// Halving 2^32 items ends long before it is full.
  struct Stack {
    std::array<Index, 128> nodes;
    std::size_t top = 0;
    bool empty() const { return top == 0; }
    void push(Index n) { nodes[top++] = n; }
    Index pop() { return nodes[--top]; }
  };
  double from(Index i) const { return from_.empty() ? -std::numeric_limits<double>::infinity() : from_[i]; }

  std::vector<Rectangle> items_;
  std::vector<double> from_;
  std::vector<Index> order_;
  std::vector<Node> nodes_;
};

}  // namespace pourwright

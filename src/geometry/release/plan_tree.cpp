// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/release/plan_tree.hpp"

#include <algorithm>
#include <array>
#include <numeric>

namespace pourwright::release {
namespace {
constexpr Index leaf = 4;
constexpr std::size_t deepest = 64;  // halving 2^32 items ends long before
}  // namespace

PlanTree::PlanTree(std::vector<Rectangle> items) : items_(std::move(items)), order_(items_.size()) {
  std::iota(order_.begin(), order_.end(), 0);
  if (items_.empty()) return;
  nodes_.push_back({{}, 0, static_cast<Index>(items_.size())});
  for (std::size_t n = 0; n < nodes_.size(); ++n) {
    const Index first = nodes_[n].first, count = nodes_[n].count;
    Rectangle box;
    for (Index i = first; i < first + count; ++i) box.add(items_[order_[i]]);
    nodes_[n].box = box;
    if (count <= leaf) continue;
    const Eigen::Index axis = box.high.x() - box.low.x() >= box.high.y() - box.low.y() ? 0 : 1;
    const auto middle = [&](Index i) { return items_[i].low[axis] + items_[i].high[axis]; };
    const auto from = order_.begin() + first;
    std::nth_element(from, from + count / 2, from + count, [&](Index a, Index b) {
      const double ma = middle(a), mb = middle(b);
      return ma < mb || (ma == mb && a < b);  // the same tree every time
    });
    nodes_[n].first = static_cast<Index>(nodes_.size());
    nodes_[n].count = 0;
    nodes_.push_back({{}, first, count / 2});
    nodes_.push_back({{}, first + count / 2, count - count / 2});
  }
}

std::pair<Index, double> PlanTree::nearest(const Vec2& p, double within,
                                           const std::function<double(Index)>& distance) const {
  Index best = none;
  double least = within;
  if (nodes_.empty()) return {best, least};
  std::array<Index, 2 * deepest> stack{};
  std::size_t top = 0;
  stack[top++] = 0;
  while (top > 0) {
    const Node& node = nodes_[stack[--top]];
    if (node.box.squared_distance(p) >= least) continue;
    if (node.count > 0) {
      for (Index i = node.first; i < node.first + node.count; ++i) {
        const double d = distance(order_[i]);
        if (d < least) {
          least = d;
          best = order_[i];
        }
      }
      continue;
    }
    const bool second_nearer =
        nodes_[node.first + 1].box.squared_distance(p) < nodes_[node.first].box.squared_distance(p);
    stack[top++] = node.first + (second_nearer ? 0 : 1);
    stack[top++] = node.first + (second_nearer ? 1 : 0);
  }
  return {best, least};
}

bool PlanTree::any_at(const Vec2& p, const std::function<bool(Index)>& found) const {
  if (nodes_.empty()) return false;
  std::array<Index, 2 * deepest> stack{};
  std::size_t top = 0;
  stack[top++] = 0;
  while (top > 0) {
    const Node& node = nodes_[stack[--top]];
    if (!node.box.holds(p)) continue;
    if (node.count == 0) {
      stack[top++] = node.first;
      stack[top++] = node.first + 1;
      continue;
    }
    for (Index i = node.first; i < node.first + node.count; ++i)
      if (items_[order_[i]].holds(p) && found(order_[i])) return true;
  }
  return false;
}

}  // namespace pourwright::release

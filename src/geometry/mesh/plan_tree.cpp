// SPDX-License-Identifier: GPL-3.0-or-later
// A tree over rectangles in the plane, halved at the median of their middles (J. L. Bentley, Commun. ACM
// 18(9), 1975, for points). Law: ties are broken by number, so that the same rectangles make the same tree.
#include "geometry/mesh/plan_tree.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright {
namespace {
constexpr Index leaf = 4;
}  // namespace

PlanTree::PlanTree(std::vector<Rectangle> items, std::vector<double> from)
    : items_(std::move(items)), from_(std::move(from)), order_(items_.size()) {
  std::iota(order_.begin(), order_.end(), 0);
  if (items_.empty()) return;
  nodes_.push_back({{}, 0, 0, static_cast<Index>(items_.size())});
  for (std::size_t n = 0; n < nodes_.size(); ++n) {
    const Index first = nodes_[n].first, count = nodes_[n].count;
    Rectangle box;
    double least = std::numeric_limits<double>::infinity();
    for (Index i = first; i < first + count; ++i) {
      box.add(items_[order_[i]]);
      least = std::min(least, this->from(order_[i]));
    }
    nodes_[n].box = box;
    nodes_[n].from = least;
    if (count <= leaf) continue;
    const Eigen::Index axis = box.high.x() - box.low.x() >= box.high.y() - box.low.y() ? 0 : 1;
    const auto middle = [&](Index i) { return items_[i].low[axis] + items_[i].high[axis]; };
    const auto begin = order_.begin() + first;
    std::nth_element(begin, begin + count / 2, begin + count, [&](Index a, Index b) {
      const double ma = middle(a), mb = middle(b);
      return ma < mb || (ma == mb && a < b);  // the same tree every time
    });
    nodes_[n].first = static_cast<Index>(nodes_.size());
    nodes_[n].count = 0;
    nodes_.push_back({{}, 0, first, count / 2});
    nodes_.push_back({{}, 0, first + count / 2, count - count / 2});
  }
}

}  // namespace pourwright

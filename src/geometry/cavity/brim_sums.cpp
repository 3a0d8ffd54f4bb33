// SPDX-License-Identifier: GPL-3.0-or-later
// A triangle counts in its own pool and in every pool above it: as a linear function of the brim from the
// first brim that covers it, as a cubic in the pools below that whose brims cross it. The linear parts are
// carried up the tree. The cubics are added to whole stretches of the way up at once, in a segment tree over
// heavy paths (D. D. Sleator, R. E. Tarjan, A data structure for dynamic trees, 1983). Every node of it keeps
// its cubic about a brim of its own stretch, so that no power of a height is ever larger than the triangle it
// stands for.
#include "geometry/cavity/brim_sums.hpp"

#include "geometry/mesh/sums.hpp"

#include <limits>

namespace pourwright {
namespace {

struct Cubic {
  double c0 = 0, c1 = 0, c2 = 0, c3 = 0;
  void add(const Cubic& o) {
    c0 += o.c0;
    c1 += o.c1;
    c2 += o.c2;
    c3 += o.c3;
  }
  bool empty() const { return c0 == 0 && c1 == 0 && c2 == 0 && c3 == 0; }
  Slice at(double x) const { return {((c3 * x + c2) * x + c1) * x + c0, (3 * c3 * x + 2 * c2) * x + c1}; }
};

/// `under` for a level between a and b, and between b and c, about level r in that range.
Cubic lower_part(const Column& k, double r) {
  const double s = k.plan / (3 * (k.b - k.a) * (k.c - k.a)), d = r - k.a;
  return {s * d * d * d, 3 * s * d * d, 3 * s * d, s};
}
Cubic upper_part(const Column& k, double r) {
  const double s = k.plan / (3 * (k.c - k.a) * (k.c - k.b)), d = k.c - r;
  const double whole = ((r - k.a) + (r - k.b) + (r - k.c)) / 3;
  return {k.plan * whole + s * d * d * d, k.plan - 3 * s * d * d, 3 * s * d, -s};
}

class BrimSummer {
 public:
  BrimSummer(const JoinTree& tree, double datum, double plateau)
      : tree_(tree), plateau_(plateau), count_(tree.nodes.size()) {
    lay_out_heavy_paths();
    brim_.resize(order_.size());
    for (std::size_t p = 0; p < order_.size(); ++p) {
      const PoolNode& n = tree.nodes[order_[p]];
      brim_[p] = n.parent == none && !n.spills ? std::numeric_limits<double>::infinity() : n.brim - datum;
    }
    while (leaves_ < order_.size()) leaves_ *= 2;
    cubics_.resize(2 * leaves_);
  }

  std::vector<BrimSum> run(std::span<const Column> columns, std::span<const std::size_t> start) {
    linear_.resize(count_);
    for (const Index n : order_)
      for (std::size_t i = start[n]; i < start[n + 1]; ++i) {
        linear_[n].plan_size += std::abs(columns[i].plan);
        spread(columns[i], n);
      }
    std::vector<BrimSum> out(count_);
    for (std::size_t p = order_.size(); p-- > 0;) {  // children come after their parents
      const Index n = order_[p];
      const Linear& l = linear_[n];
      if (brim_[p] == std::numeric_limits<double>::infinity()) {
        out[n] = {-l.moment.value(), 0, l.plan_size};
      } else {
        const Slice s = crossing(p);
        Sum volume, opening = l.plan;
        volume.add(l.plan.value() * brim_[p]);
        volume.add(-l.moment.value());
        volume.add(s.volume);
        opening.add(s.area);
        opening.add(-l.rim);
        out[n] = {volume.value(), opening.value(), l.plan_size};
      }
      if (const Index up = tree_.nodes[n].parent; up != none) linear_[up].add(l);
    }
    return out;
  }

 private:
  struct Linear {
    Sum plan, moment;  // Σ plan area, Σ plan area · mean height
    double plan_size = 0;
    double rim = 0;  // plan area that starts within a plateau of this brim; not carried up
    void add(const Linear& o) {
      plan.add(o.plan);
      moment.add(o.moment);
      plan_size += o.plan_size;
    }
  };

  /// Places every pool after its parent so that each heavy path is a run; brims fall along it.
  void lay_out_heavy_paths() {
    std::vector<Index> weight(count_, 0);
    std::vector<Index> tops;
    for (Index n = 0; n < count_; ++n) {  // children come before parents in the tree
      const PoolNode& node = tree_.nodes[n];
      if (node.kind != PoolNode::Kind::pool || node.absorbed_by != none) continue;
      ++weight[n];
      if (node.parent != none)
        weight[node.parent] += weight[n];
      else
        tops.push_back(n);
    }
    place_.assign(count_, 0);
    head_.assign(count_, none);
    while (!tops.empty()) {
      const Index top = tops.back();
      tops.pop_back();
      for (Index n = top; n != none;) {
        place_[n] = order_.size();
        head_[n] = top;
        order_.push_back(n);
        Index heavy = none;
        for (const Index c : tree_.nodes[n].children)
          if (heavy == none || weight[c] > weight[heavy]) heavy = c;
        for (const Index c : tree_.nodes[n].children)
          if (c != heavy) tops.push_back(c);
        n = heavy;
      }
    }
  }

  /// Adds a triangle to its pool and to all above it.
  void spread(const Column& k, Index n) {
    for (; n != none; n = tree_.nodes[head_[n]].parent) {
      const std::size_t top = place_[head_[n]];
      std::size_t low = place_[n] + 1;            // one past the lowest pool that counts it
      const auto first_at_most = [&](double h) {  // places from there to `low` have brims of at most h
        if (brim_[low - 1] > h) return low;
        return static_cast<std::size_t>(std::partition_point(brim_.begin() + static_cast<std::ptrdiff_t>(top),
                                                             brim_.begin() + static_cast<std::ptrdiff_t>(low),
                                                             [h](double b) { return b > h; }) -
                                        brim_.begin());
      };
      low = first_at_most(k.a);
      // Brims on one path are more than a plateau apart, so these are few.
      for (std::size_t p = low; p-- > top && brim_[p] <= k.a + plateau_;)
        linear_[order_[p]].rim += under(k, brim_[p]).area;
      if (low == top) continue;
      if (const std::size_t to = first_at_most(k.b); to < low) {
        add(to, low, k, lower_part);
        low = to;
      }
      // The first brim that reaches the top corner takes it whole, and the sums carry it on from there.
      if (low > top && brim_[low - 1] < k.c) {
        const double below_c = std::nextafter(k.c, -std::numeric_limits<double>::infinity());
        const std::size_t to = first_at_most(below_c);
        add(to, low, k, upper_part);
        low = to;
      }
      if (low == top) continue;
      Linear& l = linear_[order_[low - 1]];
      l.plan.add(k.plan);
      l.moment.add(k.plan * ((k.a + k.b + k.c) / 3));
      return;
    }
  }

  /// Adds a part of a triangle to the pools at places from … to−1.
  void add(std::size_t from, std::size_t to, const Column& k, Cubic (*part)(const Column&, double)) {
    const auto put = [&](std::size_t node) { cubics_[node].add(part(k, reference(node))); };
    std::size_t l = from + leaves_, r = to + leaves_;
    for (; l < r; l /= 2, r /= 2) {
      if (l % 2 == 1) put(l++);
      if (r % 2 == 1) put(--r);
    }
  }

  /// The brim of the first place under a node of the segment tree.
  double reference(std::size_t node) const {
    while (node < leaves_) node *= 2;
    return brim_[node - leaves_];
  }

  Slice crossing(std::size_t place) const {
    Slice sum{0, 0};
    for (std::size_t node = place + leaves_; node > 0; node /= 2) {
      if (cubics_[node].empty()) continue;  // may belong to more than this path
      const Slice s = cubics_[node].at(brim_[place] - reference(node));
      sum.volume += s.volume;
      sum.area += s.area;
    }
    return sum;
  }

  const JoinTree& tree_;
  double plateau_;
  std::size_t count_, leaves_ = 1;
  std::vector<Index> order_, head_;  // pools by place; the top of each pool's path
  std::vector<std::size_t> place_;
  std::vector<double> brim_;   // by place
  std::vector<Cubic> cubics_;  // segment tree over places
  std::vector<Linear> linear_;
};

}  // namespace

std::vector<BrimSum> sum_to_brims(const JoinTree& tree, std::span<const Column> columns,
                                  std::span<const std::size_t> start, double datum, double plateau) {
  return BrimSummer(tree, datum, plateau).run(columns, start);
}

}  // namespace pourwright

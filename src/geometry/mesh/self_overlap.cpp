// SPDX-License-Identifier: GPL-3.0-or-later
// A box tree over triangles in Morton order, traversed against itself. Most pairs that are left are
// neighbours, and most of those are cleared vertex by vertex beforehand. The rest are first separated by a
// plane in floating point with a safe margin, and only what that cannot settle is decided by exact
// predicates.
#include "geometry/mesh/self_overlap.hpp"

#include "geometry/mesh/morton.hpp"
#include "geometry/mesh/predicates.hpp"
#include "geometry/mesh/spread_sort.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

namespace pourwright {
namespace {

using Corners = std::array<Vec3, 3>;

Vec3 normal_of(const Corners& t) {
  return (t[1] - t[0]).cross(t[2] - t[0]);
}

bool has_no_area(const Corners& t) {
  const Vec3 n = normal_of(t);
  const double scale = std::max((t[1] - t[0]).squaredNorm(), (t[2] - t[0]).squaredNorm());
  if (n.squaredNorm() > 1e-20 * scale * scale) return false;
  for (int k = 0; k < 3; ++k) {
    const int i = (k + 1) % 3, j = (k + 2) % 3;
    if (orient2d(t[0][i], t[0][j], t[1][i], t[1][j], t[2][i], t[2][j]) != 0) return false;
  }
  return true;
}

/// Is the axis a strict separation of s and t, beyond any rounding? Heights are measured from `origin`.
bool separates(const Vec3& axis, const Vec3& origin, const Corners& s, const Corners& t, double reach) {
  double s_low = 0, s_high = 0, t_low = 0, t_high = 0;
  for (int k = 0; k < 3; ++k) {
    const double hs = axis.dot(s[static_cast<std::size_t>(k)] - origin);
    const double ht = axis.dot(t[static_cast<std::size_t>(k)] - origin);
    s_low = k == 0 ? hs : std::min(s_low, hs);
    s_high = k == 0 ? hs : std::max(s_high, hs);
    t_low = k == 0 ? ht : std::min(t_low, ht);
    t_high = k == 0 ? ht : std::max(t_high, ht);
  }
  const double margin = 1e-14 * axis.lpNorm<1>() * reach;
  return s_high + margin < t_low || t_high + margin < s_low;
}

bool between(const Plan& d, const Vec3& a, const Vec3& b, const Vec3& p) {  // p collinear with ab
  return std::min(a[d.i], b[d.i]) <= p[d.i] && p[d.i] <= std::max(a[d.i], b[d.i]) &&
         std::min(a[d.j], b[d.j]) <= p[d.j] && p[d.j] <= std::max(a[d.j], b[d.j]);
}

bool segments_meet(const Plan& d, const Vec3& a, const Vec3& b, const Vec3& p, const Vec3& q) {
  const int o1 = turn(d, a, b, p), o2 = turn(d, a, b, q), o3 = turn(d, p, q, a), o4 = turn(d, p, q, b);
  if (o1 * o2 < 0 && o3 * o4 < 0) return true;
  return (o1 == 0 && between(d, a, b, p)) || (o2 == 0 && between(d, a, b, q)) ||
         (o3 == 0 && between(d, p, q, a)) || (o4 == 0 && between(d, p, q, b));
}

bool inside_in_plane(const Plan& d, const Corners& t, const Vec3& p) {
  const int a = turn(d, t[0], t[1], p), b = turn(d, t[1], t[2], p), c = turn(d, t[2], t[0], p);
  return (a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0);
}

/// Closed segment against closed triangle that has area, exactly.
bool segment_meets(const Vec3& p, const Vec3& q, const Corners& t) {
  const int sp = orient3d(t[0], t[1], t[2], p), sq = orient3d(t[0], t[1], t[2], q);
  if (sp * sq > 0) return false;
  if (sp == 0 && sq == 0) {
    const Plan d = plan_with_area(t[0], t[1], t[2]);
    return inside_in_plane(d, t, p) || inside_in_plane(d, t, q) || segments_meet(d, t[0], t[1], p, q) ||
           segments_meet(d, t[1], t[2], p, q) || segments_meet(d, t[2], t[0], p, q);
  }
  const int a = orient3d(p, q, t[0], t[1]), b = orient3d(p, q, t[1], t[2]), c = orient3d(p, q, t[2], t[0]);
  return (a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0);
}

/// s and t share the edge s[0]s[1] = t[0]t[1] only: they overlap when they fold onto each other.
bool fold_overlaps(const Corners& s, const Corners& t) {
  const Vec3 e = s[1] - s[0];
  const Vec3 ns = e.cross(s[2] - s[0]), nt = e.cross(t[2] - s[0]);
  // Both third corners are on the same side of the edge only if these normals point the same way.
  // Squares throughout: most pairs of neighbours end here, and roots would cost more than all the rest.
  const auto clear = [&](double n2, double a2, double b2) {  // not a sliver
    const double longest = std::max(a2, b2);
    return n2 > 1e-18 * longest * longest;
  };
  const double ns2 = ns.squaredNorm(), nt2 = nt.squaredNorm(), e2 = e.squaredNorm(), along = ns.dot(nt);
  if ((along < 0 || along * along < 0.25 * ns2 * nt2) && clear(ns2, e2, (s[2] - s[0]).squaredNorm()) &&
      clear(nt2, e2, (t[2] - s[0]).squaredNorm()))
    return false;
  if (orient3d(s[0], s[1], s[2], t[2]) != 0) return false;
  const Plan d = plan_with_area(s[0], s[1], s[2]);
  return turn(d, s[0], s[1], s[2]) * turn(d, s[0], s[1], t[2]) > 0;
}

/// s and t share the vertex s[0] = t[0] only.
bool fan_overlaps(const Corners& s, const Corners& t, double reach) {
  const Vec3& v = s[0];
  // A plane through v with both other corners of s strictly on one side and those of t on the other proves
  // that the two meet in v alone. Try the one between their bisectors, then each one's plane.
  const Vec3 a = s[1] - v, b = s[2] - v, c = t[1] - v, d = t[2] - v;
  const auto parted_by = [&](const Vec3& m) {
    const double margin = 1e-14 * m.lpNorm<1>() * reach;
    return m.dot(a) > margin && m.dot(b) > margin && m.dot(c) < -margin && m.dot(d) < -margin;
  };
  // Plain sums do when the triangles are of a size, and spare the roots.
  if (parted_by(a + b - c - d)) return false;
  if (parted_by((a.normalized() + b.normalized()).normalized() -
                (c.normalized() + d.normalized()).normalized()))
    return false;
  const int sc = orient3d(s[0], s[1], s[2], t[1]), sd = orient3d(s[0], s[1], s[2], t[2]);
  if (sc * sd > 0) return false;
  return segment_meets(s[1], s[2], t) || segment_meets(t[1], t[2], s);
}

bool apart_overlap(const Corners& s, const Corners& t, double reach) {
  const Vec3 ns = normal_of(s), nt = normal_of(t);
  if (separates(ns, s[0], s, t, reach) || separates(nt, s[0], s, t, reach)) return false;
  for (std::size_t k = 0; k < 3; ++k) {
    const std::size_t l = (k + 1) % 3;
    if (separates(ns.cross(s[l] - s[k]), s[0], s, t, reach) ||
        separates(nt.cross(t[l] - t[k]), s[0], s, t, reach))
      return false;
  }
  for (std::size_t k = 0; k < 3; ++k) {
    const std::size_t l = (k + 1) % 3;
    if (segment_meets(s[k], s[l], t) || segment_meets(t[k], t[l], s)) return true;
  }
  return false;
}

bool overlap(const std::vector<Vec3>& vertices, Triangle s, Triangle t, double reach) {
  // Turn both so that shared vertices come first.
  std::size_t shared = 0;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = shared; j < 3; ++j)
      if (i >= shared && s[i] == t[j]) {
        std::swap(s[shared], s[i]);
        std::swap(t[shared], t[j]);
        ++shared;
        break;
      }
  const Corners a{vertices[s[0]], vertices[s[1]], vertices[s[2]]};
  const Corners b{vertices[t[0]], vertices[t[1]], vertices[t[2]]};
  if (shared == 3) return true;
  if (shared == 2) return fold_overlaps(a, b);
  if (shared == 1) return fan_overlaps(a, b, reach);
  return apart_overlap(a, b, reach);
}

// ---- neighbours ----------------------------------------------------------------------------------------

/// One coordinate of (a−c)×(b−c), before its two products are subtracted.
struct Facing {
  double left, right;
  Facing(const Vec3& u, const Vec3& v, int axis) {
    const int i = (axis + 1) % 3, j = (axis + 2) % 3;
    left = u[i] * v[j];
    right = u[j] * v[i];
  }
  double difference() const { return left - right; }
  /// 1 up the axis, 2 down, 0 when rounding hides it; the bound is that of orient2d.
  unsigned sign() const {
    const double bound = 3.3306690738754716e-16 * (std::abs(left) + std::abs(right)) + 1e-290;
    return (left - right > bound ? 1U : 0U) | (right - left > bound ? 2U : 0U);
  }
};

/// Vertices whose triangles touch each other in no more than they share. Seen along an axis that all of them
/// face, the triangles round a vertex are sectors narrower than half a turn. As every edge is used as often
/// one way as the other, as many sectors begin at it as end, so every direction is covered by as many as any
/// one direction is: by a single one. Then two sectors have a border in common at most, and it is one edge of
/// both; of different edges in that direction the next sector from each would cover the same. Signs that are
/// not certain leave a vertex out. O(n).
std::vector<char> find_clear_vertices(const std::vector<Vec3>& vertices,
                                      const std::vector<Triangle>& triangles) {
  std::vector<Vec3> facing(vertices.size(), Vec3::Zero());
  for (const Triangle& t : triangles) {
    const Vec3 u = vertices[t[0]] - vertices[t[2]], v = vertices[t[1]] - vertices[t[2]];
    const Vec3 n = u.cross(v);
    for (const Index k : t) facing[k] += n;
  }
  struct Star {
    int axis;
    bool down, clear;  // all that has been seen faces down the axis; or up
    int covered;       // sectors in the direction of the plan's first axis, a hair to its left
  };
  std::vector<Star> stars(vertices.size());
  for (std::size_t v = 0; v < vertices.size(); ++v) {
    const Vec3 size = facing[v].cwiseAbs();
    const int larger = size.x() >= size.y() ? 0 : 1, axis = size[larger] >= size.z() ? larger : 2;
    stars[v] = {axis, facing[v][axis] < 0, true, 0};
  }
  facing = {};
  for (const Triangle& t : triangles) {
    const std::array<Vec3, 3> p{vertices[t[0]], vertices[t[1]], vertices[t[2]]};
    const Vec3 u = p[0] - p[2], v = p[1] - p[2];
    const std::array<unsigned, 3> sign{Facing(u, v, 0).sign(), Facing(u, v, 1).sign(),
                                       Facing(u, v, 2).sign()};
    for (std::size_t k = 0; k < 3; ++k) {
      Star& star = stars[t[k]];
      star.clear &= sign[static_cast<std::size_t>(star.axis)] == (star.down ? 2U : 1U);
      const int j = (star.axis + 2) % 3;
      const double here = p[k][j], next = p[(k + 1) % 3][j], last = p[(k + 2) % 3][j];
      // From below the direction to above it, the turn that is less than half.
      star.covered += (star.down ? last : next) <= here && (star.down ? next : last) > here ? 1 : 0;
    }
  }
  std::vector<char> clear(vertices.size());
  for (std::size_t v = 0; v < vertices.size(); ++v) clear[v] = stars[v].clear && stars[v].covered == 1;
  return clear;
}

// ---- the tree ------------------------------------------------------------------------------------------

/// Four numbers that are compared at once.
using Four = float __attribute__((vector_size(16)));
using FourIndices = Index __attribute__((vector_size(16)));

/// Which of four comparisons hold, as bits.
template <class Mask>
unsigned bits(Mask mask) {
#ifdef __SSE__
  Four sign;
  std::memcpy(&sign, &mask, sizeof sign);
  return static_cast<unsigned>(__builtin_ia32_movmskps(sign));
#else
  return (mask[0] & 1U) | (mask[1] & 2U) | (mask[2] & 4U) | (mask[3] & 8U);
#endif
}

/// The last number is not used.
struct FloatBox {
  Four low, high;
  void add(const FloatBox& o) {
    low = o.low < low ? o.low : low;
    high = o.high > high ? o.high : high;
  }
};
constexpr float far = std::numeric_limits<float>::infinity();
constexpr FloatBox nothing{{far, far, far, far}, {-far, -far, -far, -far}};

/// Around a point, a step of single precision wide at least.
FloatBox box_round(const Vec3& p) {
  FloatBox box{{0, 0, 0, 0}, {0, 0, 0, 0}};
  for (int k = 0; k < 3; ++k) {
    const float f = static_cast<float>(p[k]);
    const float step = std::abs(f) * 1.2e-7F + std::numeric_limits<float>::min();
    box.low[k] = f - step;
    box.high[k] = f + step;
  }
  return box;
}

/// Four boxes side by side.
struct Boxes {
  std::array<Four, 3> low{Four{far, far, far, far}, Four{far, far, far, far}, Four{far, far, far, far}},
      high{Four{-far, -far, -far, -far}, Four{-far, -far, -far, -far}, Four{-far, -far, -far, -far}};

  void set(int place, const FloatBox& box) {
    for (std::size_t k = 0; k < 3; ++k) {
      low[k][place] = box.low[static_cast<int>(k)];
      high[k][place] = box.high[static_cast<int>(k)];
    }
  }
  FloatBox at(int place) const {
    return {Four{low[0][place], low[1][place], low[2][place], 0},
            Four{high[0][place], high[1][place], high[2][place], 0}};
  }
  FloatBox all() const {
    FloatBox box = at(0);
    for (int k = 1; k < 4; ++k) box.add(at(k));
    return box;
  }
  /// Those that meet the box in one place of the other four, as bits. All sides at once: which of them fails
  /// first cannot be foreseen.
  unsigned meet(const Boxes& o, int place) const {
    const auto along = [&](std::size_t k) {
      return (low[k] <= o.high[k][place]) & (high[k] >= o.low[k][place]);
    };
    return bits(along(0) & along(1) & along(2));
  }
};

class BoxTree {
 public:
  BoxTree(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, bool even)
      : vertices_(vertices), triangles_(triangles) {
    Box all;
    for (const Vec3& p : vertices) all.add(p);
    centre_ = all.centre();
    const Vec3 size = all.size();
    reach_ = size.norm();
    const double scale = size.maxCoeff() > 0 ? 2097151.0 / size.maxCoeff() : 0;
    const std::size_t n = triangles.size();
    std::vector<std::pair<std::uint64_t, Index>> keyed(n);
    for (std::size_t t = 0; t < n; ++t) {
      const Triangle& c = triangles[t];
      const Vec3 m = ((vertices[c[0]] + vertices[c[1]] + vertices[c[2]]) / 3 - all.low) * scale;
      keyed[t] = {morton(static_cast<std::uint64_t>(m.x()), static_cast<std::uint64_t>(m.y()),
                         static_cast<std::uint64_t>(m.z())),
                  static_cast<Index>(t)};
    }
    const int places = std::min(18, static_cast<int>(std::bit_width(n)) + 2);
    sort_spread(keyed, std::size_t{1} << places,
                [places](std::uint64_t key) { return key >> (63 - places); });
    order_.resize(n);
    for (std::size_t i = 0; i < n; ++i) order_[i] = keyed[i].second;
    keyed = {};
    leaves_ = 1;
    while (leaves_ * 4 < n) leaves_ *= 2;
    fill_leaves();
    // From the boxes of a level to those two levels above.
    groups_.resize(std::max<std::size_t>(1, leaves_ / 2));
    for (std::size_t k = 0; k < boxes_.size(); ++k)
      if (leaves_ > 2) groups_[(leaves_ + k) / 4].set(static_cast<int>(k % 4), boxes_[k].all());
    for (std::size_t first = leaves_ / 4; first >= 4; first /= 4)
      for (std::size_t k = first; k < 2 * first; ++k)
        groups_[k / 4].set(static_cast<int>(k % 4), groups_[k].all());
    clear_.resize(n);
    std::vector<char> clear(vertices.size());
    if (even) clear = find_clear_vertices(vertices, triangles);
    for (std::size_t i = 0; i < n; ++i) {
      const Triangle& t = triangles[order_[i]];
      const auto told = [&](std::size_t k) { return clear[t[k]] != 0 ? t[k] : none; };
      clear_[i] = FourIndices{told(0), told(1), told(2), none};
    }
  }

  std::optional<Overlap> first_overlap() const {
    // The tree is binary and complete; every other level is passed over.
    std::vector<std::pair<Index, Index>> open{{1, 1}};
    if (std::countr_zero(leaves_) % 2 == 1) open = {{2, 2}, {3, 3}, {2, 3}};
    while (!open.empty()) {
      const auto [a, b] = open.back();
      open.pop_back();
      if (a >= leaves_) {  // and b, for both are on one level
        if (const auto hit = test_leaves(a, b)) return hit;
        continue;
      }
      unsigned pairs = below(a, b);
      const std::array<Pair, 16>& pair = a == b ? within : across;
      if (4 * std::size_t{a} < leaves_) {
        for (; pairs != 0; pairs &= pairs - 1) {
          const Pair p = pair[static_cast<std::size_t>(std::countr_zero(pairs))];
          open.emplace_back(4 * a + p.i, 4 * b + p.j);
        }
        continue;
      }
      for (; pairs != 0; pairs -= std::bit_floor(pairs)) {  // as they would come back, the last first
        const Pair p = pair[static_cast<std::size_t>(std::bit_width(pairs)) - 1];
        if (const auto hit = test_leaves(4 * a + p.i, 4 * b + p.j)) return hit;
      }
    }
    return std::nullopt;
  }

 private:
  static constexpr std::size_t leaf_size = 4;
  /// Pairs of those two levels below a pair of nodes, or below one node, as two steps down would list them.
  struct Pair {
    Index i, j;
  };
  static constexpr std::array<Pair, 16> across{{{0, 0},
                                                {0, 1},
                                                {1, 0},
                                                {1, 1},
                                                {0, 2},
                                                {0, 3},
                                                {1, 2},
                                                {1, 3},
                                                {2, 0},
                                                {2, 1},
                                                {3, 0},
                                                {3, 1},
                                                {2, 2},
                                                {2, 3},
                                                {3, 2},
                                                {3, 3}}};
  static constexpr std::array<Pair, 16> within{
      {{0, 0}, {1, 1}, {0, 1}, {2, 2}, {3, 3}, {2, 3}, {0, 2}, {0, 3}, {1, 2}, {1, 3}}};

  /// Which of those pairs meet, as bits.
  unsigned below(Index a, Index b) const {
    const Boxes &x = groups_[a], &y = groups_[b];
    const std::array<unsigned, 4> near{y.meet(x, 0), y.meet(x, 1), y.meet(x, 2), y.meet(x, 3)};
    unsigned out = 0;
    if (a == b) {
      for (std::size_t k = 0; k < 10; ++k) out |= (near[within[k].i] >> within[k].j & 1U) << k;
      return out;
    }
    for (unsigned i = 0; i < 4; ++i) {
      const unsigned to = i / 2 * 8 + i % 2 * 2;
      out |= (near[i] & 3U) << to | near[i] >> 2 << (to + 4);
    }
    return out;
  }

  void fill_leaves() {
    std::vector<FloatBox> corners(vertices_.size());
    for (std::size_t v = 0; v < vertices_.size(); ++v) corners[v] = box_round(vertices_[v] - centre_);
    boxes_.resize((order_.size() + leaf_size - 1) / leaf_size);
    for (std::size_t i = 0; i < order_.size(); ++i)
      boxes_[i / leaf_size].set(static_cast<int>(i % leaf_size), box_of(triangles_[order_[i]], corners));
  }

  bool share_clear_vertex(std::size_t x, std::size_t y) const {
    const FourIndices &a = clear_[x], &b = clear_[y];
    const auto same = [&](int k) { return b == FourIndices{a[k], a[k], a[k], a[k]}; };
    return bits((same(0) | same(1) | same(2)) & (b != FourIndices{none, none, none, none})) != 0;
  }

  /// Of a triangle without area nothing: it bounds nothing and meets nobody.
  FloatBox box_of(const Triangle& t, const std::vector<FloatBox>& corners) const {
    if (has_no_area({vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]})) return nothing;
    FloatBox box = corners[t[0]];
    box.add(corners[t[1]]);
    box.add(corners[t[2]]);
    return box;
  }

  std::optional<Overlap> test_leaves(std::size_t a, std::size_t b) const {
    const Boxes &first = boxes_[a - leaves_], &second = boxes_[b - leaves_];
    for (int i = 0; i < 4; ++i) {
      unsigned near = second.meet(first, i);
      if (a == b) near &= 14U << i;  // each pair once
      for (; near != 0; near &= near - 1) {
        const int j = std::countr_zero(near);
        const std::size_t x = (a - leaves_) * leaf_size + static_cast<std::size_t>(i),
                          y = (b - leaves_) * leaf_size + static_cast<std::size_t>(j);
        if (share_clear_vertex(x, y)) continue;
        const Index s = order_[x], t = order_[y];
        if (!overlap(vertices_, triangles_[s], triangles_[t], reach_)) continue;
        const FloatBox x_box = first.at(i), y_box = second.at(j);
        Vec3 at = Vec3::Zero();
        for (int k = 0; k < 3; ++k) {
          const double low = std::max<double>(x_box.low[k], y_box.low[k]);
          const double high = std::min<double>(x_box.high[k], y_box.high[k]);
          at[k] = centre_[k] + (low + high) / 2;
        }
        return Overlap{std::min(s, t), std::max(s, t), at};
      }
    }
    return std::nullopt;
  }

  const std::vector<Vec3>& vertices_;
  const std::vector<Triangle>& triangles_;
  Vec3 centre_;
  double reach_;
  std::vector<Index> order_;
  std::vector<Boxes> boxes_;        // per leaf
  std::vector<FourIndices> clear_;  // per place, its vertices that are clear, or `none`
  std::vector<Boxes> groups_;       // per node that is not passed over, those two levels below it
  std::size_t leaves_;
};

}  // namespace

bool triangles_overlap(const std::vector<Vec3>& vertices, const Triangle& s, const Triangle& t) {
  Box box;
  for (const Triangle* k : {&s, &t}) {
    if (has_no_area({vertices[(*k)[0]], vertices[(*k)[1]], vertices[(*k)[2]]})) return false;
    for (const Index v : *k) box.add(vertices[v]);
  }
  return overlap(vertices, s, t, box.size().norm());
}

std::optional<Overlap> find_self_overlap(const std::vector<Vec3>& vertices,
                                         const std::vector<Triangle>& triangles, bool even) {
  if (triangles.size() < 2) return std::nullopt;
  return BoxTree(vertices, triangles, even).first_overlap();
}

}  // namespace pourwright

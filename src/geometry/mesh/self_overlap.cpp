// SPDX-License-Identifier: GPL-3.0-or-later
// A box tree over triangles in Morton order, traversed against itself; candidate pairs are first separated by
// a plane in floating point with a safe margin, and only what that cannot settle is decided by exact
// predicates.
#include "geometry/mesh/self_overlap.hpp"

#include "geometry/mesh/predicates.hpp"

#include <algorithm>
#include <array>
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

// ---- the tree ------------------------------------------------------------------------------------------

/// Four numbers that are compared at once; the last is not used.
using Four = float __attribute__((vector_size(16)));

struct FloatBox {
  Four low, high;
  /// All sides at once: which of them fails first cannot be foreseen.
  bool meets(const FloatBox& o) const {
    const auto inside = (low <= o.high) & (o.low <= high);
    std::array<std::uint64_t, 2> half;
    std::memcpy(half.data(), &inside, sizeof half);
    return (half[0] & half[1]) == ~std::uint64_t{0};
  }
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

std::uint64_t spread(std::uint64_t x) {  // 21 bits, two zeros between neighbours
  x &= 0x1fffff;
  x = (x | x << 32) & 0x1f00000000ffff;
  x = (x | x << 16) & 0x1f0000ff0000ff;
  x = (x | x << 8) & 0x100f00f00f00f00f;
  x = (x | x << 4) & 0x10c30c30c30c30c3;
  return (x | x << 2) & 0x1249249249249249;
}

class BoxTree {
 public:
  BoxTree(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles)
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
      keyed[t] = {spread(static_cast<std::uint64_t>(m.x())) | spread(static_cast<std::uint64_t>(m.y())) << 1 |
                      spread(static_cast<std::uint64_t>(m.z())) << 2,
                  static_cast<Index>(t)};
    }
    std::sort(keyed.begin(), keyed.end());
    order_.resize(n);
    for (std::size_t i = 0; i < n; ++i) order_[i] = keyed[i].second;
    keyed = {};
    std::vector<FloatBox> corners(vertices.size());
    for (std::size_t v = 0; v < vertices.size(); ++v) corners[v] = box_round(vertices[v] - centre_);
    boxes_.resize(n);
    for (std::size_t i = 0; i < n; ++i) boxes_[i] = box_of(triangles[order_[i]], corners);
    corners = {};
    leaves_ = 1;
    while (leaves_ * leaf_size < n) leaves_ *= 2;
    nodes_.assign(2 * leaves_, nothing);
    for (std::size_t i = 0; i < n; ++i) nodes_[leaves_ + i / leaf_size].add(boxes_[i]);
    for (std::size_t k = leaves_ - 1; k > 0; --k) {
      nodes_[k] = nodes_[2 * k];
      nodes_[k].add(nodes_[2 * k + 1]);
    }
  }

  std::optional<Overlap> first_overlap() const {
    std::vector<std::pair<Index, Index>> open{{1, 1}};
    const auto add = [&](Index a, Index b) {
      if (nodes_[a].meets(nodes_[b])) open.emplace_back(a, b);
    };
    while (!open.empty()) {
      const auto [a, b] = open.back();
      open.pop_back();
      if (a >= leaves_ && b >= leaves_) {
        if (const auto hit = test_leaves(a, b)) return hit;
        continue;
      }
      // Both are on the same level, because the tree is complete.
      add(2 * a, 2 * b);
      if (a == b) {
        add(2 * a + 1, 2 * a + 1);
        add(2 * a, 2 * a + 1);
      } else {
        add(2 * a, 2 * b + 1);
        add(2 * a + 1, 2 * b);
        add(2 * a + 1, 2 * b + 1);
      }
    }
    return std::nullopt;
  }

 private:
  static constexpr std::size_t leaf_size = 4;

  /// Of a triangle without area nothing: it bounds nothing and meets nobody.
  FloatBox box_of(const Triangle& t, const std::vector<FloatBox>& corners) const {
    if (has_no_area({vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]})) return nothing;
    FloatBox box = corners[t[0]];
    box.add(corners[t[1]]);
    box.add(corners[t[2]]);
    return box;
  }

  std::optional<Overlap> test_leaves(std::size_t a, std::size_t b) const {
    const std::size_t n = triangles_.size();
    const std::size_t a0 = (a - leaves_) * leaf_size, a1 = std::min(n, a0 + leaf_size);
    const std::size_t b0 = (b - leaves_) * leaf_size, b1 = std::min(n, b0 + leaf_size);
    for (std::size_t i = a0; i < a1; ++i)
      for (std::size_t j = a == b ? i + 1 : b0; j < b1; ++j) {
        if (!boxes_[i].meets(boxes_[j])) continue;
        const Index s = order_[i], t = order_[j];
        if (!overlap(vertices_, triangles_[s], triangles_[t], reach_)) continue;
        Vec3 at = Vec3::Zero();
        for (int k = 0; k < 3; ++k) {
          const double low = std::max<double>(boxes_[i].low[k], boxes_[j].low[k]);
          const double high = std::min<double>(boxes_[i].high[k], boxes_[j].high[k]);
          at[k] = centre_[k] + (low + high) / 2;
        }
        return Overlap{std::min(s, t), std::max(s, t), at};
      }
    return std::nullopt;
  }

  const std::vector<Vec3>& vertices_;
  const std::vector<Triangle>& triangles_;
  Vec3 centre_;
  double reach_;
  std::vector<Index> order_;
  std::vector<FloatBox> boxes_;
  std::vector<FloatBox> nodes_;
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
                                         const std::vector<Triangle>& triangles) {
  if (triangles.size() < 2) return std::nullopt;
  return BoxTree(vertices, triangles).first_overlap();
}

}  // namespace pourwright

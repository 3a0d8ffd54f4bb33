// SPDX-License-Identifier: GPL-3.0-or-later
// Ear clipping: G. H. Meisters, Polygons Have Ears, Amer. Math. Monthly 82 (1975). Every decision is an exact
// sign.
#include "geometry/intake/polygon.hpp"

#include "geometry/mesh/predicates.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright::intake {

int PolygonCutter::turn(Corner a, Corner b, Corner c) const {
  return orient2d(flat_[a].u, flat_[a].v, flat_[b].u, flat_[b].v, flat_[c].u, flat_[c].v);
}

/// Leaves out the axis along which the face is seen largest. That moves no coordinate, so it adds no error.
void PolygonCutter::flatten(const std::vector<Vec3>& vertices) {
  // Twice the area vector (Newell), from a scaled copy so that no square overflows.
  Box box;
  for (const Index v : ring_) box.add(vertices[v]);
  const double size = (box.high / 2 - box.low / 2).maxCoeff();
  Vec3 normal = Vec3::Zero();
  if (size > 0) {
    const auto scaled = [&](Index v) -> Vec3 { return vertices[v] / size - box.low / size; };
    Vec3 a = scaled(ring_.back());
    for (const Index v : ring_) {
      const Vec3 b = scaled(v);
      normal += a.cross(b);
      a = b;
    }
  }
  Eigen::Index axis = 0;
  if (normal.cwiseAbs().maxCoeff(&axis) == 0 || !normal.allFinite()) {
    (box.high / 2 - box.low / 2).minCoeff(&axis);
    normal = Vec3::Ones();
  }
  Eigen::Index u = (axis + 1) % 3, v = (axis + 2) % 3;
  if (normal[axis] < 0) std::swap(u, v);
  flat_.resize(ring_.size());
  for (std::size_t i = 0; i < ring_.size(); ++i) flat_[i] = {vertices[ring_[i]][u], vertices[ring_[i]][v]};
}

/// Left turns only, and once round: the outline changes its direction along u exactly twice.
bool PolygonCutter::strictly_convex() const {
  const auto n = static_cast<Corner>(flat_.size());
  int changes = 0;
  double last = 0;
  for (Corner i = 0; i < n; ++i) {
    const Corner j = i + 1 == n ? 0 : i + 1, k = j + 1 == n ? 0 : j + 1;
    if (turn(i, j, k) <= 0) return false;
    const double step = flat_[j].u > flat_[i].u ? 1 : flat_[j].u < flat_[i].u ? -1 : 0;
    if (step != 0 && last != 0 && step != last) ++changes;
    if (step != 0) last = step;
  }
  // The seam between the last step and the first is not looked at: one or two changes are seen.
  return changes <= 2;
}

/// Does an edge from `at` to `other` start into the triangle's corner at `at`?
bool PolygonCutter::enters(Corner at, Corner after, Corner before, Corner other) const {
  return turn(at, after, other) > 0 && turn(at, other, before) > 0;
}

/// A corner elsewhere on the outline that lies in the closed triangle blocks it. One that coincides with a
/// corner of the triangle, as where a hole is joined to the rim, blocks only if its own edges run inside.
bool PolygonCutter::blocks(Corner other, Corner before, Corner tip, Corner after) const {
  const auto coincides = [&](Corner c) {
    return flat_[c].u == flat_[other].u && flat_[c].v == flat_[other].v;
  };
  const Corner l = previous_[other], r = next_[other];
  if (coincides(before)) return enters(before, tip, after, l) || enters(before, tip, after, r);
  if (coincides(tip)) return enters(tip, after, before, l) || enters(tip, after, before, r);
  if (coincides(after)) return enters(after, before, tip, l) || enters(after, before, tip, r);
  return turn(before, tip, other) >= 0 && turn(tip, after, other) >= 0 && turn(after, before, other) >= 0;
}

bool PolygonCutter::is_ear(Corner tip) {
  const Corner before = previous_[tip], after = next_[tip];
  if (turn(before, tip, after) <= 0) return false;
  const auto [u_low, u_high] = std::minmax({flat_[before].u, flat_[tip].u, flat_[after].u});
  const auto [v_low, v_high] = std::minmax({flat_[before].v, flat_[tip].v, flat_[after].v});
  const auto first = std::lower_bound(bent_.begin(), bent_.end(), u_low,
                                      [this](Corner c, double u) { return flat_[c].u < u; });
  std::uint64_t work = 8;
  bool clear = true;
  for (auto it = first; clear && it != bent_.end() && flat_[*it].u <= u_high; ++it) {
    ++work;
    const Corner other = *it;
    if (gone_[other] != 0 || other == before || other == tip || other == after) continue;
    if (flat_[other].v < v_low || flat_[other].v > v_high) continue;
    work += 50;  // several turns, exact ones when it comes to that
    clear = !blocks(other, before, tip, after);
  }
  allowance_ -= std::min(allowance_, work);
  return clear;
}

void PolygonCutter::clip(Corner tip, std::vector<Triangle>& out) {
  const Corner before = previous_[tip], after = next_[tip];
  out.push_back({ring_[before], ring_[tip], ring_[after]});
  next_[before] = after;
  previous_[after] = before;
  gone_[tip] = 1;
}

/// Where no ear is left: a corner near `start` that turns left if there is one.
PolygonCutter::Corner PolygonCutter::guess(Corner start) const {
  Corner c = start;
  for (int tries = 0; tries < 64; ++tries, c = next_[c])
    if (turn(previous_[c], c, next_[c]) > 0) return c;
  return start;
}

PolygonCutter::Outcome PolygonCutter::clip_ears(std::vector<Triangle>& out) {
  const auto n = static_cast<Corner>(ring_.size());
  next_.resize(n);
  previous_.resize(n);
  gone_.assign(n, 0);
  bent_.clear();
  waiting_.clear();
  for (Corner i = 0; i < n; ++i) {
    next_[i] = i + 1 == n ? 0 : i + 1;
    previous_[i] = i == 0 ? n - 1 : i - 1;
  }
  for (Corner i = 0; i < n; ++i)
    if (turn(previous_[i], i, next_[i]) <= 0) bent_.push_back(i);
  std::sort(bent_.begin(), bent_.end(), [this](Corner a, Corner b) { return flat_[a].u < flat_[b].u; });
  for (Corner i = n; i-- > 0;) waiting_.push_back(i);

  allowance_ += std::uint64_t{5000} * n;
  Outcome outcome = Outcome::cut;
  bool rescanned = false;
  Corner there = 0;  // a corner that is still there
  for (Corner left = n; left > 3;) {
    if (allowance_ == 0) return Outcome::too_costly;
    Corner tip = 0;
    if (!waiting_.empty()) {
      tip = waiting_.back();
      waiting_.pop_back();
      if (gone_[tip] != 0 || !is_ear(tip)) continue;
      rescanned = false;
    } else if (!rescanned && outcome == Outcome::cut) {
      // Outlines that touch themselves can gain ears away from the last cut.
      rescanned = true;
      for (Corner i = n; i-- > 0;)
        if (gone_[i] == 0) waiting_.push_back(i);
      continue;
    } else {
      tip = guess(there);
      outcome = Outcome::forced;
    }
    const Corner before = previous_[tip], after = next_[tip];
    clip(tip, out);
    --left;
    there = before;
    waiting_.push_back(before);
    waiting_.push_back(after);
  }
  if (turn(previous_[there], there, next_[there]) < 0) outcome = Outcome::forced;
  clip(there, out);
  return outcome;
}

PolygonCutter::Outcome PolygonCutter::cut(std::span<const Index> corners, const std::vector<Vec3>& vertices,
                                          std::vector<Triangle>& out) {
  ring_.clear();
  for (const Index v : corners)
    if (ring_.empty() || vertices[ring_.back()] != vertices[v]) ring_.push_back(v);
  while (ring_.size() > 1 && vertices[ring_.back()] == vertices[ring_.front()]) ring_.pop_back();
  if (ring_.size() < 3) return Outcome::nothing;
  if (ring_.size() == 3) {
    out.push_back({ring_[0], ring_[1], ring_[2]});
    return Outcome::cut;
  }
  flatten(vertices);
  if (!strictly_convex()) return clip_ears(out);
  for (std::size_t i = 1; i + 1 < ring_.size(); ++i) out.push_back({ring_[0], ring_[i], ring_[i + 1]});
  return Outcome::cut;
}

}  // namespace pourwright::intake

// SPDX-License-Identifier: GPL-3.0-or-later
// The triangles at an edge in the order in which they lie round it, by exact predicates alone: the one place
// where that is decided. An angle is never computed; the order is that of the angles which exact arithmetic
// would find (half-planes first, then one orientation for each comparison).
#pragma once

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/predicates.hpp"

#include <algorithm>
#include <span>
#include <utility>
#include <vector>

namespace pourwright {

/// A triangle at an edge. Triangles that lie on each other there have the same sector; sectors count from 0
/// in the order round the edge.
template <class Use>
struct FanLeaf {
  Use use;
  Index sector = 0;
};

/// Sorts uses of a directed line by the angle of their points round it, counter-clockwise about its
/// direction, beginning with the half-plane of the first. Ties keep their order.
///   side(u, v)    sign of the turn from the half-plane of u to that of v: +1 when less than half a turn
///   leads
///                 there, −1 when more does, 0 when they are one or opposite. Exact.
///   beside(u, v)  of two for which side is 0: are they one?
/// Precondition: no point lies on the line. O(n log n) exact signs.
template <class Use, class Side, class Beside>
std::vector<FanLeaf<Use>> sort_round_line(std::span<const Use> uses, const Side& side, const Beside& beside) {
  struct Placed {
    FanLeaf<Use> leaf;
    int part;  // 0 beside the first, 1 up to half a turn on, 2 opposite, 3 beyond
  };
  std::vector<Placed> placed;
  placed.reserve(uses.size());
  for (const Use& u : uses) {
    const int s = side(uses[0], u);
    placed.push_back({{u}, s > 0 ? 1 : s < 0 ? 3 : beside(uses[0], u) ? 0 : 2});
  }
  const auto before = [&](const Placed& x, const Placed& y) {
    if (x.part != y.part) return x.part < y.part;
    return x.part % 2 == 1 && side(x.leaf.use, y.leaf.use) > 0;
  };
  std::stable_sort(placed.begin(), placed.end(), before);
  std::vector<FanLeaf<Use>> out;
  out.reserve(placed.size());
  for (std::size_t i = 0; i < placed.size(); ++i) {
    if (i > 0) placed[i].leaf.sector = placed[i - 1].leaf.sector + (before(placed[i - 1], placed[i]) ? 1 : 0);
    out.push_back(placed[i].leaf);
  }
  return out;
}

/// The uses of an edge from vertex v in the order of their triangles round it. Triangles without area come
/// anywhere.
inline std::vector<FanLeaf<EdgeUse>> fan_round_edge(const std::vector<Vec3>& vertices,
                                                    const std::vector<Triangle>& triangles, Index v,
                                                    std::span<const EdgeUse> uses) {
  const Vec3 &a = vertices[v], &b = vertices[uses[0].other];
  const auto apex = [&](const EdgeUse& u) -> const Vec3& {
    return vertices[triangles[u.half_edge / 3][(u.half_edge % 3 + 2) % 3]];
  };
  const auto plan_of = [&](const EdgeUse& u) { return plan_with_area(a, b, apex(u)); };
  std::vector<EdgeUse> order(uses.begin(), uses.end());
  // The first half-plane must be one.
  const auto broad = std::find_if(order.begin(), order.end(),
                                  [&](const EdgeUse& u) { return turn(plan_of(u), a, b, apex(u)) != 0; });
  if (broad != order.end()) std::rotate(order.begin(), broad, broad + 1);
  const Plan plan = plan_of(order[0]);
  return sort_round_line<EdgeUse>(
      order, [&](const EdgeUse& x, const EdgeUse& y) { return orient3d(a, b, apex(x), apex(y)); },
      // Only ever asked about the first, whose plan this is.
      [&](const EdgeUse& x, const EdgeUse& y) {
        return turn(plan, a, b, apex(x)) == turn(plan, a, b, apex(y));
      });
}

}  // namespace pourwright

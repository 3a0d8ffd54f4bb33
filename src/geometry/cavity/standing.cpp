// SPDX-License-Identifier: GPL-3.0-or-later
// Which pool stands at a vertex, and what it holds. Children come before their parents in the tree, so one
// pass down tells which nodes lie in a pool.
#include "geometry/cavity/standing.hpp"

#include "geometry/cavity/capacity.hpp"
#include "geometry/mesh/sums.hpp"

namespace pourwright {

Index pool_reaching(const JoinTree& tree, const std::vector<Triangle>& triangles, Index vertex,
                    double level) {
  Index pool = none;
  for (std::size_t t = 0; t < triangles.size() && pool == none; ++t)
    for (const Index v : triangles[t])
      if (v == vertex) pool = tree.triangle_node[t];
  while (pool != none && tree.nodes[pool].brim_vertex != none && tree.nodes[pool].brim < level)
    pool = tree.nodes[pool].parent;
  return pool != none && tree.nodes[pool].brim_vertex != none ? pool : none;
}

double held_by(const JoinTree& tree, const std::vector<Vec3>& vertices,
               const std::vector<Triangle>& triangles, Index pool, double level) {
  std::vector<bool> inside(tree.nodes.size());
  for (Index n = pool + 1; n-- > 0;) {
    const Index up = tree.nodes[n].parent;
    inside[n] = n == pool || (up != none && up <= pool && inside[up]);
  }
  Sum sum;
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Index n = tree.triangle_node[t];
    if (n == none || n > pool || !inside[n]) continue;
    const Triangle& c = triangles[t];
    sum.add(under(column_of(vertices[c[0]], vertices[c[1]], vertices[c[2]]), level).volume);
  }
  return sum.value();
}

}  // namespace pourwright

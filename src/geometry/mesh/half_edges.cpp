// SPDX-License-Identifier: GPL-3.0-or-later
// Which half-edge lies across an edge, and vertices split by the fans round them. Law: where more than two
// triangles share an edge they are sorted round it by exact signs, so that no tolerance decides which
// material is one.
#include "geometry/mesh/half_edges.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/predicates.hpp"

namespace pourwright {
namespace {

/// The uses of the edge a→b in the order of their triangles round it, by growing angle as seen along the
/// edge; exact. Triangles without area come anywhere.
std::vector<EdgeUse> round_edge(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                const Vec3& a, const Vec3& b, std::span<const EdgeUse> uses) {
  struct Leaf {
    const Vec3* apex;
    EdgeUse use;
    int part;  // 0 beside the first, 1 up to half a turn on, 2 opposite, 3 beyond
  };
  std::vector<Leaf> leaves;
  for (const EdgeUse& u : uses)
    leaves.push_back({&vertices[triangles[u.half_edge / 3][(u.half_edge % 3 + 2) % 3]], u, 0});
  const Vec3* first = leaves[0].apex;
  Plan plan = plan_with_area(a, b, *first);
  for (const Leaf& l : leaves) {
    if (turn(plan, a, b, *first) != 0) break;
    first = l.apex;
    plan = plan_with_area(a, b, *first);
  }
  const int facing = turn(plan, a, b, *first);
  for (Leaf& l : leaves) {
    const int side = orient3d(a, b, *first, *l.apex);
    l.part = side > 0 ? 1 : side < 0 ? 3 : turn(plan, a, b, *l.apex) == facing ? 0 : 2;
  }
  std::stable_sort(leaves.begin(), leaves.end(), [&](const Leaf& x, const Leaf& y) {
    if (x.part != y.part) return x.part < y.part;
    return x.part % 2 == 1 && orient3d(a, b, *x.apex, *y.apex) > 0;
  });
  std::vector<EdgeUse> out;
  for (const Leaf& l : leaves) out.push_back(l.use);
  return out;
}

/// Seen along a→b, a forward triangle has its void on the side of growing angle and a backward one on the
/// other, so each forward use is paired with the next backward one.
void pair_across_void(const std::vector<EdgeUse>& leaves, std::vector<HalfEdge>& opposite) {
  std::vector<bool> taken(leaves.size());
  for (std::size_t i = 0; i < leaves.size(); ++i) {
    if (!leaves[i].forward) continue;
    for (std::size_t step = 1; step < leaves.size(); ++step) {
      const std::size_t j = (i + step) % leaves.size();
      if (leaves[j].forward || taken[j]) continue;
      taken[j] = true;
      opposite[leaves[i].half_edge] = leaves[j].half_edge;
      opposite[leaves[j].half_edge] = leaves[i].half_edge;
      break;
    }
  }
}

}  // namespace

std::vector<HalfEdge> pair_half_edges(const std::vector<Vec3>& vertices,
                                      const std::vector<Triangle>& triangles) {
  std::vector<HalfEdge> opposite(3 * triangles.size(), none);
  for_each_edge(triangles, vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2 && uses[0].forward != uses[1].forward) {
      opposite[uses[0].half_edge] = uses[1].half_edge;
      opposite[uses[1].half_edge] = uses[0].half_edge;
    } else if (uses.size() > 2) {
      pair_across_void(round_edge(vertices, triangles, vertices[v], vertices[uses[0].other], uses), opposite);
    }
  });
  return opposite;
}

MixedEdges find_mixed_edges(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles) {
  MixedEdges out;
  for_each_edge(triangles, vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() <= 2) return;
    const Vec3 &a = vertices[v], &b = vertices[uses[0].other];
    const std::vector<EdgeUse> leaves = round_edge(vertices, triangles, a, b, uses);
    for (std::size_t i = 0; i < leaves.size(); ++i)
      if (leaves[i].forward == leaves[(i + 1) % leaves.size()].forward) {
        if (out.count++ == 0) out.at = (a + b) / 2;
        return;
      }
  });
  return out;
}

std::vector<Index> split_fans(std::size_t vertex_count, std::vector<Triangle>& triangles,
                              const std::vector<HalfEdge>& opposite) {
  std::vector<Index> origin;
  std::vector<bool> corner_done(3 * triangles.size()), vertex_seen(vertex_count);
  for (HalfEdge start = 0; start < corner_done.size(); ++start) {
    if (corner_done[start]) continue;
    const Index v = triangles[start / 3][start % 3];
    Index id = v;
    if (vertex_seen[v]) {
      id = static_cast<Index>(vertex_count + origin.size());
      origin.push_back(v);
    }
    vertex_seen[v] = true;
    // Round the fan one way, and from a border also the other way.
    HalfEdge h = start;
    do {
      corner_done[h] = true;
      triangles[h / 3][h % 3] = id;
      h = opposite[previous(h)];
    } while (h != none && h != start);
    if (h == none)
      for (h = opposite[start]; h != none; h = opposite[h]) {
        h = next(h);
        corner_done[h] = true;
        triangles[h / 3][h % 3] = id;
      }
  }
  return origin;
}

}  // namespace pourwright

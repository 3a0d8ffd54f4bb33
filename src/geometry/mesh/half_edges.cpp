// SPDX-License-Identifier: GPL-3.0-or-later
// Which half-edge lies across an edge, and vertices split by the fans round them. Law: where more than two
// triangles share an edge they are sorted round it by exact signs, so that no tolerance decides which
// material is one.
#include "geometry/mesh/half_edges.hpp"

#include "geometry/mesh/edge_fan.hpp"

namespace pourwright {
namespace {

/// Seen along a→b, a forward triangle has its void on the side of growing angle and a backward one on the
/// other, so each forward use is paired with the next backward one.
void pair_across_void(const std::vector<FanLeaf<EdgeUse>>& leaves, std::vector<HalfEdge>& opposite) {
  std::vector<bool> taken(leaves.size());
  for (std::size_t i = 0; i < leaves.size(); ++i) {
    if (!leaves[i].use.forward) continue;
    for (std::size_t step = 1; step < leaves.size(); ++step) {
      const std::size_t j = (i + step) % leaves.size();
      if (leaves[j].use.forward || taken[j]) continue;
      taken[j] = true;
      opposite[leaves[i].use.half_edge] = leaves[j].use.half_edge;
      opposite[leaves[j].use.half_edge] = leaves[i].use.half_edge;
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
      pair_across_void(fan_round_edge(vertices, triangles, v, uses), opposite);
    }
  });
  return opposite;
}

MixedEdges find_mixed_edges(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles) {
  MixedEdges out;
  for_each_edge(triangles, vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() <= 2) return;
    const auto leaves = fan_round_edge(vertices, triangles, v, uses);
    for (std::size_t i = 0; i < leaves.size(); ++i)
      if (leaves[i].use.forward == leaves[(i + 1) % leaves.size()].use.forward) {
        if (out.count++ == 0) out.at = (vertices[v] + vertices[uses[0].other]) / 2;
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

// SPDX-License-Identifier: GPL-3.0-or-later
// Air traps: the join tree of the surface turned upside down, and for each pocket the columns under its
// roof, from which its volume above any level follows.
#include "geometry/cavity/pockets.hpp"

#include "geometry/mesh/sums.hpp"

#include <algorithm>
#include <tuple>

namespace pourwright {
namespace {

/// A top of a pocket wants a vent of its own when it rises this share of the pocket's height above the way to
/// its neighbour; less is a ripple of the roof.
constexpr double least_top = 0.1;

}  // namespace

double Pocket::above(double level) const {
  Sum sum;
  for (const Column& k : columns) sum.add(under(k, -level).volume);
  return std::max(0.0, sum.value());
}

std::vector<Pocket> find_pockets(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                 const SplitSurface& split, bool open, double plateau) {
  // Half a turn about x keeps faces facing the void.
  std::vector<Vec3> turned(vertices.size());
  for (std::size_t i = 0; i < vertices.size(); ++i)
    turned[i] = Vec3(vertices[i].x(), -vertices[i].y(), -vertices[i].z());
  JoinTree tree = build_join_tree(turned, split, open, plateau);

  // The outermost pocket of every node; children come before their parents.
  std::vector<Index> root(tree.nodes.size(), none), slot(tree.nodes.size(), none);
  std::vector<Pocket> out;
  for (auto n = static_cast<Index>(tree.nodes.size()); n-- > 0;) {
    const PoolNode& node = tree.nodes[n];
    if (node.kind != PoolNode::Kind::pool || node.absorbed_by != none) continue;
    root[n] = node.parent == none ? n : root[node.parent];
    if (node.parent != none || !node.spills || node.brim - node.birth <= plateau) continue;
    slot[n] = static_cast<Index>(out.size());
    Pocket p;
    p.lip = -node.brim;
    p.top = -node.birth;
    p.lip_vertex = node.brim_vertex;
    out.push_back(std::move(p));
  }
  // Of a flat top the corner that comes first by its place: numbering decides nothing.
  const auto higher = [&](Index a, Index b) {
    const Vec3 &p = vertices[a], &q = vertices[b];
    return std::make_tuple(-p.z(), p.x(), p.y()) < std::make_tuple(-q.z(), q.x(), q.y());
  };
  std::vector<Index> apex(tree.nodes.size(), none);
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Index n = tree.triangle_node[t];
    if (n == none || root[n] == none || slot[root[n]] == none) continue;
    for (const Index v : triangles[t])
      if (apex[n] == none || higher(v, apex[n])) apex[n] = v;
    Pocket& p = out[slot[root[n]]];
    p.triangles.push_back(static_cast<Index>(t));
    p.columns.push_back(column_of(turned[triangles[t][0]], turned[triangles[t][1]], turned[triangles[t][2]]));
  }
  for (Index n = 0; n < tree.nodes.size(); ++n) {
    const PoolNode& node = tree.nodes[n];
    if (root[n] == none || slot[root[n]] == none || !node.children.empty()) continue;
    Pocket& p = out[slot[root[n]]];
    // Ripples in a roof are no places for a vent.
    if (node.brim - node.birth > std::max(plateau, least_top * (p.top - p.lip)) || -node.birth == p.top)
      p.apexes.push_back(apex[n] == none ? node.birth_vertex : apex[n]);
  }
  for (Pocket& p : out) std::sort(p.apexes.begin(), p.apexes.end(), higher);
  std::erase_if(out, [](const Pocket& p) { return p.triangles.empty(); });
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies that share vertices or edges become shells of their own. The order of the faces round a shared edge
// is exact; which of them make one body is a choice among pairings that are all right, for the surface is the
// same and only its naming differs. That choice alone looks at how wide the material between two faces is.
#include <pourwright/union.hpp>

#include "geometry/mesh/edge_fan.hpp"

#include <cmath>
#include <map>

namespace pourwright {
namespace {

/// Material thinner than this, as an angle at the edge, is two faces of two bodies that rounding has moved
/// past each other, not one body: single precision turns faces of a thousandth of the extent by as much.
constexpr double hair = 1e-4;

/// Angle between the half-planes of two triangles at an edge.
double angle_between(const Surface& s, Index v, const EdgeUse& x, const EdgeUse& y) {
  const Vec3 a = s.vertices[v], d = (s.vertices[x.other] - a).normalized();
  const auto across = [&](const EdgeUse& u) {
    const Vec3 p = s.vertices[s.triangles[u.half_edge / 3][(u.half_edge % 3 + 2) % 3]] - a;
    return Vec3(p - p.dot(d) * d);
  };
  const Vec3 p = across(x), q = across(y);
  return std::atan2(p.cross(q).norm(), p.dot(q));
}

/// Where bodies share an edge, the two faces of it that belong to one body: material begins at one and ends
/// at the other. Begins and ends are matched first to first, so that bodies which touch are told apart
/// whether rounding lets their faces overlap or not; beginning where least material is, and further on as
/// long as some match would be a body of no thickness.
void unite_across_material(const Surface& s, Index v, std::span<const EdgeUse> uses, DisjointSets& parts) {
  const auto leaves = fan_round_edge(s.vertices, s.triangles, v, uses);
  const std::size_t n = leaves.size();
  std::size_t start = 0;
  int depth = 0, least = 0;
  for (std::size_t i = 0; i < n; ++i) {
    depth += leaves[i].use.forward ? -1 : 1;
    if (depth < least) {
      least = depth;
      start = i + 1;
    }
  }
  std::vector<EdgeUse> begins, ends;
  for (std::size_t i = 0; i < n; ++i) {
    const EdgeUse& u = leaves[(start + i) % n].use;
    (u.forward ? ends : begins).push_back(u);
  }
  const std::size_t bodies = std::min(begins.size(), ends.size());
  const auto end_of = [&](std::size_t i, std::size_t on) { return ends[(i + on) % bodies]; };
  std::size_t on = 0;
  const auto thin = [&] {
    for (std::size_t i = 0; i < bodies; ++i)
      if (angle_between(s, v, begins[i], end_of(i, on)) < hair) return true;
    return false;
  };
  while (on < bodies && thin()) ++on;
  if (on == bodies) on = 0;
  for (std::size_t i = 0; i < bodies; ++i) parts.unite(begins[i].half_edge / 3, end_of(i, on).half_edge / 3);
}

}  // namespace

Surface bodies_apart(Surface surface) {
  if (!surface.census.closed() || !surface.census.oriented() ||
      (surface.census.edge_manifold() && surface.census.shells < 2))
    return surface;
  DisjointSets parts(surface.triangles.size());
  for_each_edge(surface.triangles, surface.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2)
      parts.unite(uses[0].half_edge / 3, uses[1].half_edge / 3);
    else
      unite_across_material(surface, v, uses, parts);
  });
  TriangleSoup out{surface.vertices, surface.triangles};
  std::map<std::pair<Index, Index>, Index> own;  // vertex and part that came later
  std::vector<Index> first(surface.vertices.size(), none);
  for (Index t = 0; t < out.triangles.size(); ++t) {
    const Index part = parts.find(t);
    for (Index& v : out.triangles[t]) {
      if (first[v] == none) first[v] = part;
      if (first[v] == part) continue;
      const auto [it, fresh] = own.try_emplace({v, part}, static_cast<Index>(out.vertices.size()));
      if (fresh) {
        const Vec3 at = out.vertices[v];
        out.vertices.push_back(at);
      }
      v = it->second;
    }
  }
  return own.empty() ? std::move(surface) : make_surface(std::move(out));
}

}  // namespace pourwright

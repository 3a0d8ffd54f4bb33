// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles become a surface: those that use a vertex twice are dropped, shells are numbered by their first
// triangle, edges are counted. Law: counts depend on indices alone, never on distances.
#include <pourwright/mesh.hpp>

#include "geometry/mesh/edges.hpp"

namespace pourwright {

Box bounds(const TriangleSoup& soup) {
  Box box;
  for (const Triangle& t : soup.triangles)
    for (const Index v : t) box.add(soup.vertices[v]);
  return box;
}

Surface make_surface(TriangleSoup soup) {
  Surface s;
  s.vertices = std::move(soup.vertices);
  s.triangles = std::move(soup.triangles);
  Census& census = s.census;
  census.triangles = s.triangles.size();
  std::erase_if(s.triangles, [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
  census.degenerate = census.triangles - s.triangles.size();

  DisjointSets shells(s.triangles.size());
  for_each_edge(s.triangles, s.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2 && uses[0].forward != uses[1].forward) {  // nearly all of them
      shells.unite(uses[0].half_edge / 3, uses[1].half_edge / 3);
      return;
    }
    std::ptrdiff_t balance = 0;
    for (const EdgeUse& u : uses) balance += u.forward ? 1 : -1;
    for (std::size_t i = 1; i < uses.size(); ++i) shells.unite(uses[0].half_edge / 3, uses[i].half_edge / 3);
    const Vec3 middle = (s.vertices[v] + s.vertices[uses[0].other]) / 2;
    if (uses.size() % 2 != 0) ++census.odd_edges;
    if (uses.size() == 1) {
      if (census.boundary_edges++ == 0) census.boundary_at = middle;
    } else if (balance != 0) {
      if (census.misoriented_edges++ == 0) census.misoriented_at = middle;
    }
    if (uses.size() > 2 && census.nonmanifold_edges++ == 0) census.nonmanifold_at = middle;
  });
  census.shells = std::move(shells).number(s.shell);
  for (const Vec3& p : s.vertices) s.box.add(p);
  return s;
}

}  // namespace pourwright

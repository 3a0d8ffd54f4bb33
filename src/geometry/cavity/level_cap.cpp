// SPDX-License-Identifier: GPL-3.0-or-later
// The level face that closes what a plane has cut: a constrained Delaunay triangulation of the section's
// lines, of which the faces behind an odd number of lines belong to it.
#include "geometry/cavity/level_cap.hpp"

#include <map>

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

namespace pourwright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<Index, Kernel>;
using FaceBase =
    CGAL::Constrained_triangulation_face_base_2<Kernel,
                                                CGAL::Triangulation_face_base_with_info_2<int, Kernel>>;
using Triangulation = CGAL::Constrained_Delaunay_triangulation_2<
    Kernel, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>, CGAL::Exact_predicates_tag>;

/// How many borders lie between each face and the outside: one more on the other side of every constraint.
void count_borders(Triangulation& t) {
  for (auto f = t.all_faces_begin(); f != t.all_faces_end(); ++f) f->info() = -1;
  std::vector<Triangulation::Face_handle> ring{t.infinite_face()}, next;
  for (int depth = 0; !ring.empty(); ++depth, ring.swap(next), next.clear()) {
    while (!ring.empty()) {
      const auto f = ring.back();
      ring.pop_back();
      if (f->info() >= 0) continue;
      f->info() = depth;
      for (int i = 0; i < 3; ++i) {
        const auto g = f->neighbor(i);
        if (g->info() < 0) (f->is_constrained(i) ? next : ring).push_back(g);
      }
    }
  }
}

}  // namespace

std::vector<Triangle> level_cap(std::vector<Vec3>& vertices,
                                const std::vector<std::pair<Index, Index>>& edges) {
  std::vector<Triangle> out;
  if (edges.empty()) return out;
  const double z = vertices[edges.front().first].z();
  Triangulation t;
  std::map<Index, Triangulation::Vertex_handle> handle;
  const auto insert = [&](Index v) {
    const auto [it, fresh] = handle.try_emplace(v);
    if (fresh) {
      it->second = t.insert(Kernel::Point_2(vertices[v].x(), vertices[v].y()));
      it->second->info() = v;
    }
    return it->second;
  };
  for (auto v = t.all_vertices_begin(); v != t.all_vertices_end(); ++v) v->info() = none;
  for (const auto& [a, b] : edges) {
    const auto va = insert(a), vb = insert(b);
    if (va != vb) t.insert_constraint(va, vb);
  }
  // Vertices made where borders cross carry no number yet.
  for (auto v = t.finite_vertices_begin(); v != t.finite_vertices_end(); ++v) {
    const Triangulation::Vertex_handle here = v;
    const auto known = handle.find(v->info());
    if (known != handle.end() && known->second == here) continue;
    v->info() = static_cast<Index>(vertices.size());
    vertices.emplace_back(v->point().x(), v->point().y(), z);
  }
  count_borders(t);
  for (auto f = t.finite_faces_begin(); f != t.finite_faces_end(); ++f)
    if (f->info() % 2 == 1) out.push_back({f->vertex(0)->info(), f->vertex(1)->info(), f->vertex(2)->info()});
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles across a closed line, by CGAL's Polygon Mesh Processing: by the angles they make with what is
// round about, flat in a plane with islands, or refined and faired to follow the surface round about (P.
// Liepa, Filling holes in meshes, Symposium on Geometry Processing, 2003).
#include "geometry/repair/fillings.hpp"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/fair.h>
#include <CGAL/Polygon_mesh_processing/refine.h>
#include <CGAL/Polygon_mesh_processing/triangulate_hole.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

namespace pourwright::mending {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;
namespace pmp = CGAL::Polygon_mesh_processing;

Kernel::Point_3 point(const Vec3& p) {
  return {p.x(), p.y(), p.z()};
}
Vec3 vec(const Kernel::Point_3& p) {
  return {p.x(), p.y(), p.z()};
}

/// Cuts off the corner with the shortest diagonal, again and again.
std::vector<Triangle> clip_ears(const std::vector<Vec3>& loop) {
  std::vector<Index> left(loop.size());
  for (Index i = 0; i < left.size(); ++i) left[i] = i;
  std::vector<Triangle> out;
  while (left.size() > 3) {
    std::size_t best = 0;
    double shortest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < left.size(); ++i) {
      const double d =
          (loop[left[(i + left.size() - 1) % left.size()]] - loop[left[(i + 1) % left.size()]]).norm();
      if (d < shortest) {
        shortest = d;
        best = i;
      }
    }
    out.push_back({left[(best + left.size() - 1) % left.size()], left[best], left[(best + 1) % left.size()]});
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(best));
  }
  out.push_back({left[0], left[1], left[2]});
  return out;
}

}  // namespace

std::vector<Triangle> span_loop(const std::vector<Vec3>& loop, const std::vector<Vec3>& beside) {
  if (loop.size() == 3) return {{0, 1, 2}};
  std::vector<Kernel::Point_3> points, third;
  for (const Vec3& p : loop) points.push_back(point(p));
  for (const Vec3& p : beside) third.push_back(point(p));
  std::vector<CGAL::Triple<int, int, int>> patch;
  // Without the restriction to Delaunay triangles the cost is cubic, so only short lines are tried that way.
  const auto attempt = [&](bool delaunay) {
    patch.clear();
    const auto how = CGAL::parameters::use_delaunay_triangulation(delaunay);
    if (third.empty())
      pmp::triangulate_hole_polyline(points, std::back_inserter(patch), how);
    else
      pmp::triangulate_hole_polyline(points, third, std::back_inserter(patch), how);
    return patch.size() == loop.size() - 2;
  };
  if (!attempt(true) && (loop.size() > 300 || !attempt(false))) return clip_ears(loop);
  std::vector<Triangle> out;
  for (const auto& t : patch)
    out.push_back({static_cast<Index>(t.first), static_cast<Index>(t.second), static_cast<Index>(t.third)});
  return out;
}

std::optional<std::vector<Triangle>> span_plane(const std::vector<Vec3>& points,
                                                const std::vector<std::vector<Index>>& lines,
                                                const Vec3& normal) {
  using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<Index, Kernel>;
  using FaceBase =
      CGAL::Constrained_triangulation_face_base_2<Kernel,
                                                  CGAL::Triangulation_face_base_with_info_2<int, Kernel>>;
  using Plane = CGAL::Constrained_Delaunay_triangulation_2<
      Kernel, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>,
      CGAL::No_constraint_intersection_requiring_constructions_tag>;
  const Vec3 n = normal.normalized(), e1 = n.unitOrthogonal(), e2 = n.cross(e1);
  if (!n.allFinite() || points.empty()) return std::nullopt;
  Plane plane;
  std::vector<Plane::Vertex_handle> at(points.size());
  std::size_t wanted = 0;
  for (const auto& line : lines)
    for (const Index i : line) {
      if (at[i] != Plane::Vertex_handle()) return std::nullopt;
      const Vec3 d = points[i] - points[lines[0][0]];
      at[i] = plane.insert({d.dot(e1), d.dot(e2)});
      at[i]->info() = i;
      if (plane.number_of_vertices() != ++wanted) return std::nullopt;
    }
  try {
    for (const auto& line : lines)
      for (std::size_t k = 0; k < line.size(); ++k)
        plane.insert_constraint(at[line[k]], at[line[(k + 1) % line.size()]]);
  } catch (const Plane::Intersection_of_constraints_exception&) {
    return std::nullopt;
  }
  if (plane.dimension() < 2) return std::nullopt;
  for (const auto& line : lines)  // a line through another point would have been cut there
    for (std::size_t k = 0; k < line.size(); ++k)
      if (!plane.is_edge(at[line[k]], at[line[(k + 1) % line.size()]])) return std::nullopt;

  for (const auto f : plane.all_face_handles()) f->info() = -1;
  std::vector<Plane::Face_handle> open{plane.infinite_face()};
  open[0]->info() = 0;
  for (std::size_t i = 0; i < open.size(); ++i)
    for (int k = 0; k < 3; ++k) {
      const auto other = open[i]->neighbor(k);
      if (other->info() >= 0) continue;
      other->info() = open[i]->info() ^ (plane.is_constrained({open[i], k}) ? 1 : 0);
      open.push_back(other);
    }
  std::vector<Triangle> out;
  for (const auto f : plane.finite_face_handles())
    if (f->info() == 1) out.push_back({f->vertex(0)->info(), f->vertex(1)->info(), f->vertex(2)->info()});
  if (out.empty()) return std::nullopt;
  return out;
}

std::optional<Filling> follow_surface(const std::vector<Vec3>& loop, const std::vector<Triangle>& flat,
                                      const std::vector<Vec3>& ring_points,
                                      const std::vector<Triangle>& ring) {
  Mesh mesh;
  std::vector<Mesh::Vertex_index> at;
  for (const Vec3& p : loop) at.push_back(mesh.add_vertex(point(p)));
  for (const Vec3& p : ring_points) at.push_back(mesh.add_vertex(point(p)));
  std::vector<Mesh::Face_index> patch;
  for (const Triangle& t : flat) {
    const auto f = mesh.add_face(at[t[0]], at[t[1]], at[t[2]]);
    if (f == Mesh::null_face()) return std::nullopt;
    patch.push_back(f);
  }
  for (const Triangle& t : ring)
    mesh.add_face(at[t[0]], at[t[1]], at[t[2]]);  // what does not fit is left out
  std::vector<Mesh::Vertex_index> inner;
  std::vector<Mesh::Face_index> refined;
  pmp::refine(mesh, patch, std::back_inserter(refined), std::back_inserter(inner));
  if (inner.empty()) return Filling{{}, flat};
  if (!pmp::fair(mesh, inner, CGAL::parameters::fairing_continuity(1))) return std::nullopt;

  Box box;
  for (const Vec3& p : loop) box.add(p);
  Filling out;
  std::vector<Index> number(mesh.number_of_vertices(), none);
  for (Index i = 0; i < loop.size(); ++i) number[at[i]] = i;
  for (const auto v : inner) {
    number[v] = static_cast<Index>(loop.size() + out.added.size());
    out.added.push_back(vec(mesh.point(v)));
    if (!((out.added.back() - box.centre()).norm() < 2 * box.size().norm())) return std::nullopt;
  }
  patch.insert(patch.end(), refined.begin(), refined.end());
  for (const auto f : patch) {
    Triangle t;
    std::size_t k = 0;
    for (const auto v : CGAL::vertices_around_face(mesh.halfedge(f), mesh)) {
      if (k == 3 || number[v] == none) return std::nullopt;
      t[k++] = number[v];
    }
    out.triangles.push_back(t);
  }
  return out;
}

}  // namespace pourwright::mending

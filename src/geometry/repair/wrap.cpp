// SPDX-License-Identifier: GPL-3.0-or-later
// The last resort for a surface that nothing else closes: CGAL's alpha wrapping from outside (C. Portaneri,
// M. Rouxel-Labbé, M. Hemmer, D. Cohen-Steiner, P. Alliez, Alpha wrapping with an offset, ACM Trans. Graph.
// 41, 2022).
#include <pourwright/repair.hpp>

#include "geometry/mesh/self_overlap.hpp"

#include <optional>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/alpha_wrap_3.h>

namespace pourwright {

namespace {

/// `reach` mm wide gaps are spanned.
std::optional<Wrapped> wrap_at(const Surface& surface, double reach) {
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;
  std::vector<Kernel::Point_3> points;
  for (const Vec3& p : surface.vertices) points.emplace_back(p.x(), p.y(), p.z());
  std::vector<std::array<std::size_t, 3>> faces;
  for (const Triangle& t : surface.triangles) faces.push_back({t[0], t[1], t[2]});
  const double offset = reach / 30;  // how far the skin stands off
  Mesh mesh;
  CGAL::alpha_wrap_3(points, faces, reach, offset, mesh);
  TriangleSoup soup;
  for (const auto v : mesh.vertices()) {
    const auto& p = mesh.point(v);
    soup.vertices.emplace_back(p.x(), p.y(), p.z());
  }
  for (const auto f : mesh.faces()) {
    Triangle t;
    std::size_t k = 0;
    for (const auto v : CGAL::vertices_around_face(mesh.halfedge(f), mesh))
      t[k++] = static_cast<Index>(std::size_t(v));
    soup.triangles.push_back(t);
  }
  if (soup.triangles.empty()) return std::nullopt;
  std::vector<Vec3> normals(soup.vertices.size(), Vec3::Zero());
  double area = 0;
  for (const Triangle& t : soup.triangles) {
    const Vec3 n =
        (soup.vertices[t[1]] - soup.vertices[t[0]]).cross(soup.vertices[t[2]] - soup.vertices[t[0]]) / 2;
    area += n.norm();
    for (const Index v : t) normals[v] += n;
  }
  TriangleSoup shrunk = soup;
  for (std::size_t v = 0; v < normals.size(); ++v)
    if (normals[v].norm() > 0) shrunk.vertices[v] -= offset * normals[v].normalized();
  const bool folds = find_self_overlap(shrunk.vertices, shrunk.triangles).has_value();
  Wrapped out;
  out.surface = make_surface(folds ? std::move(soup) : std::move(shrunk));
  // The skin cuts across hollows narrower than its reach: a tenth of it over the whole surface.
  out.doubt = cubic_millimetres(area * ((folds ? 2 : 1) * offset + 0.1 * reach));
  return out;
}

double enclosed(const Surface& s) {
  double six = 0;
  for (const Triangle& t : s.triangles)
    six += (s.vertices[t[0]] - s.box.low)
               .dot((s.vertices[t[1]] - s.box.low).cross(s.vertices[t[2]] - s.box.low));
  return std::abs(six) / 6;
}

}  // namespace

Expected<Wrapped> wrap(const Surface& surface) {
  if (surface.triangles.empty()) return fail(Code::no_triangles, "there is no triangle in the mesh");
  // A skin that gets in through the holes runs along both sides of the surface and encloses next to nothing.
  // One that does not encloses about as much as the next coarser.
  std::optional<Wrapped> finer;
  for (const double share : {60.0, 30.0, 15.0, 7.5}) {
    auto out = wrap_at(surface, surface.box.size().norm() / share);
    if (!out) continue;
    if (finer) {
      const double fine = enclosed(finer->surface), coarse = enclosed(out->surface);
      if (fine > 0.75 * coarse) {
        finer->doubt = std::max(finer->doubt, cubic_millimetres(std::abs(coarse - fine)));
        return std::move(*finer);
      }
    }
    finer = std::move(out);
  }
  if (!finer) return fail(Code::no_triangles, "nothing is left to wrap");
  finer->doubt = std::max(finer->doubt, cubic_millimetres(enclosed(finer->surface)));
  return std::move(*finer);
}

}  // namespace pourwright

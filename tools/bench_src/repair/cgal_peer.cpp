// SPDX-License-Identifier: GPL-3.0-or-later
// The peer of the self-overlap proof: CGAL's, with building the mesh that it works on.
//
//   pw_bench_cgal FILE
#include <pourwright/intake.hpp>

#include "../cpu_time.hpp"

#include <array>
#include <cstdio>
#include <vector>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/polygon_soup_to_polygon_mesh.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/Surface_mesh.h>

int main(int count, char** words) {
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;
  namespace pmp = CGAL::Polygon_mesh_processing;
  if (count != 2) return 64;
  const auto file = pourwright::read_mesh_file(words[1]);
  if (!file) return 1;
  std::vector<Kernel::Point_3> points;
  std::vector<std::array<std::size_t, 3>> faces;
  for (const auto& p : file->soup.vertices) points.emplace_back(p.x(), p.y(), p.z());
  for (const auto& t : file->soup.triangles) faces.push_back({t[0], t[1], t[2]});
  const double before = bench::cpu_seconds();
  Mesh mesh;
  pmp::polygon_soup_to_polygon_mesh(points, faces, mesh);
  const double built = bench::cpu_seconds();
  const bool overlaps = pmp::does_self_intersect(mesh);
  std::printf("{\"build_s\": %.6f, \"proof_s\": %.6f, \"overlaps\": %s}\n", built - before,
              bench::cpu_seconds() - built, overlaps ? "true" : "false");
  return 0;
}

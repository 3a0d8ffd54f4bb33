// SPDX-License-Identifier: GPL-3.0-or-later
// The peer of thickness: CGAL's shape diameter, with its own defaults and without the smoothing that scales
// it to 0…1.
//
//   pw_bench_sdf FILE
#include <pourwright/intake.hpp>

#include "../cpu_time.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <utility>
#include <vector>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_processing/polygon_soup_to_polygon_mesh.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/mesh_segmentation.h>

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
  Mesh mesh;
  pmp::polygon_soup_to_polygon_mesh(points, faces, mesh);
  auto values = mesh.add_property_map<Mesh::Face_index, double>("f:sdf").first;
  const double before = bench::cpu_seconds();
  CGAL::sdf_values(mesh, values, 2.0 / 3.0 * CGAL_PI, 25, false);
  const double took = bench::cpu_seconds() - before;
  // By area, as ours.
  std::vector<std::pair<double, double>> found;
  double whole = 0;
  for (const auto f : CGAL::faces(mesh)) {
    if (values[f] < 0) continue;
    found.emplace_back(values[f], CGAL::to_double(pmp::face_area(f, mesh)));
    whole += found.back().second;
  }
  if (found.empty()) return 1;
  std::sort(found.begin(), found.end());
  double passed = 0, median = 0;
  for (const auto& [value, area] : found) {
    passed += area;
    median = value;
    if (passed >= whole / 2) break;
  }
  std::printf("{\"walls_s\": %.6f, \"values\": %zu, \"min_mm\": %.6f, \"median_mm\": %.6f}\n", took,
              found.size(), found.front().first, median);
  return 0;
}

// SPDX-License-Identifier: GPL-3.0-or-later
// What a mold holds at a level: the program's sum over the cavity's triangles, and CGAL's clip of the filled
// body by the level plane with a cap, on the same body in the same process.
//
//   pw_clip FILE SHARE     of the depth of the first filled cavity
#include <pourwright/cavity.hpp>
#include <pourwright/intake.hpp>

#include "cpu_time.hpp"

#include <cstdio>
#include <cstdlib>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/clip.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Surface_mesh.h>

int main(int argc, char** argv) {
  using namespace pourwright;
  namespace PMP = CGAL::Polygon_mesh_processing;
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  if (argc != 3) return 64;
  auto file = read_mesh_file(argv[1]);
  if (!file) return 66;
  const auto closed = take_closed(make_surface(std::move(file->soup)));
  if (!closed) return 65;
  double before = bench::cpu_seconds();
  const auto lap = [&] {
    const double now = bench::cpu_seconds(), took = now - before;
    before = now;
    return took;
  };
  CavityOptions plain;
  plain.look_further = false;
  const auto found = find_cavities(closed->body, plain);
  const double cavities = lap();
  if (!found || found->cavities.list().empty()) return 65;
  const Cavity& c = found->cavities.list().back();
  const auto body = cast_piece(closed->body, found->cavities, c.id, c.brim);
  if (!body) return 65;
  const Length level = c.floor + (c.brim - c.floor) * std::atof(argv[2]);
  lap();
  constexpr int times = 20;
  double ours = 0;
  for (int i = 0; i < times; ++i) ours = in_cubic_millimetres(found->cavities.volume_at(c.id, level));
  const double sum = lap() / times;
  CGAL::Surface_mesh<Kernel::Point_3> mesh;
  for (const Vec3& p : body->vertices) mesh.add_vertex({p.x(), p.y(), p.z()});
  for (const Triangle& t : body->triangles)
    mesh.add_face(CGAL::SM_Vertex_index(t[0]), CGAL::SM_Vertex_index(t[1]), CGAL::SM_Vertex_index(t[2]));
  const double building = lap();
  if (!PMP::clip(mesh, Kernel::Plane_3(0, 0, 1, -in_millimetres(level)), CGAL::parameters::clip_volume(true)))
    return 70;
  const double theirs = PMP::volume(mesh);
  const double clip = lap();
  std::printf(
      "{\"triangles\": %zu, \"cavities_s\": %.9g, \"sum_s\": %.9g, \"build_s\": %.9g, \"clip_s\": %.9g, "
      "\"volume_mm3\": %.17g, \"clip_volume_mm3\": %.17g}\n",
      body->triangles.size(), cavities, sum, building, clip, ours, theirs);
}

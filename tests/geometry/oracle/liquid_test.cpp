// SPDX-License-Identifier: GPL-3.0-or-later
// What molds hold, level by level, against another library's exact Booleans: a block up to the level less the
// mold, taken apart; what does not reach the block's sides is liquid. Neither the tree nor the sums have a
// part in it.
#include <pourwright/cavity.hpp>

#include "geometry/mesh/points.hpp"
#include "support/random_solid.hpp"
#include "support/solids.hpp"

#include <algorithm>

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/connected_components.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Surface_mesh.h>
#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

namespace PMP = CGAL::Polygon_mesh_processing;
using Kernel = CGAL::Exact_predicates_exact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;

Mesh mesh_of(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles) {
  Mesh m;
  for (const Vec3& p : vertices) m.add_vertex({p.x(), p.y(), p.z()});
  for (const Triangle& t : triangles) {
    const auto v = [&](std::size_t k) { return Mesh::Vertex_index(t[k]); };
    REQUIRE(m.add_face(v(0), v(1), v(2)) != Mesh::null_face());
  }
  return m;
}

struct Liquid {
  double volume = 0;
  std::vector<Vec3> vertices;
  bool has(const Vec3& p) const {
    return std::any_of(vertices.begin(), vertices.end(),
                       [&](const Vec3& q) { return (p - q).norm() < 1e-9; });
  }
};

/// Liquids below `level` that have no way to the block's sides.
std::vector<Liquid> liquids(const Solid& solid, double level) {
  Box box;
  for (const Vec3& p : solid.vertices()) box.add(p);
  const Vec3 low = box.low - Vec3(3, 3.5, 4), high(box.high.x() + 3, box.high.y() + 3.5, level);
  Mesh mold = mesh_of(solid.vertices(), solid.triangles());
  const TriangleSoup sides = shapes::box(low, high);
  Mesh block = mesh_of(sides.vertices, sides.triangles), rest;
  REQUIRE(PMP::corefine_and_compute_difference(block, mold, rest));
  std::vector<Mesh> parts;
  PMP::split_connected_components(rest, parts);
  std::vector<Liquid> out;
  double holes = 0;  // surfaces of bodies that float in a liquid are parts of their own, turned inward
  for (const Mesh& part : parts) {
    Liquid l;
    l.volume = CGAL::to_double(PMP::volume(part));
    bool outside = false;
    for (const auto v : part.vertices()) {
      const auto& p = part.point(v);
      l.vertices.emplace_back(CGAL::to_double(p.x()), CGAL::to_double(p.y()), CGAL::to_double(p.z()));
      outside |= l.vertices.back().x() == low.x();
    }
    if (outside) continue;
    if (l.volume < 0)
      holes += l.volume;
    else
      out.push_back(std::move(l));
  }
  if (out.size() == 1) out[0].volume += holes;
  return out;
}

/// Compares every cavity at several levels; how many comparisons there were.
int compare(const TriangleSoup& soup, double least_mm3 = 0) {
  const Solid solid = solid_of(soup);
  const Cavities found = every_cavity(solid);
  int done = 0;
  for (const Cavity& c : found.list()) {
    if (c.kind == CavityKind::sealed || capacity_of(c) <= least_mm3) continue;
    for (const double share : {0.3, 0.75, 0.999}) {
      const Length level = c.floor + (c.brim - c.floor) * share;
      const double mine = in_cubic_millimetres(found.volume_at(c.id, level));
      // Below its merge a pool is several liquids; only those that stand above it are one.
      const bool whole = std::none_of(found.list().begin(), found.list().end(),
                                      [&](const Cavity& k) { return k.parent == c.id && k.brim >= level; });
      if (!whole) continue;
      CAPTURE(c.id);
      CAPTURE(share);
      const auto all = liquids(solid, in_millimetres(level));
      const auto it =
          std::find_if(all.begin(), all.end(), [&](const Liquid& l) { return l.has(vec3(c.floor_at)); });
      REQUIRE(it != all.end());
      CHECK(mine == doctest::Approx(it->volume).epsilon(1e-10));
      ++done;
    }
    if (c.parent != 0) continue;
    // A hair above the brim the liquid has found its way out.
    const auto above = liquids(solid, in_millimetres(c.brim + (c.brim - c.floor) * 1e-4));
    CHECK(std::none_of(above.begin(), above.end(), [&](const Liquid& l) { return l.has(vec3(c.floor_at)); }));
  }
  return done;
}

/// Walls 5 mm round an inner profile given from the rim down.
TriangleSoup cup(std::vector<Station> inner, int n) {
  double outer = 0, low = inner[0].z;
  for (const Station& s : inner) {
    outer = std::max(outer, s.r);
    low = std::min(low, s.z);
  }
  std::vector<Station> p{{0, low - 5}, {outer + 5, low - 5}, {outer + 5, inner[0].z}};
  p.insert(p.end(), inner.begin(), inner.end());
  return revolve(p, n);
}

}  // namespace

TEST_CASE("cups, bowls and channels of revolution") {
  CHECK(compare(cup({{30, 60}, {20, 0}, {0, 0}}, 24)) == 3);
  CHECK(compare(cup({{40, 40}, {39, 31}, {34, 19}, {25, 9}, {14, 2}, {0, 0}}, 24)) == 3);
  CHECK(compare(cup({{40, 30}, {40, 20}, {25, 20}, {25, 5}, {10, 5}, {10, 0}, {0, 0}}, 24)) == 3);
  // A pillar below the brim, and rims inside rims.
  CHECK(compare(cup({{40, 30}, {40, 0}, {15, 0}, {15, 20}, {0, 20}}, 24)) == 3);
  CHECK(compare(cup({{40, 30}, {40, 20}, {35, 20}, {35, 5}, {25, 5}, {25, 20}, {20, 20}, {20, 0}, {0, 0}},
                    24)) >= 7);
}

TEST_CASE("undercuts, necks, roofs and floating bodies") {
  CHECK(compare(inkwell(24)) == 3);
  CHECK(compare(joined({cup({{40, 60}, {40, 0}, {0, 0}}, 24), sphere(8, 16, {3, 5, 30})})) == 3);
  CHECK(compare(joined({cup({{40, 60}, {40, 0}, {0, 0}}, 24), box({-9, 8, 10}, {4, 14, 20})})) == 3);
  // Askew, so that nothing is level.
  CHECK(compare(turned_by(random_rotation(3) * 0.2 + Eigen::Matrix3d::Identity(),
                          cup({{30, 40}, {24, 20}, {28, 8}, {0, 0}}, 20))) == 3);
}

TEST_CASE("trays of several cavities, flush and under a rim") {
  CHECK(compare(cavity_block(3, 2, 25, 30, 0, {{10, 30}, {8, 12}, {0, 12}}, 24)) == 18);
  CHECK(compare(cavity_block(2, 2, 25, 30, 0, {{10, 30}, {8, 12}, {0, 12}}, 24, 6, 10)) >= 13);
}

TEST_CASE("random solids with caves") {
  for (const std::uint32_t seed : {3u, 5u, 6u, 8u}) {
    CAPTURE(seed);
    CHECK(compare(support::random_solid(seed, 14, 100), 100) > 0);
  }
}

TEST_CASE("round holes bored through a round wall, level and at a slope, are sized and plugged") {
  const int n = 64;
  const double full = polygon_factor(n) * pi * 1600 * 50;
  for (const auto& [radius, height, slope] : {std::tuple(3.0, 20.0, 0.0),
                                              {3.0, 20.0, 15.0},
                                              {3.0, 20.0, -15.0},
                                              {6.0, 12.0, 5.0},
                                              {0.6, 40.0, 0.0}}) {
    CAPTURE(radius);
    CAPTURE(slope);
    const TriangleSoup wall = revolve({{0, -5}, {45, -5}, {45, 50}, {40, 50}, {40, 0}, {0, 0}}, n);
    const Eigen::Matrix3d lay = Eigen::AngleAxisd((90 - slope) * pi / 180, Vec3::UnitY()).toRotationMatrix();
    const TriangleSoup drill =
        moved(revolve({{0, 20}, {radius, 20}, {radius, 60}, {0, 60}}, 24),
              [&, z = height](const Vec3& p) { return Vec3(lay * p + Vec3(0, 0.3, z)); });
    Mesh a = mesh_of(wall.vertices, wall.triangles), b = mesh_of(drill.vertices, drill.triangles), bored;
    REQUIRE(PMP::corefine_and_compute_difference(a, b, bored));
    Builder made;
    const auto point = [&](Mesh::Vertex_index v) {
      const auto& p = bored.point(v);
      return Vec3(CGAL::to_double(p.x()), CGAL::to_double(p.y()), CGAL::to_double(p.z()));
    };
    for (const auto f : bored.faces()) {
      std::vector<Vec3> p;
      for (const auto v : CGAL::vertices_around_face(bored.halfedge(f), bored)) p.push_back(point(v));
      made.triangle(p[0], p[1], p[2]);
    }
    const auto found = find_cavities(solid_of(made.take()));
    REQUIRE(found.has_value());
    REQUIRE(found->drains.size() == 1);
    CHECK(found->drains[0].kind == DrainKind::side);
    // An upright section of a sloping bore is longer by the slope.
    const double section = polygon_factor(24) * pi * radius * radius / std::cos(slope * pi / 180);
    CHECK(in_square_millimetres(*found->drains[0].throat) == doctest::Approx(section).epsilon(5e-3));
    // Flush with the wall but for what stands in the curve of it.
    CHECK(in_cubic_millimetres(found->drains[0].would_hold) ==
          doctest::Approx(full + 5 * section / 2).epsilon(5 * section / 2 / full));
  }
}

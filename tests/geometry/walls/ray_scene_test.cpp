// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/ray_scene.hpp"

#include <pourwright/walls.hpp>

#include "support/random_solid.hpp"
#include "support/solids.hpp"

using namespace pourwright;

namespace {

/// From everywhere on the surface straight in, facet middles and a hair's breadth beside edges and corners
/// (exactly on an edge of a box the ray would run along another face): how many rays never come out.
std::size_t lost_from_the_surface(const TriangleSoup& soup, const RayScene& scene) {
  std::size_t lost = 0;
  for (Index i = 0; i < soup.triangles.size(); ++i) {
    const Triangle& t = soup.triangles[i];
    const Vec3 n = scene.normal(i);
    const Vec3 &a = soup.vertices[t[0]], &b = soup.vertices[t[1]], &c = soup.vertices[t[2]];
    const Vec3 middle = (a + b + c) / 3;
    lost += !scene.first_exit(middle, -n);
    for (const Vec3& rim : {Vec3((a + b) / 2), Vec3((b + c) / 2), Vec3((c + a) / 2), a, b, c})
      lost += !scene.first_exit(rim + 1e-7 * (middle - rim), -n);
  }
  return lost;
}

/// A point inside: halfway along the ray that goes straight in from a facet.
Vec3 inside(const TriangleSoup& soup, const RayScene& scene, Index facet) {
  const Triangle& t = soup.triangles[facet];
  const Vec3 from = (soup.vertices[t[0]] + soup.vertices[t[1]] + soup.vertices[t[2]]) / 3,
             n = scene.normal(facet);
  const auto hit = scene.first_exit(from, -n);
  REQUIRE(hit);
  return from - hit->distance / 2 * n;
}

/// From inside at every corner, every edge's middle and a point of every edge: how many never come out, or
/// out of a convex body elsewhere than where they were aimed.
std::size_t lost_from_inside(const TriangleSoup& soup, const RayScene& scene, const Vec3& from, bool convex) {
  std::size_t lost = 0;
  const auto aim = [&](const Vec3& at) {
    const auto hit = scene.first_exit(from, (at - from).normalized());
    lost += !hit || (convex && std::abs(hit->distance / (at - from).norm() - 1) > 1e-9);
  };
  for (const Vec3& v : soup.vertices) aim(v);
  for (const Triangle& t : soup.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 &a = soup.vertices[t[k]], &b = soup.vertices[t[(k + 1) % 3]];
      aim((a + b) / 2);
      aim(a + 0.3 * (b - a));
    }
  return lost;
}

}  // namespace

TEST_CASE("a ray from a face of a box leaves through the opposite one") {
  const TriangleSoup box = shapes::box({0, 0, 0}, {30, 20, 4});
  const auto scene = RayScene::build(box.vertices, box.triangles);
  REQUIRE(scene);
  const auto hit = scene->first_exit({3, 5, 4}, {0, 0, -1});
  REQUIRE(hit);
  CHECK(hit->distance == doctest::Approx(4).epsilon(1e-12));
  CHECK_FALSE(scene->first_exit({3, 5, 40}, {0, 0, 1}));
}

TEST_CASE("no ray slips out of a closed body, not even at edges and corners") {
  const auto check = [](const TriangleSoup& soup, bool convex) {
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    CHECK(lost_from_the_surface(soup, *scene) == 0);
    const auto last = static_cast<Index>(soup.triangles.size() - 1);
    for (const Index facet : {Index{0}, last / 3, last / 2, last})
      CHECK(lost_from_inside(soup, *scene, inside(soup, *scene, facet), convex) == 0);
  };
  for (std::uint32_t seed = 0; seed < 12; ++seed) {
    CAPTURE(seed);
    const Eigen::Matrix3d r = seed == 0 ? Eigen::Matrix3d::Identity() : random_rotation(seed);
    check(turned_by(r, shapes::box({0, 0, 0}, {30, 20, 4})), true);
    check(turned_by(r, shapes::sphere(15, 24)), true);
    check(turned_by(r, shapes::inkwell(24)), false);
    if (seed < 6) check(turned_by(r, support::random_solid(20 + seed, 8, 40)), false);
  }
}

TEST_CASE("every place of a closed body has a thickness") {
  for (std::uint32_t seed = 1; seed < 5; ++seed) {
    CAPTURE(seed);
    const Eigen::Matrix3d r = random_rotation(seed);
    for (const TriangleSoup& soup :
         {support::random_solid(seed, 10, 40), shapes::box({0, 0, 0}, {30, 20, 4})}) {
      const Solid solid = solid_of(turned_by(r, soup));
      WallsOptions options;
      options.samples = 3000;
      options.find_spots = false;
      options.keep_samples = true;
      const auto w = measure_walls(solid, options);
      REQUIRE(w);
      CHECK(w->samples == 3000);
      const double across = solid.box().size().norm();
      for (const WallSample& s : w->kept) {
        CHECK(s.ray > 0);
        CHECK(s.ray <= across);
        CHECK(s.ball > 0);
        CHECK(s.ball <= across);
      }
    }
  }
}

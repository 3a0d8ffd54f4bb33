// SPDX-License-Identifier: GPL-3.0-or-later
// Rays that leave closed bodies, and a moving ball against one found by asking every triangle.
#include "geometry/mesh/ray_scene.hpp"

#include "geometry/mesh/nearest.hpp"
#include "support/random_solid.hpp"
#include "support/rotations.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

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

namespace {

/// The way of the moving ball to one triangle, at most `most`: how far the triangle lies outside the ball is
/// convex along the way, so its least is found by thirds and the way down to it by halves.
double way_to(const std::array<Vec3, 3>& t, const Vec3& centre, double radius, const Vec3& direction,
              double rate, double most) {
  const auto outside = [&](double s) {
    const Vec3 c = centre + s * direction;
    return (nearest_on_triangle(c, t[0], t[1], t[2]) - c).norm() - radius - s * rate;
  };
  double low = 0, high = most;
  for (int i = 0; i < 120; ++i) {
    const double a = low + (high - low) / 3, b = high - (high - low) / 3;
    (outside(a) < outside(b) ? high : low) = outside(a) < outside(b) ? b : a;
  }
  if (!(outside(high) < 0)) return most;
  for (low = 0; high - low > 1e-12 * most;) {
    const double middle = low + (high - low) / 2;
    (outside(middle) < 0 ? high : low) = middle;
  }
  return low;
}

}  // namespace

TEST_CASE("a ball that moves and grows stops where the first of all triangles stops it") {
  std::size_t stopped = 0, free = 0;
  for (const std::uint32_t seed : {1U, 2U, 3U, 4U}) {
    CAPTURE(seed);
    const TriangleSoup soup = turned_by(random_rotation(seed), support::random_solid(seed, 6, 30));
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> unit(0, 1);
    for (int i = 0; i < 60; ++i) {
      const Vec3 centre = inside(soup, *scene, static_cast<Index>(random() % soup.triangles.size()));
      const auto near = scene->nearest(centre);
      REQUIRE(near);
      const double radius = 0.9 * near->distance, rate = i % 2 == 0 ? 1 : unit(random),
                   most = 6 * unit(random);
      const Vec3 d = random_rotation(100 * seed + static_cast<std::uint32_t>(i)).col(0);
      double way = most;
      for (const Triangle& t : soup.triangles)
        way = std::min(way, way_to({soup.vertices[t[0]], soup.vertices[t[1]], soup.vertices[t[2]]}, centre,
                                   radius, d, rate, way));
      const RayScene::Advance a = scene->advance(centre, radius, d, rate, most, {0, 0, 1e-12});
      // Balls that grow as fast as they move lie inside each other, so that the last free one is the first
      // too.
      if (rate == 1) CHECK(a.way == doctest::Approx(way).epsilon(1e-6));
      CHECK(a.way >= way * (1 - 1e-6));
      const auto left = scene->nearest(centre + a.way * d);
      REQUIRE(left);
      const double reach = radius + a.way * rate;
      CHECK(left->distance >= reach * (1 - 1e-9));
      if (a.triangle != none) CHECK(left->distance <= reach * (1 + 1e-6));
      CHECK((a.triangle == none) == (a.way == most));
      ++(a.triangle == none ? free : stopped);
    }
  }
  CHECK(stopped > 60);
  CHECK(free > 20);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// The ball on the tree against one found by asking every triangle.
#include "geometry/walls/inscribed_ball.hpp"

#include "geometry/walls/samples.hpp"
#include "support/random_solid.hpp"
#include "support/solids.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

namespace pourwright {
namespace {

/// Distance from p to a triangle by its definition: the plane where the foot falls inside, else the edges.
double distance_to(const Vec3& p, const std::array<Vec3, 3>& t) {
  const Vec3 n = (t[1] - t[0]).cross(t[2] - t[0]);
  double best = std::numeric_limits<double>::infinity();
  bool inside = true;
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec3 a = t[k], e = t[(k + 1) % 3] - a;
    const double s = std::clamp(e.dot(p - a) / e.squaredNorm(), 0.0, 1.0);
    best = std::min(best, (a + s * e - p).norm());
    inside = inside && n.cross(e).dot(p - a) >= 0;
  }
  return inside ? std::min(best, std::abs(n.dot(p - t[0])) / n.norm()) : best;
}

/// The facet that the ball touches, and its neighbours in the same plane, reach into it up to rounding.
constexpr double rounding = 1e-12;
const RayScene::Slack exactly{0, 0, rounding};

/// The largest radius at which no triangle reaches into the ball, by halving.
double by_asking_all(const TriangleSoup& soup, const Vec3& at, const Vec3& normal, double most) {
  double radius = most;
  for (const Triangle& t : soup.triangles) {
    const std::array<Vec3, 3> corners{soup.vertices[t[0]], soup.vertices[t[1]], soup.vertices[t[2]]};
    const auto holds = [&](double r) { return distance_to(at - r * normal, corners) >= r - rounding; };
    if (holds(radius)) continue;
    double low = 0, high = radius;
    for (int i = 0; i < 80; ++i) {
      const double middle = low + (high - low) / 2;
      (holds(middle) ? low : high) = middle;
    }
    radius = low;
  }
  return radius;
}

/// How deep any triangle reaches into the ball.
double deepest(const TriangleSoup& soup, const Vec3& centre, double radius) {
  double deepest = 0;
  for (const Triangle& t : soup.triangles)
    deepest = std::max(deepest, radius - distance_to(centre, {soup.vertices[t[0]], soup.vertices[t[1]],
                                                              soup.vertices[t[2]]}));
  return deepest;
}

struct Compared {
  int places = 0, shrunk = 0;
};

/// At places of every kind of facet.
Compared compare(const TriangleSoup& soup, std::size_t count) {
  const auto scene = RayScene::build(soup.vertices, soup.triangles);
  REQUIRE(scene);
  Compared c;
  const thickness::Skin skin(soup.vertices, soup.triangles);
  for (const thickness::Place& p : thickness::spread_places(skin, count).list) {
    const Vec3 n = scene->normal(p.triangle);
    const auto ray = scene->first_exit(p.at, -n);
    REQUIRE(ray);
    const RayScene::Touch exact = scene->shrink(p.at, n, ray->distance / 2, exactly);
    CAPTURE(p.triangle);
    CHECK(exact.radius == doctest::Approx(by_asking_all(soup, p.at, n, ray->distance / 2)).epsilon(1e-9));
    // With slack it may be larger, but holds nothing deeper.
    const double give = 0.01 * ray->distance;
    const RayScene::Touch loose = scene->shrink(p.at, n, ray->distance / 2, {give, 1e-3, 0.5 * give});
    CHECK(loose.radius >= exact.radius * (1 - 1e-9));
    CHECK(deepest(soup, p.at - loose.radius * n, loose.radius) <= give * (1 + 1e-9));
    ++c.places;
    c.shrunk += exact.triangle != none;
  }
  return c;
}

}  // namespace

TEST_CASE("the ball found on the tree is the one found by asking every triangle") {
  int shrunk = 0;
  for (const std::uint32_t seed : {11U, 12U, 13U, 14U, 15U, 16U}) {
    CAPTURE(seed);
    const TriangleSoup soup = turned_by(random_rotation(seed), support::random_solid(seed, 7, 30));
    const Compared c = compare(soup, 150);
    CHECK(c.places == 150);
    shrunk += c.shrunk;
  }
  CHECK(shrunk > 500);  // most balls meet something before the far end of the ray
  for (const std::uint32_t seed : {1U, 2U}) {
    CAPTURE(seed);
    const Eigen::Matrix3d r = random_rotation(seed);
    compare(turned_by(r, shapes::box({0, 0, 0}, {30, 20, 4})), 200);
    compare(turned_by(r, shapes::sphere(12, 24)), 200);
    compare(turned_by(r, shapes::revolve({{10, 0}, {13, 0}, {13, 20}, {10, 20}}, 24, true)), 200);
    compare(turned_by(r, shapes::inkwell(16)), 200);
  }
}

TEST_CASE("the ball in a wedge touches both flanks") {
  // Flanks through the y axis, half an angle above and below the x axis; at distance s from the apex the ball
  // that touches one flank touches the other too: r = s · tan(angle / 2).
  const double half = 0.12, length = 80;
  const double x = length * std::cos(half), z = length * std::sin(half);
  shapes::Builder b;
  const Vec3 a0(0, 0, 0), a1(0, 40, 0), low0(x, 0, -z), low1(x, 40, -z), top0(x, 0, z), top1(x, 40, z);
  b.quad(a0, a1, low1, low0);
  b.quad(a0, top0, top1, a1);
  b.quad(low0, low1, top1, top0);
  b.triangle(a0, low0, top0);
  b.triangle(a1, top1, low1);
  const TriangleSoup wedge = b.take();
  for (const std::uint32_t seed : {3U, 4U, 5U}) {
    const Eigen::Matrix3d r = random_rotation(seed);
    const TriangleSoup soup = turned_by(r, wedge);
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    for (const double s : {5.0, 20.0, 50.0}) {
      const Vec3 at = r * Vec3(s * std::cos(half), 20, s * std::sin(half));
      const Vec3 n = r * Vec3(-std::sin(half), 0, std::cos(half));
      const auto ray = scene->first_exit(at, -n);
      REQUIRE(ray);
      CHECK(ray->distance == doctest::Approx(s * std::tan(2 * half)).epsilon(1e-9));
      CHECK(scene->shrink(at, n, ray->distance / 2, exactly).radius ==
            doctest::Approx(s * std::tan(half)).epsilon(1e-9));
    }
  }
}

TEST_CASE("room that one search has shown is there, and spares those nearby theirs without another answer") {
  int room = 0, none_there = 0;
  for (const std::uint32_t seed : {21U, 22U, 23U}) {
    CAPTURE(seed);
    const TriangleSoup soup = turned_by(random_rotation(seed), support::random_solid(seed, 7, 30));
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    thickness::Clearances known;
    const Vec3 middle = soup.vertices[soup.triangles[0][0]];
    for (int i = 0; i < 400; ++i) {
      // Along a line in small steps, so that most points lie near one that was asked before.
      const Vec3 at = middle + 0.02 * i * Vec3(0.6, -0.5, 0.62);
      double truth = std::numeric_limits<double>::infinity();
      for (const Triangle& t : soup.triangles)
        truth =
            std::min(truth, distance_to(at, {soup.vertices[t[0]], soup.vertices[t[1]], soup.vertices[t[2]]}));
      for (const double least : {0.5 * truth, 0.95 * truth, 1.05 * truth}) {
        const double enough = 1.08 * least;
        const double bound = scene->clearance(at, least, enough);
        if (least < truth) {
          CHECK(bound <= truth * (1 + 1e-9));
          CHECK(bound >= std::min(enough, truth) * (1 - 1e-9));
        } else if (truth > 0) {
          CHECK(bound < least);
        }
        const bool clear = known.clear(*scene, at, least, enough);
        CHECK(clear == (least > 0 && least < truth));
        ++(clear ? room : none_there);
      }
    }
  }
  CHECK(room > 2000);
  CHECK(none_there > 1000);
}

TEST_CASE("what earlier places teach later ones does not move what they find" * doctest::test_suite("long")) {
  struct {
    TriangleSoup soup;
    double alike, mean;  ///< least share of places within 1 %, and most that all are moved on average
  } const bodies[] = {
      {shapes::box({0, 0, 0}, {30, 20, 4}), 1, 1e-5},
      {shapes::revolve({{0, 0}, {3, 0}, {3, 30}, {0, 30}}, 96), 1, 1e-5},
      {shapes::inkwell(32), 1, 1e-5},
      // Between ragged ridges a ball may grow to one side or the other.
      {support::random_solid(31, 7, 30), 0.75, 0.01},
  };
  std::size_t taught = 0;
  for (const auto& body : bodies) {
    const TriangleSoup soup = turned_by(random_rotation(8), body.soup);
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    const thickness::Skin skin(soup.vertices, soup.triangles);
    thickness::Memory memory;
    double all = 0, alike = 0, own_alike = 0, moved = 0;
    for (const thickness::Place& p : thickness::spread_places(skin, 1500).list) {
      thickness::Memory nothing;
      const auto a = thickness::inscribed_ball(*scene, skin, p.at, p.triangle, {}, memory);
      const auto b = thickness::inscribed_ball(*scene, skin, p.at, p.triangle, {}, nothing);
      REQUIRE(a.has_value() == b.has_value());
      if (!a) continue;
      const double off = a->diameter / b->diameter - 1;
      all += 1;
      alike += std::abs(off) < 0.01;
      own_alike += a->own == b->own && (!a->own || std::abs(off) < 0.01);
      moved += off;
      taught += off != 0;
    }
    CHECK(all == 1500);
    CHECK(alike >= body.alike * all);
    CHECK(own_alike >= 0.99 * all);
    CHECK(std::abs(moved) <= body.mean * all);
  }
  CHECK(taught > 100);
}

}  // namespace pourwright

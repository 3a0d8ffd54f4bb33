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
#include <numeric>
#include <optional>
#include <random>
#include <utility>
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

namespace {

/// Flanks through the y axis, half an angle above and below the x axis; at distance s from the apex the ball
/// that touches one flank touches the other too: r = s · tan(angle / 2).
TriangleSoup wedge_of(double half, double length) {
  const double x = length * std::cos(half), z = length * std::sin(half);
  shapes::Builder b;
  const Vec3 a0(0, 0, 0), a1(0, 40, 0), low0(x, 0, -z), low1(x, 40, -z), top0(x, 0, z), top1(x, 40, z);
  b.quad(a0, a1, low1, low0);
  b.quad(a0, top0, top1, a1);
  b.quad(low0, low1, top1, top0);
  b.triangle(a0, low0, top0);
  b.triangle(a1, top1, low1);
  return b.take();
}

}  // namespace

TEST_CASE("the ball in a wedge touches both flanks") {
  const double half = 0.12;
  const TriangleSoup wedge = wedge_of(half, 80);
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

TEST_CASE("the sides of a wedge of less than 40 degrees are a wall, those of a wider one are an edge") {
  for (const double degrees : {20.0, 38.0, 42.0, 80.0}) {
    CAPTURE(degrees);
    const double half = degrees / 2 * shapes::pi / 180, s = 10;
    const TriangleSoup soup = turned_by(random_rotation(6), wedge_of(half, 80));
    const auto scene = RayScene::build(soup.vertices, soup.triangles);
    REQUIRE(scene);
    const thickness::Skin skin(soup.vertices, soup.triangles);
    const Vec3 at = random_rotation(6) * Vec3(s * std::cos(half), 20, s * std::sin(half));
    thickness::Clearances known;
    const Index flank = scene->nearest(at)->triangle;
    const auto ball = thickness::inscribed_ball(*scene, skin, at, flank, {}, known);
    REQUIRE(ball);
    const double between = 2 * s * std::tan(half);
    if (degrees < 40) {
      CHECK(ball->own);
      CHECK(ball->diameter == doctest::Approx(between).epsilon(1e-6));
    } else {
      CHECK_FALSE((ball->own && ball->diameter < 1.01 * between));
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

namespace {

using thickness::Ball;
using thickness::Place;

/// The ball at each place, asked in the order of `order`.
std::vector<std::optional<Ball>> balls_at(const TriangleSoup& soup, const std::vector<Place>& places,
                                          const std::vector<std::size_t>& order) {
  const auto scene = RayScene::build(soup.vertices, soup.triangles);
  REQUIRE(scene);
  const thickness::Skin skin(soup.vertices, soup.triangles);
  thickness::Clearances known;
  std::vector<std::optional<Ball>> out(places.size());
  for (const std::size_t i : order)
    out[i] = thickness::inscribed_ball(*scene, skin, places[i].at, places[i].triangle, {}, known);
  return out;
}

std::vector<std::size_t> in_turn(std::size_t n) {
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), 0);
  return order;
}

std::vector<TriangleSoup> bodies_to_move() {
  return {shapes::box({0, 0, 0}, {30, 20, 4}), shapes::revolve({{0, 0}, {3, 0}, {3, 30}, {0, 30}}, 96),
          shapes::inkwell(32), shapes::sphere(12, 24), support::random_solid(31, 7, 30)};
}

/// A body elsewhere, and its triangles there.
struct Moved {
  TriangleSoup soup;
  std::vector<Index> triangle;
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();
  Vec3 by = Vec3::Zero();
};

Moved moved(const TriangleSoup& soup, const Eigen::Matrix3d& turn, const Vec3& by) {
  Moved m{soup, std::vector<Index>(soup.triangles.size()), turn, by};
  std::iota(m.triangle.begin(), m.triangle.end(), 0);
  for (Vec3& v : m.soup.vertices) v = turn * v + by;
  if (turn.determinant() < 0)
    for (Triangle& t : m.soup.triangles) std::swap(t[1], t[2]);
  return m;
}

/// Triangles and vertices in another order, corners beginning elsewhere.
Moved renumbered(const TriangleSoup& soup) {
  Moved m = moved(soup, Eigen::Matrix3d::Identity(), Vec3::Zero());
  std::mt19937 random(5);
  std::vector<Index> vertex(soup.vertices.size());
  std::iota(vertex.begin(), vertex.end(), 0);
  std::shuffle(vertex.begin(), vertex.end(), random);
  std::shuffle(m.triangle.begin(), m.triangle.end(), random);
  for (std::size_t i = 0; i < vertex.size(); ++i) m.soup.vertices[vertex[i]] = soup.vertices[i];
  for (std::size_t i = 0; i < m.triangle.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k)
      m.soup.triangles[m.triangle[i]][k] = vertex[soup.triangles[i][(k + i) % 3]];
  return m;
}

/// Asks the same places of both; `same_borrowed`: those that borrow their thickness keep it too.
void check_alike(const TriangleSoup& soup, const Moved& m, bool same_borrowed) {
  const thickness::Skin skin(soup.vertices, soup.triangles);
  const std::vector<Place> places = thickness::spread_places(skin, 800).list;
  std::vector<Place> there;
  for (const Place& p : places) there.push_back({m.turn * p.at + m.by, m.triangle[p.triangle]});
  const auto order = in_turn(places.size());
  const auto before = balls_at(soup, places, order), after = balls_at(m.soup, there, order);
  std::size_t all = 0, flipped = 0, own = 0, own_alike = 0, borrowed = 0, close = 0, same = 0;
  for (const std::size_t i : order) {
    REQUIRE(before[i].has_value() == after[i].has_value());
    if (!before[i]) continue;
    ++all;
    const double off = std::abs(after[i]->diameter / before[i]->diameter - 1);
    if (before[i]->own != after[i]->own) {
      ++flipped;
    } else if (before[i]->own) {
      ++own;
      own_alike += off < 1e-6;
    } else {
      ++borrowed;
      close += off < 0.01;
      same += off < 1e-6;
    }
  }
  CHECK(all == places.size());
  CHECK(own_alike == own);
  CHECK(own > 0);
  CHECK(static_cast<double>(flipped) <= (same_borrowed ? 0 : 0.03 * static_cast<double>(all)));
  if (same_borrowed)
    CHECK(static_cast<double>(same) >= 0.98 * static_cast<double>(borrowed));
  else
    CHECK(2 * close >= borrowed);
}

}  // namespace

TEST_CASE("places asked in another order find the same bits") {
  for (const TriangleSoup& body : bodies_to_move()) {
    const TriangleSoup soup = turned_by(random_rotation(8), body);
    const thickness::Skin skin(soup.vertices, soup.triangles);
    const std::vector<Place> places = thickness::spread_places(skin, 800).list;
    std::vector<std::size_t> order = in_turn(places.size());
    const auto first = balls_at(soup, places, order);
    std::mt19937 random(9);
    std::shuffle(order.begin(), order.end(), random);
    const auto again = balls_at(soup, places, order);
    std::size_t alike = 0;
    for (const std::size_t i : order)
      alike += first[i].has_value() == again[i].has_value() &&
               (!first[i] || (first[i]->diameter == again[i]->diameter && first[i]->ray == again[i]->ray &&
                              first[i]->own == again[i]->own && first[i]->across == again[i]->across));
    CHECK(alike == places.size());
  }
}

TEST_CASE("moving a body and renumbering its triangles changes no thickness beyond rounding") {
  for (const TriangleSoup& soup : bodies_to_move()) {
    check_alike(soup, moved(soup, Eigen::Matrix3d::Identity(), {137.3, -211.7, 58.1}), true);
    check_alike(soup, renumbered(soup), true);
  }
}

TEST_CASE("turning and mirroring a body changes no wall's own thickness beyond rounding") {
  const Eigen::Matrix3d mirror = Vec3(-1, 1, 1).asDiagonal();
  for (const TriangleSoup& soup : bodies_to_move()) {
    check_alike(soup, moved(soup, random_rotation(8), {3, -20, 11}), false);
    check_alike(soup, moved(soup, mirror, Vec3::Zero()), false);
  }
}

}  // namespace pourwright

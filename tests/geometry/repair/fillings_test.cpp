// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles across a closed line: areas, counts, and what cannot be spanned.
#include "geometry/repair/fillings.hpp"

#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using mending::Filling;
using shapes::pi;

namespace {

std::vector<Vec3> circle(double r, int n, double z = 0) {
  std::vector<Vec3> out;
  for (int k = 0; k < n; ++k) out.emplace_back(r * std::cos(2 * pi * k / n), r * std::sin(2 * pi * k / n), z);
  return out;
}

Vec3 area(const std::vector<Vec3>& points, const std::vector<Triangle>& triangles) {
  Vec3 sum = Vec3::Zero();
  for (const Triangle& t : triangles)
    sum += (points[t[1]] - points[t[0]]).cross(points[t[2]] - points[t[0]]) / 2;
  return sum;
}

std::vector<Index> numbers(std::size_t first, std::size_t count) {
  std::vector<Index> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(static_cast<Index>(first + i));
  return out;
}

}  // namespace

TEST_CASE("a line of n corners is spanned by n − 2 triangles that use every edge once") {
  for (const int n : {3, 4, 5, 12, 61}) {
    std::vector<Vec3> loop = circle(10, n);
    for (Vec3& p : loop) p.z() = 0.5 * std::sin(3 * p.x());
    const auto t = mending::span_loop(loop, {});
    CHECK(t.size() == static_cast<std::size_t>(n) - 2);
    // As an open disc its border is the line: Σ of area vectors is the line's own.
    Vec3 own = Vec3::Zero();
    for (std::size_t i = 0; i < loop.size(); ++i) own += loop[i].cross(loop[(i + 1) % loop.size()]) / 2;
    CHECK((area(loop, t) - own).norm() < 1e-9);
    CHECK(make_surface({loop, t}).census.boundary_edges == static_cast<std::size_t>(n));
  }
}

TEST_CASE("a plane is spanned between an outline and its islands") {
  std::vector<Vec3> points = circle(10, 24);
  std::vector<Vec3> inner = circle(4, 9);
  std::reverse(inner.begin(), inner.end());
  points.insert(points.end(), inner.begin(), inner.end());
  const auto t = mending::span_plane(points, {numbers(0, 24), numbers(24, 9)}, Vec3::UnitZ());
  REQUIRE(t);
  const double polygon = 100 * pi * shapes::polygon_factor(24), hole = 16 * pi * shapes::polygon_factor(9);
  CHECK((area(points, *t) - Vec3(0, 0, polygon - hole)).norm() < 1e-9);
}

TEST_CASE("a hollow outline is spanned inside only") {
  // An L of three squares.
  const std::vector<Vec3> l{{0, 0, 0}, {2, 0, 0}, {2, 1, 0}, {1, 1, 0}, {1, 2, 0}, {0, 2, 0}};
  const auto t = mending::span_plane(l, {numbers(0, 6)}, Vec3::UnitZ());
  REQUIRE(t);
  CHECK(t->size() == 4);
  CHECK(area(l, *t).z() == doctest::Approx(3));
}

TEST_CASE("lines that cross, that touch themselves or that lie on another's corner are not spanned") {
  const std::vector<Vec3> eight{{0, 0, 0}, {2, 2, 0}, {2, 0, 0}, {0, 2, 0}};
  CHECK_FALSE(mending::span_plane(eight, {numbers(0, 4)}, Vec3::UnitZ()));
  const std::vector<Vec3> twice{{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {2, 0, 0}};
  CHECK_FALSE(mending::span_plane(twice, {numbers(0, 4)}, Vec3::UnitZ()));
  // A corner in the middle of an edge of another line.
  std::vector<Vec3> on{{0, 0, 0}, {4, 0, 0}, {4, 4, 0}, {0, 4, 0}, {2, 0, 0}, {1, 2, 0}, {3, 2, 0}};
  CHECK_FALSE(mending::span_plane(on, {numbers(0, 4), numbers(4, 3)}, Vec3::UnitZ()));
  CHECK_FALSE(mending::span_plane({}, {}, Vec3::UnitZ()));
  CHECK_FALSE(mending::span_plane(circle(1, 5), {numbers(0, 5)}, Vec3::Zero()));
}

TEST_CASE("a filling beside a plane stays in it, one beside a ball rises to it") {
  // A disc with a ring of triangles round it, which lies in the plane or on a ball of 30 mm.
  for (const bool ball : {false, true}) {
    CAPTURE(ball);
    const auto lift = [&](Vec3 p) {
      p.z() = ball ? std::sqrt(900 - p.x() * p.x() - p.y() * p.y()) - std::sqrt(900 - 100.0) : 0;
      return p;
    };
    constexpr Index n = 40;
    std::vector<Vec3> loop = circle(10, n), ring_points;
    for (Vec3& p : loop) p = lift(p);
    std::vector<Triangle> ring;
    for (int row = 1; row <= 4; ++row)
      for (Vec3 p : circle(10 + 1.5 * row, n)) ring_points.push_back(lift(p));
    for (Index row = 0; row < 4; ++row)
      for (Index k = 0; k < n; ++k) {
        const Index a = row * n + k, b = row * n + (k + 1) % n, c = a + n, d = b + n;
        ring.push_back({a, c, d});
        ring.push_back({a, d, b});
      }
    const auto filling = mending::follow_surface(loop, mending::span_loop(loop, {}), ring_points, ring);
    REQUIRE(filling);
    CHECK(filling->added.size() > 20);
    double highest = 0;
    for (const Vec3& p : filling->added) highest = std::max(highest, p.z());
    const double h = 30 - std::sqrt(800.0);
    if (ball)
      CHECK(highest == doctest::Approx(h).epsilon(0.25));
    else
      CHECK(highest < 1e-9);
    std::vector<Vec3> all = loop;
    all.insert(all.end(), filling->added.begin(), filling->added.end());
    CHECK(make_surface({all, filling->triangles}).census.boundary_edges == n);
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/intake/polygon.hpp"

#include "geometry/mesh/predicates.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using intake::PolygonCutter;

namespace {

struct Flat {
  double x, y;
};
using Outline = std::vector<Flat>;

double area(const Outline& p) {
  double sum = 0;
  for (std::size_t i = 0, j = p.size() - 1; i < p.size(); j = i++) sum += p[j].x * p[i].y - p[i].x * p[j].y;
  return sum / 2;
}

double whole(std::mt19937& random, std::uint32_t below) {
  return static_cast<double>(random() % below);
}

struct Cut {
  PolygonCutter::Outcome outcome;
  std::vector<Triangle> triangles;
};
Cut cut(const std::vector<Vec3>& vertices) {
  std::vector<Index> corners(vertices.size());
  std::iota(corners.begin(), corners.end(), Index{0});
  Cut result;
  result.outcome = PolygonCutter().cut(corners, vertices, result.triangles);
  return result;
}
std::vector<Vec3> lift(const Outline& outline) {
  std::vector<Vec3> out;
  for (const Flat& p : outline) out.emplace_back(p.x, p.y, 0);
  return out;
}

/// A triangulation of a simple outline: n−2 triangles that turn left, the same area, and each edge of the
/// outline once while each edge inside is met from both sides.
void check_cut(const Outline& outline) {
  const Cut result = cut(lift(outline));
  CHECK(result.outcome == PolygonCutter::Outcome::cut);
  CHECK(result.triangles.size() == outline.size() - 2);
  double sum = 0;
  std::map<std::pair<Index, Index>, int> edges;
  for (const Triangle& t : result.triangles) {
    const Flat a = outline[t[0]], b = outline[t[1]], c = outline[t[2]];
    CHECK(orient2d(a.x, a.y, b.x, b.y, c.x, c.y) > 0);
    sum += area({a, b, c});
    for (std::size_t k = 0; k < 3; ++k) ++edges[{t[k], t[(k + 1) % 3]}];
  }
  CHECK(sum == doctest::Approx(area(outline)).epsilon(1e-12));
  const auto n = static_cast<Index>(outline.size());
  for (const auto& [edge, count] : edges) {
    CHECK(count == 1);
    const bool rim = edge.second == (edge.first + 1) % n;
    CHECK(edges.count({edge.second, edge.first}) == (rim ? 0u : 1u));
  }
}

Outline star(std::size_t n, std::uint32_t seed) {
  std::mt19937 random(seed);
  Outline out;
  for (std::size_t i = 0; i < n; ++i) {
    const double angle = 2 * M_PI * static_cast<double>(i) / static_cast<double>(n);
    const double r = 1 + static_cast<double>(random() % 1000) / 100;
    out.push_back({r * std::cos(angle), r * std::sin(angle)});
  }
  return out;
}
Outline comb(int teeth) {
  Outline out{{0.0, -1.0}, {2.0 * teeth, -1.0}};
  for (int i = teeth; i-- > 0;) {
    out.push_back({2.0 * i + 1.5, 10});
    out.push_back({2.0 * i + 0.5, 0});
  }
  return out;
}
Outline spiral(int turns) {
  Outline out, back;
  for (int i = 0; i <= turns * 16; ++i) {
    const double angle = i * M_PI / 8, r = 1 + 0.2 * i;
    out.push_back({r * std::cos(angle), r * std::sin(angle)});
    back.push_back({(r + 0.6) * std::cos(angle), (r + 0.6) * std::sin(angle)});
  }
  std::reverse(out.begin(), out.end());
  out.insert(out.end(), back.begin(), back.end());
  return out;
}

}  // namespace

TEST_CASE("outlines of every shape are covered exactly") {
  check_cut({{0, 0}, {4, 0}, {4, 3}, {0, 3}});
  check_cut({{0, 0}, {4, 0}, {1, 1}, {0, 4}});  // dart
  check_cut({{1, 1}, {0, 4}, {0, 0}, {4, 0}});  // the same, its dent first
  check_cut({{0, 0}, {4, 0}, {4, 3}, {2, 3}, {2, 1}, {0, 1}});
  check_cut({{0, 0}, {2, 0}, {4, 0}, {4, 4}});  // a corner on an edge
  check_cut({{0, 0}, {1, 0}, {2, 0}, {3, 0}, {3, 3}, {2, 2}, {1, 1}});
  check_cut(comb(1));
  check_cut(comb(40));
  check_cut(spiral(4));
  for (std::uint32_t seed = 1; seed <= 60; ++seed) check_cut(star(4 + seed * 3 % 97, seed));
}

TEST_CASE("convex faces become a fan from the first corner") {
  const Cut result = cut({{0, 0, 0}, {4, 0, 0}, {5, 2, 0}, {4, 4, 0}, {0, 4, 0}});
  CHECK(result.triangles == std::vector<Triangle>{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}});
}

TEST_CASE("the face's own plane and direction count") {
  // An L standing on edge, far from the origin, listed either way round.
  std::vector<Vec3> corners;
  for (const Flat& p : Outline{{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 5}, {0, 5}})
    corners.emplace_back(1000 + 0.6 * p.x, 2000 + 0.8 * p.x, p.y);
  for (int way = 0; way < 2; ++way) {
    const Cut result = cut(corners);
    REQUIRE(result.outcome == PolygonCutter::Outcome::cut);
    Vec3 sum = Vec3::Zero(), outline = Vec3::Zero();
    double total = 0;
    for (const Triangle& t : result.triangles) {
      const Vec3 n = (corners[t[1]] - corners[t[0]]).cross(corners[t[2]] - corners[t[0]]) / 2;
      sum += n;
      total += n.norm();
    }
    for (std::size_t i = 0; i < corners.size(); ++i)
      outline += (corners[i] - corners[0]).cross(corners[(i + 1) % corners.size()] - corners[0]) / 2;
    CHECK(total == doctest::Approx(8));
    CHECK((sum - outline).norm() < 1e-9);
    std::reverse(corners.begin(), corners.end());
  }
}

TEST_CASE("a hole joined to the rim by a doubled edge") {
  const Outline outline{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}, {3, 3}, {3, 7}, {7, 7}, {7, 3}, {3, 3}};
  const Cut result = cut(lift(outline));
  CHECK(result.outcome == PolygonCutter::Outcome::cut);
  CHECK(result.triangles.size() == outline.size() - 2);
  double sum = 0, positive = 0;
  for (const Triangle& t : result.triangles) {
    const double a = area({outline[t[0]], outline[t[1]], outline[t[2]]});
    sum += a;
    positive += std::abs(a);
  }
  CHECK(sum == doctest::Approx(84));
  CHECK(positive == doctest::Approx(84));
}

TEST_CASE("repeated corners are dropped") {
  const std::vector<Vec3> v{{0, 0, 0}, {4, 0, 0}, {4, 4, 0}, {0, 0, 0}};
  std::vector<Triangle> out;
  PolygonCutter cutter;
  CHECK(cutter.cut(std::array<Index, 6>{0, 0, 1, 1, 2, 3}, v, out) == PolygonCutter::Outcome::cut);
  CHECK(out.size() == 1);
  out.clear();
  CHECK(cutter.cut(std::array<Index, 4>{0, 1, 1, 0}, v, out) == PolygonCutter::Outcome::nothing);
  CHECK(cutter.cut(std::array<Index, 4>{2, 2, 2, 2}, v, out) == PolygonCutter::Outcome::nothing);
  CHECK(cutter.cut(std::span<const Index>(), v, out) == PolygonCutter::Outcome::nothing);
  CHECK(out.empty());
}

TEST_CASE("outlines that cross themselves or enclose nothing end with n−2 triangles and say so") {
  const auto forced = [](const Outline& outline) {
    const Cut result = cut(lift(outline));
    CHECK(result.outcome == PolygonCutter::Outcome::forced);
    CHECK(result.triangles.size() == outline.size() - 2);
  };
  forced({{0, 0}, {4, 4}, {4, 0}, {0, 4}});
  forced({{0, 0}, {1, 0}, {2, 0}, {3, 0}, {4, 0}});
  forced({{0, 0}, {4, 0}, {0, 0.0001}, {4, 0.0001}, {1, 0}, {3, 0}});
  // A pentagram turns left five times but runs round twice.
  Outline pentagram;
  for (int i = 0; i < 5; ++i) pentagram.push_back({std::cos(i * 4 * M_PI / 5), std::sin(i * 4 * M_PI / 5)});
  forced(pentagram);
}

TEST_CASE("any corners at all, even of extreme size, end") {
  std::mt19937 random(99);
  for (int round = 0; round < 300; ++round) {
    std::vector<Vec3> v;
    const double size = round % 3 == 0 ? 1e300 : round % 3 == 1 ? 1e-300 : 1;
    for (std::size_t n = 4 + random() % 20; n > 0; --n)
      v.push_back(size * Vec3(whole(random, 5), whole(random, 5), whole(random, 3)));
    const Cut result = cut(v);
    CHECK(result.triangles.size() <= v.size() - 2);
    for (const Triangle& t : result.triangles)
      for (const Index c : t) CHECK(c < v.size());
  }
}

TEST_CASE("large faces are quick, hopeless ones are given up") {
  const Outline spiky = star(5'000, 5);
  CHECK(cut(lift(spiky)).triangles.size() == spiky.size() - 2);
  Outline gear;
  for (int i = 0; i < 50'000; ++i) {
    const double angle = 2 * M_PI * i / 50'000, r = 100 + std::sin(300 * angle);
    gear.push_back({r * std::cos(angle), r * std::sin(angle)});
  }
  CHECK(cut(lift(gear)).triangles.size() == gear.size() - 2);
  check_cut(comb(3000));
  // Corners without order: nearly every ear is blocked by thousands of others.
  std::mt19937 random(3);
  std::vector<Vec3> tangle;
  for (int i = 0; i < 40'000; ++i) tangle.emplace_back(whole(random, 100'000), whole(random, 100'000), 0);
  const Cut result = cut(tangle);
  CHECK(result.outcome != PolygonCutter::Outcome::cut);
}

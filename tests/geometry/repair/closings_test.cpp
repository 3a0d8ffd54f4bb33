// SPDX-License-Identifier: GPL-3.0-or-later
// What a hole may have hidden lies inside the interval, with its plain rival.
#include "geometry/repair/closings.hpp"

#include "geometry/repair/facets.hpp"
#include "support/corruption.hpp"
#include "workpieces.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;

namespace {

struct Closed {
  double volume, doubt;
};
/// Of a body with one hole.
Closed closed(const TriangleSoup& s) {
  const Workpiece w = piece(s);
  const Fans fans(w.vertices.size(), w.triangles);
  const auto lines = mending::border_lines(w);
  REQUIRE(lines.size() == 1);
  const mending::Closing c = mending::close_hole(w, fans, lines[0]);
  std::vector<Vec3> loop;
  for (const Index v : lines[0].vertices) loop.push_back(w.vertices[v]);
  return {enclosed(w) + mending::volume_under(loop, Vec3::Zero(), c.chosen), c.doubt};
}

}  // namespace

TEST_CASE("a plate that lacks one triangle is closed exactly, and little is left in doubt") {
  for (const Vec3& size : {Vec3(100, 80, 3), Vec3(120, 5, 40), Vec3(200, 4, 4), Vec3(60, 40, 30)})
    for (std::size_t t = 0; t < 12; ++t) {
      const Closed c = closed(lacking(box(Vec3::Zero(), size), {t}));
      CHECK(c.volume == doctest::Approx(size.prod()).epsilon(1e-12));
      CHECK(c.doubt < 0.01 * size.prod());
    }
}

TEST_CASE("where a triangle may be a corner cut off, the cut is the value and the corner is inside") {
  for (const double cut : {4.0, 10.0, 18.0}) {
    CAPTURE(cut);
    const TriangleSoup s = chamfered(60, 50, 40, cut);
    const double corner = cut * cut * cut / 6, truth = 60 * 50 * 40 - corner;
    REQUIRE(enclosed(piece(s)) == doctest::Approx(truth));
    const Closed c = closed(lacking(s, {s.triangles.size() - 1}));
    CHECK(c.volume == doctest::Approx(truth));
    CHECK(c.doubt >= corner);
    CHECK(c.doubt < 1.1 * corner);
  }
}

TEST_CASE("where a corner is missing, the corner is the value and the plain closing is inside") {
  // Of a fine box, what lies within 7 mm of a corner: no flat border.
  TriangleSoup fine = corruption::subdivided(box(Vec3::Zero(), {40, 30, 20}), 3000);
  const double truth = 40 * 30 * 20;
  std::erase_if(fine.triangles, [&](const Triangle& t) {
    return ((fine.vertices[t[0]] + fine.vertices[t[1]] + fine.vertices[t[2]]) / 3 - Vec3(40, 30, 20)).norm() <
           7;
  });
  const Workpiece w = piece(fine);
  const auto lines = mending::border_lines(w);
  REQUIRE(lines.size() == 1);
  REQUIRE_FALSE(mending::is_flat(lines[0]));
  const Closed c = closed(fine);
  CHECK(c.volume == doctest::Approx(truth));
  std::vector<Vec3> loop;
  for (const Index v : lines[0].vertices) loop.push_back(w.vertices[v]);
  const double plain =
      enclosed(w) + mending::volume_under(loop, Vec3::Zero(), {{}, mending::span_loop(loop, {})});
  CHECK(std::abs(plain - truth) > 10);
  CHECK(c.doubt >= std::abs(plain - truth));
}

TEST_CASE("two missing triangles of a random gem may lie either way") {
  std::mt19937 random(5);
  TriangleSoup ball = shapes::sphere(20, 8);
  const auto some = [&] { return static_cast<double>(random() % 2001) / 1000 - 1; };
  for (int trial = 0; trial < 30; ++trial) {
    TriangleSoup gem = ball;
    for (Vec3& p : gem.vertices) p += 2.5 * Vec3(some(), some(), some());
    const std::size_t first = random() % gem.triangles.size();
    std::size_t second = first;
    for (std::size_t u = 0; u < gem.triangles.size(); ++u) {
      int common = 0;
      for (const Index a : gem.triangles[first])
        for (const Index b : gem.triangles[u]) common += a == b;
      if (common == 2) second = u;
    }
    REQUIRE(second != first);
    const double truth = enclosed(piece(gem));
    const Closed c = closed(lacking(gem, {first, second}));
    CHECK(std::abs(c.volume - truth) <= c.doubt * (1 + 1e-9));
    CHECK(c.doubt < 0.05 * truth);
  }
}

TEST_CASE(
    "a side is missing where the others stand steeply on its border, and that is level to a hundredth") {
  // A cone's lid: the wall leans by the angle against it.
  for (const auto& [angle, side] : {std::pair(0.64, false), std::pair(1.2, true)}) {
    const TriangleSoup s = shapes::revolve({{0, 0}, {40, 0}, {40 - 20 / std::tan(angle), 20}}, 64);
    const auto lines = mending::border_lines(piece(s));
    REQUIRE(lines.size() == 1);
    CHECK(mending::is_missing_side(lines[0]) == side);
  }
  for (const auto& [share, side] : {std::pair(0.0075, true), std::pair(0.015, false)}) {
    TriangleSoup s = shapes::revolve({{0, 0}, {40, 0}, {40, 60}}, 64);
    for (Vec3& p : s.vertices)  // a saddle: as far up as down
      if (p.z() > 30) p.z() += share * 80 * (p.x() * p.x() - p.y() * p.y()) / 1600;
    CHECK(mending::is_missing_side(mending::border_lines(piece(s))[0]) == side);
  }
}

TEST_CASE("a hole of very many triangles is not bent but doubted") {
  // A rim of 4000 edges round a shallow dish would take 1.8 million triangles.
  std::vector<shapes::Station> p{{0, -60}, {90, -30}, {100, 0}};
  const TriangleSoup dish = shapes::revolve(p, 4000);
  const Closed c = closed(dish);
  CHECK(std::isfinite(c.volume));
  CHECK(c.doubt > 0);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies that fit, or nearly: the voids that they enclose must stay closed where joints meet at edges and
// corners, and keep their size.
#include "geometry/union/gaps.hpp"

#include <pourwright/solid.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "support/brick_boxes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

struct Found {
  double solid = 0, voids = 0;  ///< mm³: what the outer shell encloses less the voids; the voids
  std::size_t cells = 0;        ///< voids larger than a crumb
  double crumbs = 0;            ///< volume of all smaller ones
};

/// Unites with the gap closed and looks at the shells of the result.
Found unite_and_look(const std::vector<TriangleSoup>& bodies, double gap = 0.1) {
  TriangleSoup soup = joined(bodies);
  weld_in_place(soup.vertices, soup.triangles);
  auto u = unite_shells(bodies_apart(make_surface(std::move(soup))), millimetres(gap));
  REQUIRE(u);
  const Surface& s = u->surface;
  CHECK(s.census.closed());
  CHECK(s.census.oriented());
  std::vector<std::vector<Triangle>> shells(s.census.shells);
  for (std::size_t t = 0; t < s.triangles.size(); ++t) shells[s.shell[t]].push_back(s.triangles[t]);
  Found out;
  for (const auto& shell : shells) {
    const double v = measure(s.vertices, shell, s.box.centre()).volume;
    out.solid += v;
    if (v >= 0) continue;
    if (v < -1) {
      ++out.cells;
      out.voids -= v;
    } else {
      out.crumbs -= v;
    }
  }
  return out;
}

/// 3 × 3 × 3 cells of which two next to each other at an edge are empty: each void sees joints on all sides,
/// and edges and corners at which joints meet.
Bricks two_cells(double gap) {
  return {{0, 8, 20, 33}, {0, 9, 21, 30}, {0, 7, 18, 26}, {{1, 1, 1}}, gap};
}

}  // namespace

TEST_CASE("bricks that fit keep their void closed at any angle, however they are written") {
  const double cell = 12 * 12 * 11, all = 33 * 30 * 26;
  for (const double angle : {0.0, 10.0, 23.0, 45.0})
    for (const Written how : {Written::doubles, Written::single, Written::three_decimals}) {
      CAPTURE(angle);
      CAPTURE(static_cast<int>(how));
      const Found f = unite_and_look(placed(bodies_of(two_cells(0)), angle, how));
      CHECK(f.cells == 1);
      const double allowed = how == Written::three_decimals && angle != 0 ? 1e-3 : 1e-5;
      CHECK(f.voids == doctest::Approx(cell).epsilon(allowed));
      CHECK(f.solid == doctest::Approx(all - cell).epsilon(allowed));
      CHECK(f.crumbs < 1e-3);
    }
}

TEST_CASE("gaps are closed where they cross, at any angle") {
  for (const double gap : {0.01, 0.05, 0.09})
    for (const double angle : {0.0, 31.0}) {
      CAPTURE(gap);
      CAPTURE(angle);
      const Found f = unite_and_look(placed(bodies_of(two_cells(gap)), angle, Written::single));
      CHECK(f.cells == 1);
      // The void reaches to the faces of its bricks; bars along the mouths of the joints take a little.
      const double g = gap, cell = (12 + g) * (12 + g) * (11 + g);
      CHECK(f.voids <= cell * (1 + 1e-5));
      CHECK(f.voids >= cell - 12 * 12 * 4 * g * g - 1e-4 * cell);
      CHECK(f.crumbs < 1e-2);
    }
}

TEST_CASE("a gap wider than the limit stays open") {
  CHECK(unite_and_look(bodies_of(two_cells(0.11))).cells == 0);
  CHECK(unite_and_look(bodies_of(two_cells(0.05)), 0.04).cells == 0);
}

TEST_CASE("L walls round a floor and under a lid: joints meet at the corners of the L") {
  const double g = 0.05;
  const auto l_wall = [&](bool second) {
    // An L as one body: its outline raised.
    const double x = 40, y = 30, w = 5;
    std::vector<Vec3> p{{0, 0, 0}, {x, 0, 0}, {x, w, 0}, {w, w, 0}, {w, y - w - g, 0}, {0, y - w - g, 0}};
    if (second)
      for (Vec3& q : p) q = Vec3(x - q.x(), y - q.y(), 0);
    Builder b;
    const auto at = [&](std::size_t k, double z) { return Vec3(p[k].x(), p[k].y(), z); };
    const double z0 = g, z1 = 20 - g;
    const std::array<Triangle, 4> top{Triangle{0, 1, 2}, Triangle{0, 2, 3}, Triangle{0, 3, 4},
                                      Triangle{0, 4, 5}};
    for (const auto& [i, j, k] : top) {
      b.triangle(at(i, z1), at(j, z1), at(k, z1));
      b.triangle(at(k, z0), at(j, z0), at(i, z0));
    }
    for (std::size_t k = 0; k < 6; ++k) {
      const std::size_t l = (k + 1) % 6;
      b.quad(at(k, z0), at(l, z0), at(l, z1), at(k, z1));
    }
    return b.take();
  };
  const std::vector<TriangleSoup> parts{box({0, 0, -5}, {40, 30, 0}), box({0, 0, 20}, {40, 30, 25}),
                                        l_wall(false), l_wall(true)};
  for (const double angle : {0.0, 17.0, 45.0}) {
    CAPTURE(angle);
    const Found f = unite_and_look(placed(parts, angle, Written::single));
    CHECK(f.cells == 1);
    CHECK(f.voids == doctest::Approx(30 * 20 * 20).epsilon(2e-3));
  }
}

TEST_CASE("a plug of another facet count sits in its ring without a leak") {
  for (const int facets : {24, 37, 72}) {
    CAPTURE(facets);
    // A can: ring of 60 facets, a round floor and a round lid of another count, both of the ring's radius.
    const TriangleSoup ring = revolve({{20, 0}, {26, 0}, {26, 30}, {20, 30}}, 60, true);
    const TriangleSoup floor = revolve({{0, 0}, {20, 0}, {20, 6}, {0, 6}}, facets);
    const TriangleSoup lid = moved(floor, [](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() + 24); });
    // Facets leave gaps of up to the sagitta; the limit is above that.
    const double sagitta = 20 * (1 - std::cos(pi / facets)) + 20 * (1 - std::cos(pi / 60));
    const Found f = unite_and_look(placed({ring, floor, lid}, 11.3, Written::single), 1.2 * sagitta);
    CHECK(f.cells == 1);
    CHECK(f.voids == doctest::Approx(pi * 400 * 18 * polygon_factor(60)).epsilon(2e-3));
  }
}

TEST_CASE("what cannot be closed exactly in reasonable time is left, and said") {
  // Two waves of many facets whose grids do not match.
  const auto wave = [](int n, double z0, bool up) {
    Builder b;
    const auto at = [&](int i, int j) {
      const double x = 40.0 * i / n, y = 40.0 * j / n;
      return Vec3(x, y, z0 + std::sin(x / 3) * std::cos(y / 3));
    };
    const auto deep = [&](const Vec3& p) { return Vec3(p.x(), p.y(), up ? -10 : 10); };
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n; ++j) {
        const Vec3 c[4] = {at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)};
        for (const auto& [p, q, r] : {std::array{c[0], c[1], c[2]}, std::array{c[0], c[2], c[3]}}) {
          up ? b.triangle(p, q, r) : b.triangle(r, q, p);
          up ? b.triangle(deep(r), deep(q), deep(p)) : b.triangle(deep(p), deep(q), deep(r));
        }
      }
    const auto side = [&](const Vec3& p, const Vec3& q) {
      up ? b.quad(q, p, deep(p), deep(q)) : b.quad(p, q, deep(q), deep(p));
    };
    for (int i = 0; i < n; ++i) {
      side(at(i, 0), at(i + 1, 0));
      side(at(i + 1, n), at(i, n));
      side(at(n, i), at(n, i + 1));
      side(at(0, i + 1), at(0, i));
    }
    return b.take();
  };
  TriangleSoup soup = joined({wave(90, 0, true), wave(71, 0.05, false)});
  weld_in_place(soup.vertices, soup.triangles);
  const Surface s = make_surface(soup);
  REQUIRE(s.census.closed());
  REQUIRE(s.census.oriented());
  const auto u = unite_shells(s, millimetres(0.1));
  REQUIRE_FALSE(u);
  CHECK(u.error().code == Code::overlaps_itself);
  CHECK(find_gaps(s, millimetres(0.1)).places > 0);
}

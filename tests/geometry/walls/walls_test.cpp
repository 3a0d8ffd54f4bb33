// SPDX-License-Identifier: GPL-3.0-or-later
// Thin spots, shares of the surface, and what stays the same.
#include <pourwright/walls.hpp>

#include "support/random_solid.hpp"
#include "support/solids.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <Eigen/Geometry>
#include <doctest/doctest.h>

namespace pourwright {
namespace {

Walls walls_of(TriangleSoup soup, double limit = 3, WallsOptions options = {}) {
  auto solid = prove_solid(make_surface(std::move(soup)));
  REQUIRE_MESSAGE(solid, solid.error().text);
  options.limit = millimetres(limit);
  auto w = measure_walls(solid->solid, options);
  REQUIRE_MESSAGE(w, w.error().text);
  return *w;
}

TriangleSoup turned(TriangleSoup soup, std::uint32_t seed) {
  std::mt19937 random(seed);
  const auto u = [&] { return static_cast<double>(random()) / 4294967296.0 - 0.5; };
  const Eigen::Quaterniond q = Eigen::Quaterniond(u(), u(), u(), u()).normalized();
  const Vec3 by(40 * u(), 40 * u(), 40 * u());
  for (Vec3& p : soup.vertices) p = q * p + by;
  return soup;
}

/// A prism over a four-sided outline in x and z, `depth` along y. The outline runs counter-clockwise seen
/// from -y.
TriangleSoup prism(const double (&outline)[4][2], double depth) {
  shapes::Builder b;
  const auto at = [&](int i, double y) { return Vec3(outline[i % 4][0], y, outline[i % 4][1]); };
  b.quad(at(0, 0), at(1, 0), at(2, 0), at(3, 0));
  b.quad(at(3, depth), at(2, depth), at(1, depth), at(0, depth));
  for (int i = 0; i < 4; ++i) b.quad(at(i + 1, 0), at(i, 0), at(i, depth), at(i + 1, depth));
  return b.take();
}

TriangleSoup block(double a, double b, double c) {
  return prism({{0, 0}, {a, 0}, {a, c}, {0, c}}, b);
}

TriangleSoup ball(double r, int n) {
  std::vector<shapes::Station> profile;
  for (int i = 0; i <= n; ++i) {
    const double a = shapes::pi * (static_cast<double>(i) / n - 0.5);
    profile.push_back({i == 0 || i == n ? 0 : r * std::cos(a), r * std::sin(a)});
  }
  return shapes::revolve(profile, 2 * n);
}

}  // namespace

TEST_CASE("what is thin is the share of the surface below the limit") {
  const Walls slab = walls_of(block(100, 80, 4), 5);
  CHECK(slab.thin_share > 0.99);
  CHECK(walls_of(block(100, 80, 4), 3).thin_share == 0);
  REQUIRE(slab.spots.size() == 1);
  CHECK(slab.spots[0].kind == ThinSpot::Kind::plate);
}

TEST_CASE("a thin rod between two thick ends is a neck, a fin on a block is none") {
  // Each end of the rod meets its disc in a ring.
  const TriangleSoup dumbbell =
      shapes::revolve({{0, 0}, {12, 0}, {12, 20}, {2, 20}, {2, 40}, {12, 40}, {12, 60}, {0, 60}}, 64);
  for (std::uint32_t seed = 0; seed < 3; ++seed) {
    CAPTURE(seed);
    const Walls w = walls_of(seed == 0 ? dumbbell : turned(dumbbell, seed), 6);
    REQUIRE(w.spots.size() == 1);
    const ThinSpot& s = w.spots[0];
    CHECK(s.kind == ThinSpot::Kind::neck);
    CHECK(std::abs(in_millimetres(s.thickness) / 4 - 1) < 0.02);
    CHECK(std::abs(in_millimetres(s.span) / 20 - 1) < 0.1);
  }
  const TriangleSoup post = shapes::revolve({{0, 0}, {12, 0}, {12, 20}, {2, 20}, {2, 40}, {0, 40}}, 64);
  const Walls one_end = walls_of(post, 6);
  REQUIRE(one_end.spots.size() == 1);
  CHECK(one_end.spots[0].kind == ThinSpot::Kind::tip);
}

TEST_CASE(
    "blades that stand on a body are fins, the wall round a tray is a lip, however few places are measured") {
  // Eight blades of 2.4, 10 high and 6 apart, on a block.
  std::vector<double> x{0};
  for (int i = 0; i < 8; ++i) x.insert(x.end(), {6 + 8.4 * i, 8.4 + 8.4 * i});
  x.push_back(74);
  const TriangleSoup comb =
      shapes::bricks(x, {0, 45}, {0, 15, 25}, [](int i, int, int k) { return k == 0 || i % 2 == 1; });
  // 2.4 thick and 20 high on a floor of 12.
  const TriangleSoup tray = shapes::bricks({0, 2.4, 67.6, 70}, {0, 2.4, 47.6, 50}, {0, 12, 32},
                                           [](int i, int j, int k) { return k == 0 || i != 1 || j != 1; });
  for (const std::size_t samples : {1'000U, 12'000U})
    for (std::uint32_t seed = 0; seed < 2; ++seed) {
      CAPTURE(samples);
      CAPTURE(seed);
      const auto spots = [&](const TriangleSoup& soup) {
        WallsOptions options;
        options.samples = samples;
        return walls_of(seed == 0 ? soup : turned(soup, seed), 3, options).spots;
      };
      const auto blades = spots(comb);
      CHECK(blades.size() == 8);
      for (const ThinSpot& s : blades) {
        CHECK(s.kind == ThinSpot::Kind::fin);
        CHECK(std::abs(in_millimetres(s.thickness) - 2.4) < 0.01);
        CHECK(std::abs(in_millimetres(s.reach) - 10) < 1.5);
      }
      const auto rim = spots(tray);
      REQUIRE(rim.size() == 1);
      CHECK(rim[0].kind == ThinSpot::Kind::lip);
      CHECK(std::abs(in_millimetres(rim[0].reach) - 20) < 2);
    }
}

TEST_CASE("letters lower than half their stroke are no walls, one as high as its stroke is a fin") {
  const auto letters = [](double high) {
    return shapes::bricks({0, 10, 12, 20, 22, 40}, {0, 10, 20, 30}, {0, 20, 20 + high},
                          [](int i, int j, int k) { return k == 0 || (i % 2 == 1 && j == 1); });
  };
  for (std::uint32_t seed = 0; seed < 2; ++seed) {
    CAPTURE(seed);
    for (const double high : {0.3, 0.5, 0.8}) {
      CAPTURE(high);
      const Walls w = walls_of(seed == 0 ? letters(high) : turned(letters(high), seed));
      CHECK(in_millimetres(w.min) == doctest::Approx(20).epsilon(0.02));
      CHECK(w.spots.empty());
    }
    const Walls w = walls_of(seed == 0 ? letters(2) : turned(letters(2), seed));
    CHECK(in_millimetres(w.min) == doctest::Approx(2).epsilon(0.02));
    REQUIRE(w.spots.size() == 2);
    CHECK(w.spots[0].kind == ThinSpot::Kind::fin);
  }
}

TEST_CASE("what rounded ridges borrow does not depend on their facets") {
  // A ring about 40 thick with ridges whose tops are rounded with about 4: most places lie on one of them.
  const auto bumpy = [](int around, int across) {
    TriangleSoup ring;
    const auto index = [&](int i, int j) { return static_cast<Index>(i % around * across + j % across); };
    for (int i = 0; i < around; ++i)
      for (int j = 0; j < across; ++j) {
        const double u = 2 * shapes::pi * i / around, v = 2 * shapes::pi * j / across;
        const double r = 20 + 1.5 * std::sin(7 * u) * std::cos(3 * v) + 0.6 * std::sin(23 * u + 11 * v);
        const double out = 60 + r * std::cos(v);
        ring.vertices.emplace_back(out * std::cos(u), out * std::sin(u), r * std::sin(v));
        ring.triangles.push_back({index(i, j), index(i + 1, j), index(i + 1, j + 1)});
        ring.triangles.push_back({index(i, j), index(i + 1, j + 1), index(i, j + 1)});
      }
    return ring;
  };
  WallsOptions options;
  options.samples = 4000;
  for (const int across : {50, 80, 120}) {
    CAPTURE(across);
    const Walls w = walls_of(bumpy(2 * across, across), 3, options);
    CHECK(std::abs(in_millimetres(w.min) - 32) < 1.5);
    CHECK(std::abs(in_millimetres(w.median) - 38.3) < 1);
  }
}

TEST_CASE("the histogram holds every place once") {
  const Walls slab = walls_of(block(100, 80, 4)),
              tapered = walls_of(prism({{0, -1}, {60, -4}, {60, 4}, {0, 1}}, 40));
  for (const Walls* w : {&slab, &tapered}) {
    double sum = 0;
    for (const double share : w->histogram.share) sum += share;
    CHECK(sum == doctest::Approx(1));
  }
  // All of a slab lies in one bin, half-way up to twice the median.
  CHECK(*std::max_element(slab.histogram.share.begin(), slab.histogram.share.end()) > 0.99);
  CHECK(in_millimetres(slab.histogram.step) == doctest::Approx(0.4));
}

TEST_CASE("the same body gives the same bits") {
  const TriangleSoup soup = turned(ball(9, 20), 7);
  const Walls a = walls_of(soup), b = walls_of(soup);
  CHECK(in_millimetres(a.min) == in_millimetres(b.min));
  CHECK(in_millimetres(a.median) == in_millimetres(b.median));
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

}  // namespace pourwright

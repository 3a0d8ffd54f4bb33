// SPDX-License-Identifier: GPL-3.0-or-later
// Molds that a maker would name, each with its closed form: a siphon in the wall, basins that communicate, a
// rim that is a saddle, many dimples, twisted undercuts, a slit that columns cannot see, a noisy scan with
// folds.
#include <pourwright/cavity.hpp>

#include "support/shapes.hpp"
#include "support/solids.hpp"
#include "support/voxels.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

/// A square cup, 20 wide inside and 4 more outside, whose corners stand at four heights; floor at 0.
TriangleSoup corner_cup(const std::array<double, 4>& height) {
  const auto at = [](double half, int k, double z) {
    const double x[4] = {-1, 1, 1, -1}, y[4] = {-1, -1, 1, 1};
    return Vec3(half * x[k % 4], half * y[k % 4], z);
  };
  const auto h = [&](int k) { return height[static_cast<std::size_t>(k % 4)]; };
  Builder b;
  for (int k = 0; k < 4; ++k) {
    b.quad(at(12, k, -3), at(12, k + 1, -3), at(12, k + 1, h(k + 1)), at(12, k, h(k)));
    b.quad(at(12, k, h(k)), at(12, k + 1, h(k + 1)), at(10, k + 1, h(k + 1)), at(10, k, h(k)));
    b.quad(at(10, k, h(k)), at(10, k + 1, h(k + 1)), at(10, k + 1, 0), at(10, k, 0));
    b.triangle(at(10, k, 0), at(10, k + 1, 0), Vec3(0, 0, 0));
    b.triangle(at(12, k + 1, -3), at(12, k, -3), Vec3(0, 0, -3));
  }
  return b.take();
}

/// A star of five points that turns by a right angle on its way up while it widens and narrows, in a round
/// block; and the room inside, closed by a lid.
struct Twisted {
  TriangleSoup mold, room;
};
Twisted twisted_star(double waist, double mouth) {
  constexpr int n = 40, layers = 20;
  const auto inner = [&](int k, int layer) {
    const double t = static_cast<double>(layer) / layers;
    const double scale = t < 0.5 ? 1 + (waist - 1) * 2 * t : waist + (mouth - waist) * (2 * t - 1);
    const double a = 2 * pi * k / n;
    const double r = scale * (10 + 2.5 * std::cos(5 * a)), turn = pi / 2 * t;
    return Vec3(r * std::cos(a + turn), r * std::sin(a + turn), 30 * t);
  };
  Twisted out;
  Builder mold, room;
  const auto both = [&](const Vec3& p, const Vec3& q, const Vec3& r) {
    mold.triangle(p, q, r);
    room.triangle(p, r, q);
  };
  for (int k = 0; k < n; ++k) {
    for (int layer = 0; layer < layers; ++layer) {
      const Vec3 p = inner(k, layer), q = inner((k + 1) % n, layer), r = inner((k + 1) % n, layer + 1),
                 s = inner(k, layer + 1);
      both(p, r, q);
      both(p, s, r);
    }
    both(Vec3(0, 0, 0), inner(k, 0), inner((k + 1) % n, 0));
    room.triangle(Vec3(0, 0, 30), inner(k, layers), inner((k + 1) % n, layers));
    // A quarter turn later on the rim: ten places on.
    const Vec3 o = on_circle(28, 30, k + 10, n), p = on_circle(28, 30, k + 11, n);
    mold.quad(inner(k, layers), o, p, inner((k + 1) % n, layers));
    const Vec3 u = on_circle(28, -5, k + 10, n), v = on_circle(28, -5, k + 11, n);
    mold.quad(u, v, p, o);
    mold.triangle(Vec3(0, 0, -5), v, u);
  }
  return {mold.take(), room.take()};
}

/// A box cup of bricks with a slit 0.002 mm wide through its +x wall from z = 10 to the rim at 40; 40 × 40
/// inside, floor at 5.
TriangleSoup slit_cup() {
  return bricks({0, 5, 45, 50}, {0, 5, 24.999, 25.001, 45, 50}, {0, 5, 10, 40}, [](int i, int j, int k) {
    return (i != 1 || j == 0 || j == 4 || k == 0) && !(i == 2 && j == 2 && k == 2);
  });
}

}  // namespace

TEST_CASE("a siphon in the wall: it holds up to the crest of the channel, the channel's own arm included") {
  voxels::Grid g(9, 5, 10);
  g.fill(0, 9, 0, 5, 0, 10);
  g.fill(1, 6, 1, 4, 2, 10, false);  // the cavity, floor at 2
  g.fill(6, 7, 2, 3, 2, 3, false);   // in at the floor
  g.fill(7, 8, 2, 3, 2, 7, false);   // up inside the wall
  g.fill(8, 9, 2, 3, 6, 7, false);   // out at 6
  const Cavities c = every_cavity(solid_of(voxels::soup_of(g)));
  REQUIRE(c.list().size() == 1);
  CHECK(in_millimetres(c.at(1).brim) == 6);
  CHECK(capacity_of(c.at(1)) == doctest::Approx(15 * 4 + 1 * 1 + 4).epsilon(1e-13));
}

TEST_CASE("basins that communicate through a tunnel fill as one to the lower rim") {
  voxels::Grid g(10, 5, 10);
  g.fill(0, 10, 0, 5, 0, 10);
  g.fill(1, 4, 1, 4, 2, 10, false);
  g.fill(6, 9, 1, 4, 2, 10, false);
  g.fill(4, 6, 2, 3, 3, 4, false);    // the tunnel, its floor at 3
  g.fill(6, 10, 1, 4, 8, 10, false);  // the second basin's wall ends at 8
  CavityOptions o;
  o.look_further = false;
  const auto r = find_cavities(solid_of(voxels::soup_of(g)), o);
  REQUIRE(r.has_value());
  const auto& list = r->cavities.list();
  REQUIRE(list.size() == 3);
  for (int i = 0; i < 2; ++i) {
    CHECK(capacity_of(list[static_cast<std::size_t>(i)]) == doctest::Approx(9).epsilon(1e-13));
    CHECK(in_millimetres(list[static_cast<std::size_t>(i)].brim) == 3);
    CHECK_FALSE(list[static_cast<std::size_t>(i)].filled);
  }
  CHECK(list[2].kind == CavityKind::pool);
  CHECK(in_millimetres(list[2].brim) == 8);
  CHECK(list[2].filled);
  CHECK(capacity_of(list[2]) == doctest::Approx(2 * 9 * 6 + 2).epsilon(1e-13));
}

TEST_CASE("a rim that is a saddle spills at the lower pair of its corners") {
  for (const std::array<double, 4>& h :
       {std::array<double, 4>{20, 30, 20, 30}, {30, 22, 35, 24}, {20, 20, 26, 31}, {25, 25, 25, 25}}) {
    const Cavities c = every_cavity(solid_of(corner_cup(h)));
    REQUIRE(c.list().size() == 1);
    const double low = *std::min_element(h.begin(), h.end());
    CHECK(in_millimetres(c.at(1).brim) == low);
    CHECK(capacity_of(c.at(1)) == doctest::Approx(400 * low).epsilon(1e-13));
  }
}

TEST_CASE("sixty-four dimples") {
  const std::vector<Station> inner{{18, 30}, {15, 8}, {0, 8}};
  const double one = polygon_factor(24) * frusta({{15, 8}, {18, 30}});
  const Cavities c = every_cavity(solid_of(cavity_block(8, 8, 25, 30, 0, inner, 24)));
  REQUIRE(c.list().size() == 64);
  for (const Cavity& k : c.list()) {
    CHECK(k.filled);
    CHECK(in_millimetres(k.brim) == 30);
    CHECK(capacity_of(k) == doctest::Approx(one).epsilon(1e-12));
  }
}

TEST_CASE("thousands of dimples, each below a thousandth of the whole, flush and under a raised rim") {
  const std::vector<Station> inner{{18, 30}, {15, 8}, {0, 8}};
  const double one = polygon_factor(8) * frusta({{15, 8}, {18, 30}});
  const Cavities flush = clean_cavities(solid_of(cavity_block(40, 30, 25, 30, 0, inner, 8)));
  REQUIRE(flush.list().size() == 1200);
  for (const Cavity& k : flush.list()) {
    CHECK(k.filled);
    CHECK(capacity_of(k) == doctest::Approx(one).epsilon(1e-12));
  }
  const Cavities rimmed = clean_cavities(solid_of(cavity_block(40, 30, 25, 30, 0, inner, 8, 6, 2)));
  REQUIRE(rimmed.list().size() == 1201);
  CHECK(std::count_if(rimmed.list().begin(), rimmed.list().end(), [](const Cavity& k) { return k.filled; }) ==
        1200);
  CHECK(capacity_of(rimmed.list().back()) == doctest::Approx(1200 * one + 2000.0 * 1500 * 2).epsilon(1e-12));
}

TEST_CASE("twisted undercut cavities") {
  for (const auto& [waist, mouth] : {std::pair(1.3, 0.7), std::pair(0.6, 1.2), std::pair(1.5, 0.5)}) {
    const Twisted t = twisted_star(waist, mouth);
    const double room = measure(t.room.vertices, t.room.triangles, Vec3(0, 0, 15)).volume;
    const Cavities c = every_cavity(solid_of(t.mold));
    REQUIRE(!c.list().empty());
    const Cavity& whole = c.list().back();
    CHECK(whole.parent == 0);
    CHECK(in_millimetres(whole.brim) == 30);
    CHECK(capacity_of(whole) == doctest::Approx(room).epsilon(1e-12));
  }
}

TEST_CASE("a slit too narrow for columns: the surface decides, the interval holds both, and it is said") {
  const auto r = find_cavities(solid_of(slit_cup()));
  REQUIRE(r.has_value());
  REQUIRE(r->cavities.list().size() == 1);
  const Cavity& c = r->cavities.at(1);
  CHECK(in_millimetres(c.brim) == 10);
  CHECK(capacity_of(c) == doctest::Approx(1600 * 5).epsilon(1e-12));
  CHECK(in_cubic_millimetres(c.capacity.high) == doctest::Approx(1600.0 * 35).epsilon(0.01));
  const Note* told = nullptr;
  for (const Note& n : r->notes)
    if (n.code == "columns-disagree") told = &n;
  REQUIRE(told != nullptr);
  CHECK(told->warning);
}

TEST_CASE("a noisy scan with folds does not leak") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 90);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  const int n = 180;
  const double truth = polygon_factor(n) * frusta(std::vector<Station>(inner.rbegin(), inner.rend()));
  std::size_t folds = 0;
  for (std::uint32_t seed = 1; seed <= 6; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0, 0.05);
    TriangleSoup scan = revolve(inner, n);
    // Towards the axis triangles are smaller than the noise, and fold.
    for (Vec3& v : scan.vertices) v += Vec3(noise(random), noise(random), noise(random));
    auto taken = take_open_surface(make_surface(std::move(scan)), Vec3::UnitZ());
    REQUIRE(taken.has_value());
    const auto r = find_cavities(taken->surface);
    REQUIRE(r.has_value());
    double held = 0;
    for (const Cavity& c : r->cavities.list())
      if (c.filled) held += capacity_of(c);
    CHECK(held == doctest::Approx(truth).epsilon(0.01));
    for (const Note& note : r->notes) folds += note.code == "folds" ? 1 : 0;
  }
  CHECK(folds > 0);
}

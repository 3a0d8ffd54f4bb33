// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/repair.hpp>
#include <pourwright/solid.hpp>
#include <pourwright/union.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "support/corruption.hpp"
#include "support/shapes.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

double volume_of_soup(const TriangleSoup& s) {
  return measure(s.vertices, s.triangles, bounds(s).centre()).volume;
}

United unite(std::vector<TriangleSoup> parts, Length gap = {}) {
  TriangleSoup soup = joined(parts);
  weld_in_place(soup.vertices, soup.triangles);
  auto u = unite_shells(make_surface(std::move(soup)), gap);
  REQUIRE(u);
  CHECK(u->surface.census.closed());
  CHECK(u->surface.census.oriented());
  const auto proven = prove_solid(u->surface);
  CHECK(proven);
  return std::move(*u);
}
double united(std::vector<TriangleSoup> parts) {
  return in_cubic_millimetres(unite(std::move(parts)).volume);
}

/// A ∩ B from unions alone: what is left of a box when the rest of the box round A and round B are united.
double common(const TriangleSoup& a, const TriangleSoup& b) {
  Box all = bounds(a);
  all.add(bounds(b).low);
  all.add(bounds(b).high);
  const Vec3 margin = Vec3::Constant(1);
  const TriangleSoup room = box(all.low - margin, all.high + margin);
  return volume_of_soup(room) - united({room, turned(a), room, turned(b)});
}

TriangleSoup shifted(const TriangleSoup& s, const Vec3& by) {
  return moved(s, [by](const Vec3& p) { return Vec3(p + by); });
}

}  // namespace

TEST_CASE("boxes that overlap, share a face, an edge, a corner") {
  const TriangleSoup a = box({0, 0, 0}, {10, 10, 10});
  CHECK(united({a, box({5, 5, 5}, {15, 15, 15})}) == doctest::Approx(1875).epsilon(1e-12));
  CHECK(united({a, box({10, 0, 0}, {20, 10, 10})}) == doctest::Approx(2000).epsilon(1e-12));
  CHECK(united({a, box({10, 2, 3}, {20, 8, 7})}) == doctest::Approx(1240).epsilon(1e-12));
  CHECK(united({a, box({5, 0, 0}, {15, 10, 10})}) == doctest::Approx(1500).epsilon(1e-12));
  CHECK(united({a, a}) == doctest::Approx(1000).epsilon(1e-12));
  CHECK(united({a, box({2, 2, 2}, {8, 8, 8})}) == doctest::Approx(1000).epsilon(1e-12));
  // These two touch and share no material; what is left touches along an edge and at a point.
  CHECK(united({a, box({10, 10, 0}, {20, 20, 10})}) == doctest::Approx(2000).epsilon(1e-12));
  CHECK(united({a, box({10, 10, 10}, {20, 20, 20})}) == doctest::Approx(2000).epsilon(1e-12));
}

TEST_CASE("a pillar that pierces a floor, and one that stands on it") {
  const TriangleSoup floor = box({-30, -30, 0}, {30, 30, 4});
  const TriangleSoup pillar = revolve({{0, 0}, {5, 0}, {5, 20}, {0, 20}}, 32);
  const double area = pi * 25 * polygon_factor(32);
  CHECK(united({floor, shifted(pillar, {0, 0, -8})}) == doctest::Approx(14400 + area * 16).epsilon(1e-12));
  CHECK(united({floor, shifted(pillar, {0, 0, 4})}) == doctest::Approx(14400 + area * 20).epsilon(1e-12));
  CHECK(united({floor, shifted(pillar, {0, 0, -16})}) == doctest::Approx(14400 + area * 16).epsilon(1e-12));
}

TEST_CASE("two halves of a mold that meet in their parting plane") {
  const std::vector<Station> cup{{0, 0}, {25, 0}, {25, 40}, {21, 40}, {21, 4}, {0, 4}};
  const TriangleSoup whole = revolve(cup, 64);
  // Half a cup: the same surface for y ≥ 0, closed by its section.
  const auto half = [&](double side) {
    Builder b;
    for (const Triangle& t : whole.triangles) {
      const Vec3 &p = whole.vertices[t[0]], &q = whole.vertices[t[1]], &r = whole.vertices[t[2]];
      if (side * (p.y() + q.y() + r.y()) > 0) b.triangle(p, q, r);
    }
    const auto section = [&](double x0, double z0, double x1, double z1) {
      const Vec3 c[4] = {{x0, 0, z0}, {x1, 0, z0}, {x1, 0, z1}, {x0, 0, z1}};
      if (side > 0)
        b.quad(c[0], c[1], c[2], c[3]);
      else
        b.quad(c[3], c[2], c[1], c[0]);
    };
    section(-25, 0, -21, 4);
    section(-21, 0, 0, 4);
    section(0, 0, 21, 4);
    section(21, 0, 25, 4);
    section(-25, 4, -21, 40);
    section(21, 4, 25, 40);
    return b.take();
  };
  // The sections' grid does not match the shells' borders point for point: mending splits those.
  const auto closed = [&](double side) {
    auto r = repair(make_surface(half(side)), {{CloseHoles::Which::all, {}}, Vec3::UnitZ(), true, false});
    REQUIRE(r);
    REQUIRE(r->surface.census.closed());
    return TriangleSoup{r->surface.vertices, r->surface.triangles};
  };
  const United u = unite({closed(1), closed(-1)});
  CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(volume_of_soup(whole)).epsilon(1e-9));
  CHECK(u.surface.census.shells == 1);
}

TEST_CASE("voids stay, inverted bodies are turned") {
  const TriangleSoup shell = joined({box({0, 0, 0}, {20, 20, 20}), turned(box({5, 5, 5}, {15, 15, 15}))});
  CHECK(united({shell, box({18, 0, 0}, {30, 20, 20})}) == doctest::Approx(8000 - 1000 + 4000).epsilon(1e-12));
  // A body that reaches into the void fills part of it.
  CHECK(united({shell, box({10, 8, 8}, {30, 12, 12})}) ==
        doctest::Approx(7000 + 10 * 16 + 5 * 16).epsilon(1e-12));
  const United u = unite({box({0, 0, 0}, {10, 10, 10}), turned(box({5, 0, 0}, {15, 10, 10}))});
  CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(1500).epsilon(1e-12));
  CHECK(u.turned == 1);
  CHECK(united({turned(box({0, 0, 0}, {10, 10, 10})), turned(box({5, 0, 0}, {15, 10, 10}))}) ==
        doctest::Approx(1500).epsilon(1e-12));
}

TEST_CASE("inclusion and exclusion: balls and crossed cylinders") {
  const TriangleSoup ball = sphere(20, 40), other = shifted(sphere(15, 36), {17.3, 4.1, 2.7});
  const double both = common(ball, other);
  CHECK(united({ball, other}) ==
        doctest::Approx(volume_of_soup(ball) + volume_of_soup(other) - both).epsilon(1e-11));
  // The smooth lens: V = π (R+r−d)² (d² + 2dr − 3r² + 2dR + 6rR − 3R²) / 12d, common practice; facets take
  // some off.
  const double d = Vec3(17.3, 4.1, 2.7).norm(), big = 20, small = 15;
  const double lens =
      pi * std::pow(big + small - d, 2) *
      (d * d + 2 * d * small - 3 * small * small + 2 * d * big + 6 * small * big - 3 * big * big) / (12 * d);
  CHECK(both < lens);
  CHECK(both == doctest::Approx(lens).epsilon(0.03));

  // Two cylinders that cross at right angles share 16 r³ / 3 (Archimedes, The Method).
  const TriangleSoup upright = shifted(revolve({{0, 0}, {10, 0}, {10, 40}, {0, 40}}, 60), {0, 0, -20});
  const TriangleSoup lying = moved(upright, [](const Vec3& p) { return Vec3(p.z(), p.x(), p.y()); });
  const double steinmetz = common(upright, lying);
  CHECK(steinmetz == doctest::Approx(16 * 1000 / 3.0).epsilon(0.006));
  CHECK(united({upright, lying}) ==
        doctest::Approx(volume_of_soup(upright) + volume_of_soup(lying) - steinmetz).epsilon(1e-11));

  // Three at right angles share (16 − 8√2) r³, common practice: A ∩ B ∩ C is what all pairs and all three
  // leave.
  const TriangleSoup across = moved(upright, [](const Vec3& p) { return Vec3(p.y(), p.z(), p.x()); });
  const double pairs = steinmetz + common(lying, across) + common(across, upright);
  const double all = united({upright, lying, across}) - 3 * volume_of_soup(upright) + pairs;
  CHECK(all == doctest::Approx((16 - 8 * std::sqrt(2.0)) * 1000).epsilon(0.008));
}

TEST_CASE("many bodies turned at random: the order does not matter, and inclusion and exclusion hold") {
  corruption::Vandal v(11);
  for (int round = 0; round < 6; ++round) {
    std::vector<TriangleSoup> parts;
    for (int k = 0; k < 3; ++k) {
      const Vec3 axis = v.direction(), at = 4 * v.direction();
      const Eigen::Matrix3d turn = Eigen::AngleAxisd(v.uniform(0, 3), axis).toRotationMatrix();
      parts.push_back(
          moved(box({-6, -5, -4}, {6, 5, 4}), [=](const Vec3& p) { return Vec3(turn * p + at); }));
    }
    const double abc = united(parts), cba = united({parts[2], parts[1], parts[0]});
    CHECK(abc == doctest::Approx(cba).epsilon(1e-12));
    CHECK(united({parts[0], parts[1]}) ==
          doctest::Approx(960 + 960 - common(parts[0], parts[1])).epsilon(1e-11));
    CHECK(abc <= united({parts[0], parts[1]}) + 960);
    CHECK(abc >= united({parts[0], parts[1]}) * (1 - 1e-12));
  }
}

TEST_CASE("a parting gap is closed only when asked") {
  const TriangleSoup a = box({0, 0, 0}, {20, 20, 10}), b = box({0, 0, 10.05}, {20, 20, 20});
  CHECK(unite({a, b}).surface.census.shells == 2);
  const United u = unite({a, b}, millimetres(0.1));
  CHECK(u.surface.census.shells == 1);
  CHECK(u.gaps > 0);
  CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(8000).epsilon(1e-6));
  CHECK(in_cubic_millimetres(u.gap_volume) == doctest::Approx(20 * 20 * 0.05).epsilon(0.1));
}

TEST_CASE("what passes through itself in bundles is left to columns, and they keep their word" *
          doctest::test_suite("long")) {
  // Few facets are united, many are not: their cuts cross each other about as often as the cube of their
  // number.
  const TriangleSoup few = spindle(20, 30, 30, 8);
  const auto united_few = unite_shells(make_surface(few));
  REQUIRE(united_few);
  const Interval<Volume> sampled = volume_by_columns(make_surface(few));
  CHECK(sampled.low <= united_few->volume);
  CHECK(united_few->volume <= sampled.high);

  const Surface many = make_surface(spindle(20, 30, 96, 160));
  const auto united_many = unite_shells(many);
  REQUIRE_FALSE(united_many);
  CHECK(united_many.error().code == Code::overlaps_itself);
  const Interval<Volume> v = volume_by_columns(many);
  CHECK(in_cubic_millimetres(v.value) == doctest::Approx(spindle_volume(20, 30)).epsilon(2e-3));
  CHECK((v.high - v.low) / v.value < 0.01);
}

TEST_CASE("columns bound the same volumes") {
  const TriangleSoup soup = joined({sphere(20, 40), shifted(sphere(15, 36), {17.3, 4.1, 2.7})});
  const Surface s = make_surface(soup);
  const double exact = in_cubic_millimetres(unite_shells(s)->volume);
  const Interval<Volume> v = volume_by_columns(s);
  CHECK(in_cubic_millimetres(v.low) <= exact);
  CHECK(in_cubic_millimetres(v.high) >= exact);
  CHECK((v.high - v.low) / v.value < 0.01);
}

namespace {

/// Of a closed surface whose vertices are all manifold: handles, each a channel through the body.
long handles(const Surface& s) {
  std::vector<bool> used(s.vertices.size());
  for (const Triangle& t : s.triangles)
    for (const Index v : t) used[v] = true;
  const long v = std::count(used.begin(), used.end(), true), t = static_cast<long>(s.triangles.size());
  return static_cast<long>(s.census.shells) - (v - t / 2) / 2;
}

}  // namespace

TEST_CASE("where gaps cross no channel stays") {
  // A floor and a wall of four parts, all a gap apart: the slits between the walls end in the one below them.
  for (const double gap : {0.01, 0.05, 0.09}) {
    CAPTURE(gap);
    const United u = unite(
        {box({0, 0, 0}, {60, 40, 5}), box({0, 0, 5 + gap}, {5, 40, 25}), box({55, 0, 5 + gap}, {60, 40, 25}),
         box({5 + gap, 0, 5 + gap}, {55 - gap, 5, 25}), box({5 + gap, 35, 5 + gap}, {55 - gap, 40, 25})},
        millimetres(0.1));
    CHECK(u.surface.census.shells == 1);
    CHECK(handles(u.surface) == 0);
    CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(60 * 40 * 25 - 50 * 30 * 20).epsilon(1e-3));
  }
}

TEST_CASE("many faces that only rounding keeps apart are joined") {
  // Bricks of a wall, turned and written in single precision.
  const Eigen::Matrix3d turn = Eigen::AngleAxisd(0.4, Vec3::UnitZ()).toRotationMatrix();
  std::vector<TriangleSoup> parts;
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 2; ++j)
      for (int k = 0; k < 2; ++k)
        parts.push_back(moved(box({10.0 * i, 8.0 * j, 6.0 * k}, {10.0 * i + 10, 8.0 * j + 8, 6.0 * k + 6}),
                              [&](const Vec3& p) {
                                const Vec3 q = turn * p;
                                return Vec3(Eigen::Vector3f(q.cast<float>()).cast<double>());
                              }));
  const United u = unite(parts, millimetres(0.1));
  CHECK(u.surface.census.shells == 1);
  CHECK(handles(u.surface) == 0);
  CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(40 * 16 * 12).epsilon(1e-4));
}

TEST_CASE("only closed surfaces that face one way are united") {
  TriangleSoup open = box({0, 0, 0}, {10, 10, 10});
  open.triangles.pop_back();
  const auto u = unite_shells(make_surface(open));
  REQUIRE_FALSE(u);
  CHECK(u.error().code == Code::not_closed);
}

TEST_CASE("a gap that is closed is counted, and what it adds is the gap") {
  for (const double width : {0.02, 0.05, 0.08}) {
    CAPTURE(width);
    // A lid in a rebate: a gap on the ledge and one on each side, which meet in creases.
    const TriangleSoup cup = bricks({0, 5, 10, 40, 45, 50}, {0, 50}, {0, 20, 30},
                                    [](int i, int, int k) { return k == 0 || i == 0 || i == 4; });
    const United u = unite({cup, box({5 + width, 0, 20 + width}, {45 - width, 50, 30})}, millimetres(0.1));
    CHECK(u.surface.census.shells == 1);
    CHECK(u.gaps >= 3);
    CHECK(in_millimetres(u.widest) == doctest::Approx(width).epsilon(1e-9));
    CHECK(in_cubic_millimetres(u.volume) == doctest::Approx(50 * 50 * 30).epsilon(2e-5));
    // Each plate covers what both faces cover; the squares at the creases are in none.
    CHECK(in_cubic_millimetres(u.gap_volume) ==
          doctest::Approx(50 * width * ((40 - 2 * width) + 2 * (10 - width))).epsilon(1e-6));
  }
}

TEST_CASE("gaps are found without being closed") {
  const Surface s = make_surface(joined({box({0, 0, 0}, {20, 20, 10}), box({0, 0, 10.05}, {20, 20, 20})}));
  const GapFound near = find_gaps(s, millimetres(0.1)), far = find_gaps(s, millimetres(0.04));
  CHECK(near.places == 1);
  CHECK(in_cubic_millimetres(near.volume) == doctest::Approx(20));
  CHECK(in_millimetres(near.widest) == doctest::Approx(0.05));
  CHECK(far.places == 0);
}

TEST_CASE("round bodies that fit nearly are moved onto each other") {
  // A plug in a ring, 0.05 mm narrower all round: too many faces for plates.
  constexpr int facets = 120;
  const TriangleSoup ring = revolve({{20, 0}, {30, 0}, {30, 10}, {20, 10}}, facets, true),
                     plug = revolve({{0, 0}, {19.95, 0}, {19.95, 10}, {0, 10}}, facets);
  const United u = unite({ring, plug}, millimetres(0.1));
  CHECK(u.surface.census.shells == 1);
  CHECK(in_cubic_millimetres(u.volume) ==
        doctest::Approx(pi * 900 * 10 * polygon_factor(facets)).epsilon(1e-3));
  CHECK(in_millimetres(u.widest) == doctest::Approx(0.1));
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Which border is a rim. Each share is tried a quarter below and a half above: halved or doubled it would
// fail.
#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;
using shapes::revolve;

namespace {

bool has_rim(const TriangleSoup& s) {
  Workpiece w = piece(s);
  return mending::close_borders(w, {}).rim_kept;
}

/// A scan of a vessel's inside: from the rim down to the floor, seen from the liquid.
TriangleSoup scan(const std::vector<shapes::Station>& outer) {
  return shapes::turned(revolve(outer, 48));
}

}  // namespace

TEST_CASE("a low-poly body that lacks a triangle has no rim") {
  for (const Vec3& size : {Vec3(100, 80, 3), Vec3(200, 4, 4), Vec3(60, 40, 30), Vec3(5, 5, 90)})
    for (std::size_t t = 0; t < 12; ++t) {
      CAPTURE(t);
      CHECK_FALSE(has_rim(lacking(box(Vec3::Zero(), size), {t})));
    }
}

TEST_CASE("a border goes on when more than a fifth of it has the surface beyond it in its own plane") {
  // A box of whose top a sixth is left, at one end: 0.15 and 0.3 of the border lie along it.
  for (const auto& [width, rim] : {std::pair(43.0, true), std::pair(150.0, false)}) {
    CAPTURE(width);
    CHECK(has_rim(shapes::joined({lacking(box({0, 0, 0}, {100, width, 40}), {2, 3, 10, 11}),
                                  lacking(box({100, 0, 0}, {120, width, 40}), {8, 9})})) == rim);
  }
}

TEST_CASE("a rim spans half of the width and depth") {
  for (const auto& [radius, rim] : {std::pair(37.5, false), std::pair(75.0, true)}) {
    CAPTURE(radius);
    CHECK(has_rim(scan({{0, 0}, {100, 0}, {100, 40}, {radius, 60}})) == rim);
  }
}

TEST_CASE("a rim covers a quarter of width times depth") {
  // A rim as a plus sign: it spans everything and covers little. Walls stand on its outline, a floor closes
  // it below.
  for (const auto& [arm, rim] : {std::pair(10.0, false), std::pair(21.0, true)}) {
    CAPTURE(arm);
    const double a = arm, l = 100;  // covers (4·2a·(l − a) + 4a²) of 4l²
    const std::vector<Vec3> p{{l, -a, 0}, {l, a, 0},   {a, a, 0},   {a, l, 0},   {-a, l, 0}, {-a, a, 0},
                              {-l, a, 0}, {-l, -a, 0}, {-a, -a, 0}, {-a, -l, 0}, {a, -l, 0}, {a, -a, 0}};
    shapes::Builder b;
    for (std::size_t k = 0; k < p.size(); ++k) {
      const Vec3 q = p[(k + 1) % p.size()], up(0, 0, 50);
      b.quad(q, p[k], p[k] + up, q + up);  // seen from inside
      b.triangle(Vec3(0, 0, 0), p[k], q);
    }
    CHECK(has_rim(b.take()) == rim);
  }
}

TEST_CASE("the surface hangs from a rim") {
  const TriangleSoup bowl = scan({{0, 0}, {40, 0}, {50, 40}});
  CHECK(has_rim(bowl));
  CHECK_FALSE(has_rim(shapes::moved(bowl, [](const Vec3& p) { return Vec3(p.x(), -p.y(), -p.z()); })));
}

TEST_CASE("the ring between two borders in one plane is closed as one") {
  TriangleSoup cup = revolve({{0, 0}, {50, 0}, {50, 40}, {49, 40}, {49, 2}, {0, 2}}, 4);
  const double truth = enclosed(piece(cup));
  std::erase_if(cup.triangles, [&](const Triangle& t) {
    return std::all_of(t.begin(), t.end(), [&](Index v) { return cup.vertices[v].z() == 40; });
  });
  // The inner border rises: level to a thousandth of the extent, 98 mm, it is a ring.
  for (const auto& [share, ring] :
       {std::pair(0.0, true), std::pair(0.75e-3, true), std::pair(1.5e-3, false)}) {
    CAPTURE(share);
    TriangleSoup s = cup;
    for (Vec3& p : s.vertices)
      if (p.z() == 40 && p.head<2>().norm() < 49.5) p.z() += share * 100;
    Workpiece w = piece(s);
    mending::close_borders(w, {});
    CHECK((count(w, Mending::missing_sides) == 1) == ring);
    if (share == 0) CHECK(enclosed(w) == doctest::Approx(truth));
  }
}

TEST_CASE("between two outlines of one circle no rim is uncertain by more than they are apart") {
  // A block's top with a round hole of 32 edges, a bore of 90 below it: lenses of some hundredths of a
  // millimetre lack between them, 50 mm wide. What they may hold over them is no height of the rim.
  constexpr double r = 25;
  const auto on_circle = [](int k, int n, double z) {
    const double a = 2 * shapes::pi * k / n;
    return Vec3(r * std::cos(a), r * std::sin(a), z);
  };
  const auto on_square = [](const Vec3& p) {
    const double s = 40 / std::max(std::abs(p.x()), std::abs(p.y()));
    return Vec3(p.x() * s, p.y() * s, p.z());
  };
  shapes::Builder b;
  for (int k = 0; k < 32; ++k) {
    const Vec3 p = on_circle(k, 32, 30), q = on_circle(k + 1, 32, 30), u = on_square(p), v = on_square(q);
    const Vec3 down(0, 0, -30);
    b.quad(p, u, v, q);
    b.quad(u, u + down, v + down, v);
    b.triangle(Vec3(0, 0, 0), v + down, u + down);
  }
  for (int k = 0; k < 90; ++k) {
    const Vec3 p = on_circle(k, 90, 30), q = on_circle(k + 1, 90, 30), down(0, 0, -22);
    b.quad(p, q, q + down, p + down);
    b.triangle(Vec3(0, 0, 8), p + down, q + down);
  }
  RepairOptions options;
  options.may_have_rim = true;
  const auto repaired = repair(make_surface(b.take()), options);
  REQUIRE(repaired);
  CHECK(repaired->surface.census.closed());
  CHECK_FALSE(repaired->patches.empty());
  for (const Patched& p : repaired->patches) CHECK(in_millimetres(p.level) < 0.2);
}

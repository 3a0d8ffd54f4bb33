// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/repair.hpp>
#include <pourwright/solid.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "support/corruption.hpp"
#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

Surface surface_of(TriangleSoup soup) {
  weld_in_place(soup.vertices, soup.triangles);
  return make_surface(std::move(soup));
}

Repaired repaired(TriangleSoup soup, const RepairOptions& options = {}) {
  auto r = repair(surface_of(std::move(soup)), options);
  REQUIRE(r);
  return std::move(*r);
}

double volume(const Surface& s) {
  return measure(s.vertices, s.triangles, s.box.centre()).volume;
}

const RepairStep* step(const Repaired& r, std::string_view code) {
  for (const RepairStep& s : r.steps)
    if (s.code == code) return &s;
  return nullptr;
}

bool whole(const Surface& s) {
  return s.census.closed() && s.census.oriented();
}

/// 12 × 4ᵏ triangles on a box.
TriangleSoup fine_box() {
  return corruption::subdivided(box({0, 0, 0}, {40, 30, 20}), 3000);
}
constexpr double box_volume = 24000;

template <class Gone>
TriangleSoup without(TriangleSoup s, Gone gone) {
  std::erase_if(s.triangles, [&](const Triangle& t) {
    return gone(Vec3((s.vertices[t[0]] + s.vertices[t[1]] + s.vertices[t[2]]) / 3));
  });
  return s;
}

/// The liquid side of a bowl: a half sphere of radius 40 that hangs from its rim.
TriangleSoup bowl_scan(int n = 64) {
  std::vector<Station> p;
  for (int k = 0; k <= 24; ++k) {
    const double a = pi / 2 * k / 24;
    p.push_back({k == 0 ? 0 : 40 * std::sin(a), -40 * std::cos(a)});
  }
  return turned(revolve(p, n));
}

}  // namespace

TEST_CASE("a healthy surface comes back as it is") {
  const Surface s = surface_of(fine_box());
  auto r = repair(s);
  REQUIRE(r);
  CHECK_FALSE(r->changed);
  CHECK(r->steps.empty());
  CHECK(r->surface.vertices == s.vertices);
  CHECK(r->surface.triangles == s.triangles);
  CHECK(r->doubt == Volume());
}

TEST_CASE("a body that is there twice, corner for corner, is one") {
  const TriangleSoup ball = sphere(20, 16);
  const double once = volume(surface_of(ball));
  for (const int times : {2, 3}) {
    TriangleSoup many;
    for (int k = 0; k < times; ++k) many = joined({many, ball});
    const Repaired r = repaired(many);
    REQUIRE(step(r, "doubled-faces") != nullptr);
    CHECK(step(r, "doubled-faces")->count == ball.triangles.size() * static_cast<std::size_t>(times - 1));
    CHECK(whole(r.surface));
    CHECK(volume(r.surface) == doctest::Approx(once).epsilon(1e-12));
  }
  // Only one of two bodies.
  const Repaired beside = repaired(joined({ball, box({100, 0, 0}, {110, 10, 10}), ball}));
  CHECK(beside.surface.census.shells == 2);
  CHECK(volume(beside.surface) == doctest::Approx(once + 1000).epsilon(1e-12));
  // A face that two boxes share faces both ways: nothing is there twice.
  const TriangleSoup boxes = joined({box({0, 0, 0}, {10, 10, 10}), box({10, 0, 0}, {20, 10, 10})});
  const Repaired touching = repaired(boxes);
  CHECK_FALSE(touching.changed);
  CHECK(touching.surface.triangles.size() == boxes.triangles.size());
}

TEST_CASE("nothing to mend is an error") {
  CHECK_FALSE(repair(Surface{}));
}

TEST_CASE("doubled faces are dropped, whichever way they face") {
  TriangleSoup s = fine_box();
  for (std::size_t t = 0; t < 90; ++t) {
    Triangle copy = s.triangles[7 * t];
    if (t % 2 == 0) std::swap(copy[1], copy[2]);
    s.triangles.push_back(copy);
  }
  const Repaired r = repaired(std::move(s));
  REQUIRE(whole(r.surface));
  CHECK(volume(r.surface) == doctest::Approx(box_volume).epsilon(1e-12));
  REQUIRE(step(r, "doubled-faces"));
  CHECK(step(r, "doubled-faces")->count == 90);
}

TEST_CASE("flipped faces follow their neighbours") {
  for (const double share : {0.01, 0.2, 0.45}) {
    TriangleSoup s = fine_box();
    corruption::Vandal(3).flip(s, share);
    const Repaired r = repaired(std::move(s));
    REQUIRE(whole(r.surface));
    CHECK(std::abs(volume(r.surface)) == doctest::Approx(box_volume).epsilon(1e-12));
    REQUIRE(step(r, "flipped-faces"));
    CHECK(r.doubt == Volume());
  }
}

TEST_CASE("T-junctions are split, several on one edge too") {
  TriangleSoup s = box({0, 0, 0}, {40, 30, 20});
  TriangleSoup fine = corruption::subdivided(s, 700);
  // One face of the box coarse, five fine: each of its edges has seven points on the other side.
  TriangleSoup mixed = without(fine, [](const Vec3& p) { return p.z() > 20 - 1e-9; });
  Builder b;
  b.add(mixed);
  b.quad({0, 0, 20}, {40, 0, 20}, {40, 30, 20}, {0, 30, 20});
  const Repaired r = repaired(b.take());
  REQUIRE(whole(r.surface));
  CHECK(volume(r.surface) == doctest::Approx(box_volume).epsilon(1e-12));
  REQUIRE(step(r, "t-junctions"));
  CHECK(step(r, "holes-closed") == nullptr);
}

TEST_CASE("cracks close at the place that most triangles use") {
  TriangleSoup s = fine_box();
  corruption::Vandal(5).move_corners(s, 0.05, 0.01);
  const Repaired r = repaired(std::move(s));
  REQUIRE(whole(r.surface));
  REQUIRE(step(r, "cracks"));
  CHECK(std::abs(volume(r.surface) - box_volume) <= in_cubic_millimetres(r.doubt) + 1e-6);
  CHECK(volume(r.surface) == doctest::Approx(box_volume).epsilon(1e-5));
}

TEST_CASE("crumbs and floating sheets go, real second bodies stay") {
  TriangleSoup s = joined({fine_box(), box({100, 0, 0}, {104, 4, 4})});
  corruption::Vandal v(7);
  v.add_crumbs(s, 20);
  v.add_sheets(s, 2);
  const Repaired r = repaired(std::move(s));
  REQUIRE(whole(r.surface));
  CHECK(r.surface.census.shells == 2);
  CHECK(volume(r.surface) == doctest::Approx(box_volume + 64).epsilon(1e-12));
  REQUIRE(step(r, "fragments"));
}

TEST_CASE("a sheet that divides a body from inside is dropped") {
  Builder b;
  b.add(box({0, 0, 0}, {10, 10, 10}));
  b.add(box({10, 0, 0}, {20, 10, 10}));  // facing squares of the two coincide
  TriangleSoup s = b.take();
  // One of the coinciding pairs only: three triangles meet along the square's border.
  std::erase_if(s.triangles, [&](const Triangle& t) {
    return s.vertices[t[0]].x() == 10 && s.vertices[t[1]].x() == 10 && s.vertices[t[2]].x() == 10 &&
           (s.vertices[t[1]] - s.vertices[t[0]]).cross(s.vertices[t[2]] - s.vertices[t[0]]).x() < 0;
  });
  const Repaired r = repaired(std::move(s));
  REQUIRE(whole(r.surface));
  CHECK(std::abs(volume(r.surface)) == doctest::Approx(2000).epsilon(1e-12));
  CHECK(step(r, "inner-sheets"));
}

TEST_CASE(
    "whichever two triangles of bodies that share a face are missing, nothing is lost without its doubt") {
  const TriangleSoup stack = joined({box({0, 0, 0}, {40, 30, 5}), box({0, 0, 5}, {40, 30, 25})});
  std::size_t exact = 0, pairs = 0;
  RepairOptions whole_body;
  whole_body.may_have_rim = false;
  for (std::size_t a = 0; a < 24; ++a)
    for (std::size_t b = a; b < 24; ++b) {
      CAPTURE(a);
      CAPTURE(b);
      TriangleSoup s = stack;
      s.triangles.erase(s.triangles.begin() + static_cast<std::ptrdiff_t>(b));
      if (a != b) s.triangles.erase(s.triangles.begin() + static_cast<std::ptrdiff_t>(a));
      const Repaired r = repaired(s, whole_body);
      if (!whole(r.surface)) continue;
      ++pairs;
      const double off = std::abs(std::abs(volume(r.surface)) - 40 * 30 * 25);
      CHECK(off <= in_cubic_millimetres(r.doubt) + 1e-6);
      exact += off < 1e-6;
    }
  CHECK(pairs > 270);
  CHECK(exact > 250);
}

TEST_CASE("holes between flat faces are closed exactly: a side, an edge, a corner") {
  const std::pair<const char*, Vec3> places[] = {
      {"side", {20, 15, 20}}, {"edge", {20, 0, 20}}, {"corner", {40, 30, 20}}};
  for (const auto& [what, at] : places) {
    CAPTURE(what);
    const Vec3 centre = at;
    const Repaired r = repaired(without(fine_box(), [&](const Vec3& p) { return (p - centre).norm() < 6; }));
    REQUIRE(whole(r.surface));
    CHECK(volume(r.surface) == doctest::Approx(box_volume).epsilon(1e-9));
    CHECK(in_cubic_millimetres(r.doubt) < 4e-3 * box_volume);
  }
}

TEST_CASE("a hole in a curved place is closed by a curved surface, and the interval holds the truth") {
  const TriangleSoup ball = sphere(30, 64);
  const double truth = volume(surface_of(ball));
  const Repaired r = repaired(without(ball, [](const Vec3& p) { return p.z() > 27; }));
  REQUIRE(whole(r.surface));
  CHECK(std::abs(volume(r.surface) - truth) <= in_cubic_millimetres(r.doubt));
  CHECK(in_cubic_millimetres(r.doubt) < 0.02 * truth);
  REQUIRE(r.least);
  REQUIRE(r.most);
  CHECK(volume(*r.least) <= volume(*r.most));
}

TEST_CASE("a missing underside is closed flat") {
  const TriangleSoup cup =
      corruption::subdivided(revolve({{0, 0}, {25, 0}, {25, 40}, {21, 40}, {21, 4}, {0, 4}}, 64), 2000);
  const double truth = volume(surface_of(cup));
  const Repaired r = repaired(without(cup, [](const Vec3& p) { return p.z() < 1e-9; }));
  REQUIRE(whole(r.surface));
  CHECK(volume(r.surface) == doctest::Approx(truth).epsilon(1e-9));
}

TEST_CASE("the missing top of a cup's wall is a ring, not two lids") {
  const TriangleSoup cup = revolve({{0, 0}, {25, 0}, {25, 40}, {21, 40}, {21, 4}, {0, 4}}, 64);
  const double truth = volume(surface_of(cup));
  const Repaired r = repaired(without(cup, [](const Vec3& p) { return p.z() > 40 - 1e-9; }));
  REQUIRE(whole(r.surface));
  CHECK(volume(r.surface) == doctest::Approx(truth).epsilon(1e-9));
  CHECK(step(r, "missing-sides"));
}

TEST_CASE("a scan keeps its rim and loses its holes, from small to as large as the rim allows") {
  for (const double radius : {1.5, 4.0, 8.0, 14.0, 20.0}) {
    CAPTURE(radius);
    const TriangleSoup s =
        without(bowl_scan(), [&](const Vec3& p) { return (p - Vec3(0, -15, -37)).norm() < radius; });
    const Repaired r = repaired(s);
    CHECK(r.surface.census.boundary_edges == 64);
    CHECK(step(r, "holes-closed"));
    CHECK(take_open_surface(r.surface, Vec3::UnitZ()));
  }
}

TEST_CASE("what is closed can be chosen") {
  const TriangleSoup s =
      without(bowl_scan(), [](const Vec3& p) { return (p - Vec3(0, -15, -37)).norm() < 8; });
  RepairOptions o;
  o.close_holes = {CloseHoles::Which::all, {}};
  CHECK(whole(repaired(s, o).surface));
  o.close_holes = {CloseHoles::Which::nothing, {}};
  CHECK(repaired(s, o).surface.census.boundary_edges > 64);
  o.close_holes = {CloseHoles::Which::up_to, millimetres(30)};
  CHECK(repaired(s, o).surface.census.boundary_edges == 64);
  o.close_holes = {CloseHoles::Which::up_to, millimetres(5)};
  CHECK(repaired(s, o).surface.census.boundary_edges > 64);
  o.close_holes = {};
  o.may_have_rim = false;
  CHECK(whole(repaired(s, o).surface));
}

TEST_CASE("a bust that was scanned without its underside has no rim") {
  const TriangleSoup bust = without(sphere(30, 48), [](const Vec3& p) { return p.z() < -20; });
  CHECK(whole(repaired(bust).surface));
}

TEST_CASE("an island that lost its top has no rim; a scan has one whichever way it is wound") {
  const std::vector<Station> mold{{0, 0}, {50, 0}, {50, 30}, {46, 30}, {42, 8}, {38, 8}, {36, 26}, {0, 26}};
  const TriangleSoup island =
      without(revolve(mold, 96), [](const Vec3& p) { return p.z() > 25.9 && p.head<2>().norm() < 35.9; });
  CHECK(whole(repaired(island).surface));
  // Of a bowl's inside nothing lies beyond the rim.
  const std::vector<Station> inside{{0, 8}, {42, 8}, {46, 30}, {0, 30}};
  for (const bool inverted : {false, true}) {
    CAPTURE(inverted);
    TriangleSoup bowl = without(revolve(inside, 96), [](const Vec3& p) { return p.z() > 29.9; });
    if (inverted) bowl = turned(bowl);
    CHECK(repaired(bowl).surface.census.boundary_edges == 96);
  }
}

TEST_CASE("the words for which holes to close") {
  CHECK(parse_close_holes("decide")->which == CloseHoles::Which::decide);
  CHECK(parse_close_holes("none")->which == CloseHoles::Which::nothing);
  CHECK(parse_close_holes("all")->which == CloseHoles::Which::all);
  CHECK(in_millimetres(parse_close_holes("up-to 12mm")->size) == 12);
  CHECK(in_millimetres(parse_close_holes("up-to=12mm")->size) == 12);
  CHECK(in_millimetres(parse_close_holes("1.2cm")->size) == doctest::Approx(12));
  CHECK_FALSE(parse_close_holes("up-to12mm"));
  CHECK_FALSE(parse_close_holes("up-to "));
  CHECK_FALSE(parse_close_holes("up-to 0mm"));
  CHECK_FALSE(parse_close_holes("some"));
  CHECK_FALSE(parse_close_holes("-3mm"));
  CHECK_FALSE(parse_close_holes("up-to"));
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Air traps, drains, ceilings, bench tilt, pose, the cast piece and the column check, against closed forms.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/span_grid.hpp"
#include "geometry/mesh/points.hpp"
#include "support/shapes.hpp"
#include "support/solids.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

CavityResult look(const Solid& solid, CavityOptions options = {}) {
  auto r = find_cavities(solid, options);
  REQUIRE(r.has_value());
  return *r;
}

double mm3(Volume v) {
  return in_cubic_millimetres(v);
}

constexpr int sides = 96;
const double roundness = polygon_factor(sides);

TriangleSoup drained(double r, double wall = 35) {
  return revolve({{r, -5}, {wall, -5}, {wall, 40}, {30, 40}, {30, 0}, {r, 0}}, sides, true);
}

TriangleSoup tilted(const TriangleSoup& s, double radians) {
  const Eigen::Matrix3d m = Eigen::AngleAxisd(radians, Vec3::UnitY()).toRotationMatrix();
  return moved(s, [&](const Vec3& p) { return Vec3(m * p); });
}

/// Ball of radius 30 at the origin entered by an axial sprue of radius 5 up to z = 60, in a cylinder.
TriangleSoup ball_with_sprue(int seg) {
  std::vector<Station> p{{0, -40}, {45, -40}, {45, 60}, {5, 60}};
  const double top = std::asin(std::sqrt(900.0 - 25) / 30);
  for (int i = 0; i <= seg; ++i) {
    const double a = top - (top + pi / 2) * i / seg;
    p.push_back({i == 0 ? 5 : i == seg ? 0 : 30 * std::cos(a), 30 * std::sin(a)});
  }
  return revolve(p, 2 * seg);
}

}  // namespace

TEST_CASE("inkwell: air under the roof beside the neck") {
  const Solid solid = solid_of(inkwell(sides));
  const CavityResult r = look(solid);
  REQUIRE(r.cavities.list().size() == 1);
  const Cavity& c = r.cavities.list()[0];
  REQUIRE(c.air_traps.size() == 1);
  const AirTrap& t = c.air_traps[0];
  CHECK(mm3(t.volume) == doctest::Approx(roundness * pi * (900 - 144) * 10).epsilon(1e-12));
  CHECK(in_millimetres(t.lip) == 40);
  CHECK(t.vent[2] == 50);
  REQUIRE(t.vent_length.has_value());
  CHECK(in_millimetres(*t.vent_length) == doctest::Approx(5).epsilon(1e-12));
  CHECK(mm3(c.usable) == doctest::Approx(mm3(c.capacity.value) - mm3(t.volume)).epsilon(1e-12));
  // The roof is the ceiling: everything else stands upright or looks up.
  CHECK(in_square_millimetres(r.ceiling.area) ==
        doctest::Approx(roundness * pi * (900 - 144 + 144 - 100)).epsilon(1e-12));
}

TEST_CASE("ball with an axial sprue has no trap; leaning by 30 degrees it has one") {
  CHECK(look(solid_of(ball_with_sprue(96))).cavities.list().at(0).air_traps.empty());
  const CavityResult r = look(solid_of(tilted(ball_with_sprue(192), pi / 6)));
  REQUIRE(r.cavities.list().size() == 1);
  REQUIRE(r.cavities.list()[0].air_traps.size() == 1);
  // The sprue's edge circle reaches up to sin(30° − asin(r/R)) of the ball's axis side; what lies above is
  // caught.
  const double R = 30, h = R - R * std::cos(pi / 6 - std::asin(5.0 / R));
  CHECK(mm3(r.cavities.list()[0].air_traps[0].volume) ==
        doctest::Approx(pi * h * h * (3 * R - h) / 3).epsilon(2e-2));
}

TEST_CASE("the lean that lets the air out") {
  // A box-like chamber whose roof is open at its +x end only: leaning the other end down frees the air.
  const Solid solid = solid_of(tilted(ball_with_sprue(48), pi / 9));
  CavityOptions o;
  o.find_lean = true;
  const CavityResult r = look(solid, o);
  REQUIRE(r.cavities.list().at(0).air_traps.size() == 1);
  REQUIRE(r.lean.has_value());
  // Leaning back by at least 20° − asin(5/30) frees it; the search goes in steps of 5°.
  CHECK(r.lean->degrees >= 10.0);
  CHECK(r.lean->degrees <= 25.0);
  CHECK_FALSE(look(solid_of(inkwell(sides)), o).lean.has_value());
}

TEST_CASE("an open cup, a pillar and a hanging core catch no air") {
  CHECK(look(solid_of(cavity_block(2, 1, 25, 30, 0, {{18, 30}, {15, 8}, {0, 8}}, 64)))
            .cavities.list()
            .at(0)
            .air_traps.empty());
  CHECK(look(solid_of(revolve({{0, -5}, {45, -5}, {45, 30}, {40, 30}, {40, 0}, {15, 0}, {15, 20}, {0, 20}},
                              sides)))
            .cavities.list()
            .at(0)
            .air_traps.empty());
}

TEST_CASE("drains: throat, place and what it would hold, whichever way it is turned") {
  for (const double r : {0.5, 2.0}) {
    for (const double turn : {0.0, pi}) {
      const Eigen::Matrix3d m = Eigen::AngleAxisd(turn, Vec3::UnitX()).toRotationMatrix();
      const Solid solid = solid_of(moved(drained(r), [&](const Vec3& p) { return Vec3(m * p); }));
      CavityOptions o;
      o.up = m * Vec3::UnitZ();
      const CavityResult found = look(solid, o);
      CHECK(found.cavities.list().empty());
      REQUIRE(found.drains.size() == 1);
      const Drain& d = found.drains[0];
      CHECK(d.kind == DrainKind::bottom);
      CHECK(mm3(d.would_hold) == doctest::Approx(roundness * pi * 900 * 40).epsilon(1e-12));
      CHECK(in_square_millimetres(*d.throat) == doctest::Approx(roundness * pi * r * r).epsilon(1e-9));
      CHECK((m.transpose() * vec3(d.at)).norm() < 1e-9);
    }
  }
}

TEST_CASE("a ring and a pipe are no leaking molds") {
  CHECK(look(solid_of(revolve({{20, 0}, {30, 0}, {30, 10}, {20, 10}}, sides, true))).drains.empty());
  CHECK(look(solid_of(revolve({{20, 0}, {22, 0}, {22, 100}, {20, 100}}, sides, true))).drains.empty());
}

TEST_CASE("a hole in the side lowers the brim and is told") {
  // A box cup with a square hole through its +x wall between z = 20 and z = 24, built of bricks on one grid.
  const TriangleSoup cup =
      bricks({0, 5, 45, 50}, {0, 5, 18, 22, 45, 50}, {0, 5, 20, 24, 40}, [](int i, int j, int k) {
        return (i != 1 || j == 0 || j == 4 || k == 0) && !(i == 2 && j == 2 && k == 2);
      });
  const CavityResult r = look(solid_of(cup));
  REQUIRE(r.cavities.list().size() == 1);
  CHECK(mm3(r.cavities.list()[0].capacity.value) == doctest::Approx(40.0 * 40 * 15).epsilon(1e-12));
  REQUIRE(r.drains.size() == 1);
  CHECK(r.drains[0].kind == DrainKind::side);
  CHECK(mm3(r.drains[0].would_hold) == doctest::Approx(40.0 * 40 * 35).epsilon(1e-9));
  CHECK(in_square_millimetres(*r.drains[0].throat) == doctest::Approx(4.0 * 4).epsilon(1e-9));
}

TEST_CASE("bench tilt: bowl, cone cup and several cavities") {
  CavityOptions o;
  o.tilts = {0.5, 1, 2};
  auto inner = arc(40, 0, 40, 0, -pi / 2, 60);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  std::vector<Station> bowl{{0, -5}, {45, -5}, {45, 40}};
  bowl.insert(bowl.end(), inner.begin(), inner.end());
  const CavityResult r = look(solid_of(revolve(bowl, 240)), o);
  REQUIRE(r.tilt.size() == 3);
  for (const TiltLoss& t : r.tilt) {
    const double h = 40 * (1 - std::sin(t.degrees * pi / 180));  // a ball's cup leaning stays a cap
    CHECK(t.share == doctest::Approx(1 - h * h * (120 - h) / 3 / (2.0 / 3 * 64000)).epsilon(0.02));
  }
  // A prism loses its opening times the rim's lowering: 30·tan(1°) of 50 mm.
  const CavityResult cup =
      look(solid_of(revolve({{0, -5}, {35, -5}, {35, 50}, {30, 50}, {30, 0}, {0, 0}}, 240)), o);
  CHECK(cup.tilt[1].share == doctest::Approx(30 * std::tan(pi / 180) / 50).epsilon(2e-3));
  const CavityResult block =
      look(solid_of(cavity_block(4, 3, 25, 30, 0, {{18, 30}, {15, 8}, {0, 8}}, 64, 6, 10)), o);
  CHECK(block.tilt[1].share > 0.005);
  CHECK(block.tilt[1].share < 0.03);
}

TEST_CASE("the cast piece is closed and has the cavity's volume at any level") {
  const TriangleSoup shapes_to_cast[] = {
      inkwell(sides), cavity_block(2, 2, 25, 30, 0, {{18, 30}, {15, 8}, {0, 8}}, 48, 5, 8),
      revolve({{0, -5}, {45, -5}, {45, 30}, {40, 30}, {40, 0}, {15, 0}, {15, 50}, {0, 50}}, sides),
      tilted(ball_with_sprue(48), 0.3)};
  for (const TriangleSoup& s : shapes_to_cast) {
    const Solid solid = solid_of(s);
    const CavityResult r = look(solid);
    for (const Cavity& c : r.cavities.list())
      for (const double share : {0.31, 0.77, 1.0}) {
        const Length level = share == 1 ? c.brim : c.floor + (c.brim - c.floor) * share;
        const auto piece = cast_piece(solid, r.cavities, c.id, level);
        REQUIRE(piece.has_value());
        const auto proven = prove_solid(make_surface(*piece));
        REQUIRE_MESSAGE(proven.has_value(), (proven ? std::string() : proven.error().text));
        CHECK(mm3(proven->solid.volume().value) ==
              doctest::Approx(mm3(r.cavities.volume_at(c.id, level))).epsilon(1e-9));
      }
  }
}

TEST_CASE("which way is up: six axes, and the rim of a scan lying in any direction") {
  const TriangleSoup cup = revolve({{0, -5}, {35, -5}, {35, 50}, {30, 50}, {30, 0}, {0, 0}}, 48);
  const Vec3 axes[] = {Vec3::UnitX(),  -Vec3::UnitX(), Vec3::UnitY(),
                       -Vec3::UnitY(), -Vec3::UnitZ(), Vec3::UnitZ()};
  for (const Vec3& axis : axes) {
    const Eigen::Quaterniond q = Eigen::Quaterniond::FromTwoVectors(Vec3::UnitZ(), axis);
    const Eigen::Matrix3d m = q.toRotationMatrix().array().round();
    const auto pose = choose_up(solid_of(moved(cup, [&](const Vec3& p) { return Vec3(m * p); })));
    REQUIRE(pose.has_value());
    CHECK((pose->up - axis).norm() < 1e-12);
  }
  auto inner = arc(40, 0, 40, 0, -pi / 2, 30);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  std::mt19937 random(7);
  for (int i = 0; i < 20; ++i) {
    const auto unit = [&] { return static_cast<double>(random()) / 2147483648.0 - 1; };
    const Eigen::Matrix3d m =
        Eigen::Quaterniond(unit(), unit(), unit(), unit()).normalized().toRotationMatrix();
    const Surface scan = make_surface(
        moved(revolve(inner, 60), [&](const Vec3& p) { return Vec3(m * p + Vec3(5, -9, 100)); }));
    const auto pose = rim_up(scan);
    REQUIRE(pose.has_value());
    CHECK((pose->up - m.col(2)).norm() < 1e-9);
  }
}

TEST_CASE("columns agree with the surface, and say so when they do not") {
  const Solid solid = solid_of(inkwell(sides));
  const SpanGrid grid(solid.vertices(), solid.triangles(), solid.box(), false, 300);
  const auto pool = grid.pool_at({0, 0, 1});
  REQUIRE(pool.has_value());
  CHECK(pool->volume ==
        doctest::Approx(roundness * pi * (900 * 40 + 100 * 20 + (900 - 144) * 10)).epsilon(2e-3));
  CHECK(pool->brim == doctest::Approx(60).epsilon(1e-9));

  // A slot 0.02 mm wide through the wall is a leak by the surface and invisible to columns: the numbers
  // differ and the answer carries both.
  Builder b;
  const double xs[] = {0, 5, 45, 50}, ys[] = {0, 5, 24.99, 25.01, 45, 50}, zs[] = {0, 5, 10, 40};
  const auto filled = [](int i, int j, int k) {
    if (i < 0 || j < 0 || k < 0 || i > 2 || j > 4 || k > 2) return false;
    return (i != 1 || j == 0 || j == 4 || k == 0) && !(i == 2 && j == 2 && k >= 1 && k <= 1);
  };
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 5; ++j)
      for (int k = 0; k < 3; ++k) {
        if (!filled(i, j, k)) continue;
        const auto p = [&](int a, int c, int d) { return Vec3(xs[i + a], ys[j + c], zs[k + d]); };
        if (!filled(i, j, k - 1)) b.quad(p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0));
        if (!filled(i, j, k + 1)) b.quad(p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1));
        if (!filled(i, j - 1, k)) b.quad(p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1));
        if (!filled(i, j + 1, k)) b.quad(p(1, 1, 0), p(0, 1, 0), p(0, 1, 1), p(1, 1, 1));
        if (!filled(i - 1, j, k)) b.quad(p(0, 1, 0), p(0, 0, 0), p(0, 0, 1), p(0, 1, 1));
        if (!filled(i + 1, j, k)) b.quad(p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1));
      }
  // The slot opens at z = 5, the floor: by the surface nothing is held.
  const CavityResult r = look(solid_of(b.take()));
  double held = 0;
  for (const Cavity& c : r.cavities.list()) held += mm3(c.capacity.value);
  CHECK(held == 0);
}

TEST_CASE("a noisy scan's interval spans its first spill and its typical rim") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 40);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  std::vector<Station> p{{55, 39}, {52, 40}, {48, 40}, {44, 40}};
  p.insert(p.end(), inner.begin(), inner.end());
  const double truth = polygon_factor(90) * frusta(std::vector<Station>(inner.rbegin(), inner.rend()));
  std::mt19937 random(11);
  const auto noise = [&] {  // sum of twelve uniform numbers: nearly normal
    double s = -6;
    for (int i = 0; i < 12; ++i) s += static_cast<double>(random()) / 4294967296.0;
    return 0.05 * s;
  };
  int inside = 0;
  for (int run = 0; run < 10; ++run) {
    TriangleSoup scan = revolve(p, 90);
    for (Vec3& v : scan.vertices) v += Vec3(noise(), noise(), noise());
    auto taken = take_open_surface(make_surface(scan), Vec3::UnitZ());
    REQUIRE(taken.has_value());
    const auto r = find_cavities(taken->surface);
    REQUIRE(r.has_value());
    const auto& list = r->cavities.list();
    const auto filled = std::find_if(list.begin(), list.end(), [](const Cavity& c) { return c.filled; });
    REQUIRE(filled != list.end());
    CHECK(mm3(filled->capacity.value) == doctest::Approx(truth).epsilon(0.01));
    CHECK(mm3(filled->capacity.low) < truth);
    CHECK(mm3(filled->capacity.high) == doctest::Approx(truth).epsilon(0.004));
    REQUIRE(filled->typical_rim.has_value());
    CHECK(in_millimetres(*filled->typical_rim) == doctest::Approx(40).epsilon(0.0015));
    inside += mm3(filled->capacity.high) >= truth ? 1 : 0;
  }
  CHECK(inside >= 9);
}

TEST_CASE("which way is up: closed molds turned in space, by their faces, their rim and their axis") {
  // A cup, a tray without an axis, and a round-bottomed bowl whose narrow rim is its only plane.
  std::vector<Station> bowl = arc(40, 0, 0, -pi / 2, 0, 24);
  bowl.front().r = 0;
  const auto inner = arc(38, 0, 0, 0, -pi / 2, 24);
  bowl.insert(bowl.end(), inner.begin(), inner.end());
  bowl.back().r = 0;
  const std::vector<TriangleSoup> molds{
      revolve({{0, -5}, {35, -5}, {35, 50}, {30, 50}, {30, 0}, {0, 0}}, 48),
      bricks({0, 3, 60, 63}, {0, 3, 35, 38}, {0, 3, 25},
             [](int i, int j, int k) { return !(i == 1 && j == 1 && k == 1); }),
      revolve(bowl, 61)};
  std::mt19937 random(11);
  for (const TriangleSoup& mold : molds)
    for (int i = 0; i < 4; ++i) {
      const auto unit = [&] { return static_cast<double>(random()) / 2147483648.0 - 1; };
      const Eigen::Matrix3d m =
          Eigen::Quaterniond(unit(), unit(), unit(), unit()).normalized().toRotationMatrix();
      const auto pose =
          choose_up(solid_of(moved(mold, [&](const Vec3& p) { return Vec3(m * p + Vec3(5, -9, 100)); })));
      REQUIRE(pose.has_value());
      CHECK((pose->up - m.col(2)).norm() < 1e-6);
    }
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Capacities against closed forms of the tessellated shape (Pappus: frusta of revolution scaled by the area
// of the regular polygon), exact counts, and invariants.
#include <pourwright/cavity.hpp>

#include "support/shapes.hpp"
#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

Cavities cavities_of(const TriangleSoup& soup, const CavityOptions& options = {}) {
  const Solid solid = solid_of(soup);
  auto r = find_cavities(solid, options);
  REQUIRE(r.has_value());
  for (const Cavity& c : r->cavities.list()) CHECK(c.residual < 1e-12);
  return r->cavities;
}

double mm3(const Cavity& c) {
  return in_cubic_millimetres(c.capacity.value);
}
double brim(const Cavity& c) {
  return in_millimetres(c.brim);
}

int count(const Cavities& c, CavityKind kind) {
  int n = 0;
  for (const Cavity& k : c.list()) n += k.kind == kind ? 1 : 0;
  return n;
}

void check_single(const TriangleSoup& soup, double capacity, double brim_z, double rel = 1e-12) {
  const Cavities c = cavities_of(soup);
  REQUIRE(c.list().size() == 1);
  CHECK(c.list()[0].kind == CavityKind::open);
  CHECK(c.list()[0].filled);
  CHECK(mm3(c.list()[0]) == doctest::Approx(capacity).epsilon(rel));
  CHECK(brim(c.list()[0]) == doctest::Approx(brim_z).epsilon(1e-14));
  CHECK(in_cubic_millimetres(c.list()[0].capacity.low) <= capacity * (1 + rel));
  CHECK(in_cubic_millimetres(c.list()[0].capacity.high) >= capacity * (1 - rel));
}

constexpr int n = 180;
const double f = polygon_factor(n);

/// Cup around an inner profile given from the rim down to the axis.
TriangleSoup cup(const std::vector<Station>& inner, double wall, double below, int segments = n) {
  std::vector<Station> p;
  double outer = 0, low = inner[0].z;
  for (const Station& s : inner) {
    outer = std::max(outer, s.r);
    low = std::min(low, s.z);
  }
  outer += wall;
  low -= below;
  p.push_back({0, low});
  p.push_back({outer, low});
  p.push_back({outer, inner[0].z});
  p.insert(p.end(), inner.begin(), inner.end());
  return revolve(p, segments);
}

std::vector<Station> upward(std::vector<Station> p) {
  std::reverse(p.begin(), p.end());
  return p;
}

Eigen::Matrix3d rotation(const Vec3& axis, double radians) {
  return Eigen::AngleAxisd(radians, axis.normalized()).toRotationMatrix();
}

}  // namespace

TEST_CASE("bowl of half a ball") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 90);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  check_single(cup(inner, 5, 5), f * frusta(upward(inner)), 40);
  CHECK(f * frusta(upward(inner)) == doctest::Approx(2.0 / 3 * pi * 64000).epsilon(1e-3));
}

TEST_CASE("cone cup 20/30 × 60") {
  check_single(cup({{30, 60}, {20, 0}, {0, 0}}, 5, 5), f * pi * 60 / 3 * (400 + 600 + 900), 60);
}

TEST_CASE("half torus channel with a centre at the brim") {
  // Ring channel R 30, r 15: the middle post is as high as the outer wall.
  auto channel = arc(15, 30, 15, 0, -pi, 60);
  channel.front() = {45, 15};
  channel.back() = {15, 15};
  std::vector<Station> p{{0, -5}, {50, -5}, {50, 15}};
  p.insert(p.end(), channel.begin(), channel.end());
  p.push_back({0, 15});
  auto section = channel;
  std::reverse(section.begin(), section.end());  // from the inner edge outwards
  double smooth = 0;  // Pappus on the polygonal section, by its frusta: outer minus inner
  smooth = frusta(upward(std::vector<Station>(channel.begin(), channel.begin() + 31))) -
           frusta(std::vector<Station>(channel.begin() + 30, channel.end()));
  check_single(revolve(p, n), f * smooth, 15, 1e-11);
  CHECK(f * smooth == doctest::Approx(pi * pi * 30 * 225).epsilon(2e-3));
}

TEST_CASE("pillar below the brim") {
  check_single(cup({{40, 30}, {40, 0}, {15, 0}, {15, 20}, {0, 20}}, 5, 5), f * pi * (1600 * 30 - 225 * 20),
               30);
}

TEST_CASE("pillar above the brim") {
  check_single(cup({{40, 30}, {40, 0}, {15, 0}, {15, 50}, {0, 50}}, 5, 5), f * pi * (1600 - 225) * 30, 30);
}

TEST_CASE("stepped cup") {
  check_single(cup({{40, 35}, {40, 25}, {25, 25}, {25, 10}, {10, 10}, {10, 0}, {0, 0}}, 5, 5),
               f * pi * (1600 * 10 + 625 * 15 + 100 * 10), 35);
}

TEST_CASE("nested rims: two cavities and the pool they join") {
  // A cup of radius 20 (wall to 25) inside a ring up to radius 35, the outer wall 10 higher than the inner.
  const TriangleSoup s =
      cup({{40, 30}, {40, 20}, {35, 20}, {35, 5}, {25, 5}, {25, 20}, {20, 20}, {20, 0}, {0, 0}}, 5, 5);
  const Cavities c = cavities_of(s);
  REQUIRE(c.list().size() == 3);
  CHECK(count(c, CavityKind::open) == 2);
  const Cavity& pool = c.list()[2];
  CHECK(pool.kind == CavityKind::pool);
  CHECK(pool.parent == 0);
  CHECK(mm3(pool) == doctest::Approx(f * pi * (400 * 20 + 600 * 15 + 1600 * 10)).epsilon(1e-12));
  CHECK(brim(pool) == 30);
  double inner = 0;
  for (int i = 0; i < 2; ++i) {
    CHECK(c.list()[static_cast<std::size_t>(i)].parent == 3);
    CHECK(brim(c.list()[static_cast<std::size_t>(i)]) == 20);
    inner += mm3(c.list()[static_cast<std::size_t>(i)]);
  }
  CHECK(inner == doctest::Approx(f * pi * (400 * 20 + 600 * 15)).epsilon(1e-12));
}

TEST_CASE("what is shallower than asked is floor detail") {
  // One 20 deep and one 15 deep under an outer rim at 30.
  const TriangleSoup s =
      cup({{40, 30}, {40, 20}, {35, 20}, {35, 5}, {25, 5}, {25, 20}, {20, 20}, {20, 0}, {0, 0}}, 5, 5);
  CavityOptions options;
  options.least_depth = millimetres(14);
  CHECK(cavities_of(s, options).list().size() == 3);
  options.least_depth = millimetres(16);
  const Cavities c = cavities_of(s, options);
  REQUIRE(c.list().size() == 1);
  CHECK(c.list()[0].kind == CavityKind::open);
  CHECK(brim(c.list()[0]) == 30);
  CHECK(mm3(c.list()[0]) == doctest::Approx(f * pi * (400 * 20 + 600 * 15 + 1600 * 10)).epsilon(1e-12));
  options.least_depth = millimetres(31);
  CHECK(cavities_of(s, options).list().empty());
}

TEST_CASE("tilted cup spills at the lowest rim point") {
  const double tilt = pi / 18;
  const TriangleSoup up = cup({{30, 50}, {30, 0}, {0, 0}}, 4, 4);
  const Eigen::Matrix3d r = rotation(Vec3::UnitY(), tilt);
  const Cavities c = cavities_of(moved(up, [&](const Vec3& p) { return Vec3(r * p); }));
  REQUIRE(c.list().size() == 1);
  CHECK(mm3(c.list()[0]) == doctest::Approx(f * pi * 900 * (50 - 30 * std::tan(tilt))).epsilon(1e-12));
}

TEST_CASE("twelve cavities under a raised rim, flush, and two cups") {
  const std::vector<Station> inner{{18, 30}, {15, 8}, {0, 8}};
  const int seg = 64;
  const double one = polygon_factor(seg) * frusta(upward(inner));
  {
    const Cavities c = cavities_of(cavity_block(4, 3, 25, 30, 0, inner, seg, 6, 10));
    REQUIRE(c.list().size() == 13);
    CHECK(count(c, CavityKind::open) == 12);
    CHECK(count(c, CavityKind::pool) == 1);
    CHECK(mm3(c.list()[12]) == doctest::Approx(12 * one + 200.0 * 150 * 10).epsilon(1e-12));
    for (int i = 0; i < 12; ++i) {
      CHECK(mm3(c.list()[static_cast<std::size_t>(i)]) == doctest::Approx(one).epsilon(1e-12));
      CHECK(brim(c.list()[static_cast<std::size_t>(i)]) == 30);
    }
  }
  {
    const Cavities c = cavities_of(cavity_block(4, 3, 25, 30, 0, inner, seg));
    REQUIRE(c.list().size() == 12);
    CHECK(count(c, CavityKind::open) == 12);
    for (const Cavity& k : c.list()) CHECK(k.filled);
  }
  CHECK(cavities_of(cavity_block(2, 1, 25, 30, 0, inner, seg)).list().size() == 2);
}

TEST_CASE("floating ball in a cup is not liquid") {
  const TriangleSoup s = joined({cup({{40, 60}, {40, 0}, {0, 0}}, 5, 5), sphere(15, 96, {0, 0, 30})});
  const double ball = measure(sphere(15, 96).vertices, sphere(15, 96).triangles, Vec3::Zero()).volume;
  check_single(s, f * pi * 1600 * 60 - ball, 60);
}

TEST_CASE("a body half a micrometre above the floor, also far from the origin") {
  const TriangleSoup s = joined({cup({{40, 60}, {40, 0}, {0, 0}}, 5, 5), box({-5, -5, 5e-4}, {5, 5, 20})});
  const double expected = f * pi * 1600 * 60 - 100 * (20 - 5e-4);
  check_single(s, expected, 60);
  // Coordinates near 3e4 carry 4e-12 mm; the brim is 2e4 + 60 exactly.
  const Vec3 offset(1e4, -3e4, 2e4);
  check_single(moved(s, [&](const Vec3& p) { return Vec3(p + offset); }), expected, 2e4 + 60, 1e-10);
}

TEST_CASE("inkwell: the neck reaches below the roof") {
  // Body radius 30 from 0 to 50 with a roof at 50; a neck (wall 10..12) hangs down to 40 and rises to 60.
  const std::vector<Station> p{{0, -5},  {35, -5}, {35, 55}, {12, 55}, {12, 60}, {10, 60},
                               {10, 40}, {12, 40}, {12, 50}, {30, 50}, {30, 0},  {0, 0}};
  const Cavities c = cavities_of(revolve(p, n));
  REQUIRE(c.list().size() == 1);
  CHECK(brim(c.list()[0]) == 60);
  // Everything under the brim, the air under the roof included: traps are told apart elsewhere.
  CHECK(mm3(c.list()[0]) ==
        doctest::Approx(f * pi * (900 * 40 + 100 * 20 + (900 - 144) * 10)).epsilon(1e-12));
}

TEST_CASE("sealed ball inside a block, and inside a cup's wall") {
  const TriangleSoup ball = turned(sphere(10, 64, {0, 0, 20}));
  const double v = measure(ball.vertices, ball.triangles, Vec3(0, 0, 20)).volume;
  const Cavities c = cavities_of(joined({box({-20, -20, 0}, {20, 20, 40}), ball}));
  REQUIRE(c.list().size() == 1);
  CHECK(c.list()[0].kind == CavityKind::sealed);
  CHECK_FALSE(c.list()[0].filled);
  CHECK(mm3(c.list()[0]) == doctest::Approx(-v).epsilon(1e-12));

  const Cavities d =
      cavities_of(joined({cup({{40, 60}, {40, 0}, {0, 0}}, 30, 5), turned(sphere(8, 32, {55, 0, 30}))}));
  REQUIRE(d.list().size() == 2);
  CHECK(d.list()[0].kind == CavityKind::open);
  CHECK(d.list()[1].kind == CavityKind::sealed);
}

TEST_CASE("a drain one millimetre wide empties the cup") {
  const std::vector<Station> p{{0.5, -5}, {35, -5}, {35, 40}, {30, 40}, {30, 0}, {0.5, 0}};
  CHECK(cavities_of(revolve(p, n, true)).list().empty());
}

TEST_CASE("open scan of half a ball, with and without a flange") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 90);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  for (const bool flange : {false, true}) {
    std::vector<Station> p = inner;
    if (flange) p.insert(p.begin(), {{60, 38}, {55, 40}});
    auto taken = take_open_surface(make_surface(revolve(p, n)), Vec3::UnitZ());
    REQUIRE_MESSAGE(taken.has_value(), (taken ? std::string() : taken.error().text));
    const auto r = find_cavities(taken->surface);
    REQUIRE(r.has_value());
    REQUIRE(r->cavities.list().size() == 1);
    CHECK(mm3(r->cavities.list()[0]) == doctest::Approx(f * frusta(upward(inner))).epsilon(1e-12));
    CHECK(brim(r->cavities.list()[0]) == 40);
  }
}

TEST_CASE("levels: volume at a level, level for a volume, and the four ways to ask") {
  const Cavities c = cavities_of(cup({{30, 60}, {20, 0}, {0, 0}}, 5, 5));
  const auto cone = [](double h) {
    const double r = 20 + h / 6;
    return f * pi * h / 3 * (400 + 20 * r + r * r);
  };
  for (const double h : {0.5, 10.0, 33.3, 59.0}) {
    CHECK(in_cubic_millimetres(c.volume_at(1, millimetres(h))) == doctest::Approx(cone(h)).epsilon(1e-12));
    CHECK(in_millimetres(c.level_for(1, cubic_millimetres(cone(h)))) == doctest::Approx(h).epsilon(1e-12));
    CHECK(in_square_millimetres(c.surface_at(1, millimetres(h))) ==
          doctest::Approx(f * pi * std::pow(20 + h / 6, 2)).epsilon(1e-12));
  }
  const auto filled = [&](std::string_view text) {
    const auto level = parse_fill_level(text);
    REQUIRE(level.has_value());
    const auto v = c.fill(1, *level);
    REQUIRE(v.has_value());
    return in_cubic_millimetres(v->value);
  };
  CHECK(filled("brim") == doctest::Approx(cone(60)).epsilon(1e-12));
  CHECK(filled("-2mm") == doctest::Approx(cone(58)).epsilon(1e-12));
  CHECK(filled("35mm") == doctest::Approx(cone(35)).epsilon(1e-12));
  CHECK(filled("80%") == doctest::Approx(0.8 * cone(60)).epsilon(1e-12));
  CHECK_FALSE(c.fill(1, *parse_fill_level("61mm")).has_value());
  CHECK_FALSE(c.fill(1, *parse_fill_level("-60mm")).has_value());
  CHECK_FALSE(parse_fill_level("lots").has_value());
  CHECK_FALSE(parse_fill_level("120%").has_value());
}

TEST_CASE("a cup that floats in a cup is filled with it; one that stands in it is a cavity of its own") {
  const auto vessel = [](double z) {
    return moved(revolve({{0, 0}, {12, 0}, {12, 20}, {10, 20}, {10, 2}, {0, 2}}, n),
                 [z](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() + z); });
  };
  const TriangleSoup outer = cup({{30, 40}, {30, 0}, {0, 0}}, 3, 4);
  const double body = pi * f * (144 * 20 - 100 * 18), whole = pi * f * 900 * 40 - body;
  const Cavities floating = cavities_of(joined({outer, vessel(5)}));
  double filled = 0;
  int filled_count = 0;
  for (const Cavity& c : floating.list())
    if (c.filled) {
      filled += mm3(c);
      ++filled_count;
    }
  CHECK(filled_count == 1);
  CHECK(filled == doctest::Approx(whole).epsilon(1e-12));
  // Held above the outer brim by as little, its rim is a deck of its own.
  const Cavities risen = cavities_of(joined({outer, vessel(21)}));
  for (const Cavity& c : risen.list())
    if (c.parent == 0 && c.kind == CavityKind::open) CHECK(c.filled);
  // The override is followed.
  CavityOptions brims;
  brims.fill_to.kind = FillTo::Kind::brims;
  double each = 0;
  const Cavities apart = cavities_of(joined({outer, vessel(5)}), brims);
  for (const Cavity& c : apart.list())
    if (c.filled) each += mm3(c);
  CHECK(each == doctest::Approx(pi * f * 900 * 25 - body).epsilon(1e-12));
}

TEST_CASE("a mold a two-thousandth of another's size is told, a dent in a small body is not") {
  const TriangleSoup large = cup({{30, 40}, {30, 0}, {0, 0}}, 3, 4);
  const auto beside = [](double depth) {
    return moved(revolve({{0, 0}, {3, 0}, {3, 4}, {2, 4}, {2, 4 - depth}, {0, 4 - depth}}, n),
                 [](const Vec3& p) { return Vec3(p.x() + 60, p.y(), p.z()); });
  };
  for (const auto& [depth, told] : {std::pair(3.0, true), std::pair(0.3, false)}) {
    CAPTURE(depth);
    const auto r = find_cavities(solid_of(joined({large, beside(depth)})));
    REQUIRE(r.has_value());
    CHECK(r->cavities.list().size() == 1);
    CHECK(std::any_of(r->notes.begin(), r->notes.end(),
                      [](const Note& note) { return note.code == "small-mold" && note.warning; }) == told);
  }
}

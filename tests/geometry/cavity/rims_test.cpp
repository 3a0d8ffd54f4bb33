// SPDX-License-Identifier: GPL-3.0-or-later
// The rim of a scan: bites out of a level one, and what is no bite.
#include <pourwright/cavity.hpp>

#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

/// The inside of a round tub of radius 30 and depth 40, in rings of 1 mm, with its wall missing down to
/// `bottom` over `parts` of 96 parts of the round; drafted outwards by `draft` in all.
TriangleSoup bitten_tub(double bottom, int parts, double draft = 0) {
  std::vector<Station> p;
  for (int z = 40; z >= 0; --z) p.push_back({30 + draft * z / 40, static_cast<double>(z)});
  p.push_back({0, 0});
  TriangleSoup s = revolve(p, 96);
  const double half = 2 * pi / 96 * parts / 2;
  std::erase_if(s.triangles, [&](const Triangle& t) {
    const Vec3 m = (s.vertices[t[0]] + s.vertices[t[1]] + s.vertices[t[2]]) / 3;
    return m.z() > bottom && std::abs(std::atan2(m.y(), m.x())) < half;
  });
  return s;
}

CavityResult look_of_rims(const TriangleSoup& s, const Vec3& up = Vec3::UnitZ()) {
  Builder used;  // leaves out vertices that no triangle uses
  used.add(s);
  auto taken = take_open_surface(make_surface(used.take()), up);
  REQUIRE_MESSAGE(taken.has_value(), (taken ? std::string() : taken.error().text));
  CavityOptions o;
  o.up = up;
  auto r = find_cavities(taken->surface, o);
  REQUIRE(r.has_value());
  return *r;
}

double mm3_of_rims(Volume v) {
  return in_cubic_millimetres(v);
}

const double floor_area = polygon_factor(96) * pi * 900;

}  // namespace

TEST_CASE("a bite out of a level rim: where it spills, and what the tub would hold without it") {
  for (const double bottom : {10.0, 31.0, 38.0}) {
    CAPTURE(bottom);
    const CavityResult r = look_of_rims(bitten_tub(bottom, 8));
    REQUIRE(r.cavities.list().size() == 1);
    CHECK(mm3_of_rims(r.cavities.at(1).capacity.value) ==
          doctest::Approx(floor_area * bottom).epsilon(1e-12));
    REQUIRE(r.bites.size() == 1);
    const Bite& b = r.bites[0];
    CHECK(b.cavity == 1);
    CHECK(in_millimetres(b.spills) == bottom);
    CHECK(in_millimetres(b.rim) == doctest::Approx(40).epsilon(1e-12));
    CHECK(b.at.z() == bottom);
    CHECK(b.at.x() > 25);
    CHECK(std::abs(b.at.y()) < 30 * std::sin(2 * pi / 96 * 4) + 1e-9);
    CHECK(mm3_of_rims(b.would_hold) == doctest::Approx(floor_area * 40).epsilon(1e-12));
  }
}

TEST_CASE(
    "without a bite the missing wall counts as upright: drafted walls come out to what is missing there") {
  // Drafted by 4 mm over the height, of which the bite takes the upper 20 mm of a twelfth of the round.
  const TriangleSoup whole = bitten_tub(40, 8, 4);
  const CavityResult full = look_of_rims(whole), r = look_of_rims(bitten_tub(20, 8, 4));
  CHECK(full.bites.empty());
  REQUIRE(r.bites.size() == 1);
  const double truth = mm3_of_rims(full.cavities.at(1).capacity.value),
               held = mm3_of_rims(r.bites[0].would_hold);
  CHECK(held < truth);
  // What lies outside the upright wall: 2 mm at the top, none at the bottom, over that part of the round.
  CHECK(truth - held == doctest::Approx(20 * (2 * pi * 33 * 8 / 96) * 1).epsilon(0.1));
}

TEST_CASE("turned, scaled and moved, a bite stays the same bite") {
  const TriangleSoup s = bitten_tub(31, 8);
  for (std::uint32_t seed = 1; seed <= 5; ++seed)
    for (const double k : {1e-3, 1.0, 1e3}) {
      CAPTURE(seed);
      CAPTURE(k);
      const Eigen::Matrix3d m = random_rotation(seed);
      const Vec3 d = k * Vec3(500, -200, 100);
      const CavityResult r =
          look_of_rims(moved(s, [&](const Vec3& p) { return Vec3(k * (m * p) + d); }), m * Vec3::UnitZ());
      REQUIRE(r.bites.size() == 1);
      CHECK(mm3_of_rims(r.bites[0].would_hold) == doctest::Approx(floor_area * 40 * k * k * k).epsilon(1e-9));
      CHECK(in_millimetres(r.bites[0].rim - r.bites[0].spills) == doctest::Approx(9 * k).epsilon(1e-9));
    }
}

TEST_CASE("no bite: a whole rim, one that slopes, and a dent within a fiftieth of the depth") {
  CHECK(look_of_rims(bitten_tub(40, 8)).bites.empty());
  const TriangleSoup whole = bitten_tub(40, 8);
  // Sloping by 8 mm over its width: it spills at its low side, but stands level nowhere else.
  CHECK(look_of_rims(moved(whole, [](const Vec3& p) {
          return Vec3(p + Vec3(0, 0, 8 * p.x() / 60 * p.z() / 40));
        })).bites.empty());
  // 40/50 = 0.8 mm: half a millimetre is a dent, and one and a half is a bite.
  const auto dented = [&](double by) {
    return moved(whole, [&](const Vec3& p) {
      return Vec3(p - Vec3(0, 0, p.z() == 40 && std::abs(std::atan2(p.y(), p.x())) < 0.2 ? by : 0));
    });
  };
  CHECK(look_of_rims(dented(0.7)).bites.empty());
  CHECK(look_of_rims(dented(0.9)).bites.size() == 1);
}

TEST_CASE("a bite takes a quarter of the round at most: more is another rim") {
  CHECK(look_of_rims(bitten_tub(20, 20)).bites.size() == 1);
  CHECK(look_of_rims(bitten_tub(20, 40)).bites.empty());
}

TEST_CASE("through noise a bite is still one, and noise is none") {
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.05);
  for (int run = 0; run < 3; ++run) {
    TriangleSoup s = bitten_tub(31, 8), whole = bitten_tub(40, 8);
    for (Vec3& v : s.vertices) v += Vec3(noise(random), noise(random), noise(random));
    for (Vec3& v : whole.vertices) v += Vec3(noise(random), noise(random), noise(random));
    const CavityResult r = look_of_rims(s);
    REQUIRE(r.bites.size() == 1);
    CHECK(mm3_of_rims(r.bites[0].would_hold) == doctest::Approx(floor_area * 40).epsilon(3e-3));
    CHECK(look_of_rims(whole).bites.empty());
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
// What must not change, and what must change in a known way, when a body is turned, moved, scaled, renumbered
// or taken apart; and that sums come out the same to the bit.
#include <pourwright/solid.hpp>

#include "support/solid_bodies.hpp"
#include "support/solids.hpp"
#include "support/voxels.hpp"

#include <cstring>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

std::vector<TriangleSoup> bodies() {
  std::vector<Station> ring = arc(10, 40, 0, 0, 2 * pi, 40);
  ring.pop_back();
  return {box({0, 0, 0}, {1, 2, 3}),
          sphere(17, 64, {3, -4, 5}),
          revolve(ring, 60, true),
          right_tetrahedron(5, 4, 3),
          tray({0, 0, 0}, {200, 120, 25}, {4, 4, 5}, {196, 116, 25}),
          voxels::soup_of(voxels::random_grid(9, 0.5, false, 1)),
          joined({box({0, 0, 0}, {50, 50, 50}), turned(sphere(12, 32, {25, 25, 25})),
                  sphere(4, 24, {25, 25, 25})})};
}

/// Coordinates on a grid of 2^-20 mm, so that sums with offsets of up to 2^20 mm are exact.
TriangleSoup on_grid(const TriangleSoup& s) {
  return moved(s, [](const Vec3& p) { return Vec3((p * 1048576).array().round() / 1048576); });
}

bool same_bits(double a, double b) {
  return std::memcmp(&a, &b, sizeof a) == 0;
}

Measures measured(const TriangleSoup& s) {
  return measure(s.vertices, s.triangles, bounds(s).centre());
}

}  // namespace

TEST_CASE("turning and moving") {
  for (const TriangleSoup& s : bodies()) {
    const Solid before = solid_of(s);
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(seed);
      const Eigen::Matrix3d r = random_rotation(seed);
      const Vec3 d(10.0 * seed, -7, 3);
      const Solid after = solid_of(moved(s, [&](const Vec3& p) { return Vec3(r * p + d); }));
      CHECK(volume_of(after) == doctest::Approx(volume_of(before)).epsilon(1e-12));
      CHECK(in_square_millimetres(after.area()) ==
            doctest::Approx(in_square_millimetres(before.area())).epsilon(1e-12));
      CHECK((after.centroid() - (r * before.centroid() + d)).norm() < 1e-10);
    }
  }
}

TEST_CASE(
    "scaling multiplies volumes by the cube, areas by the square; an inch file has 16387.064 times the "
    "millimetres") {
  for (const TriangleSoup& s : bodies()) {
    const Solid before = solid_of(s);
    for (const double k : {1e-3, 0.37, 25.4, 1000.0}) {
      const Solid after = solid_of(moved(s, [&](const Vec3& p) { return Vec3(k * p); }));
      CHECK(volume_of(after) == doctest::Approx(k * k * k * volume_of(before)).epsilon(1e-12));
      CHECK(in_square_millimetres(after.area()) ==
            doctest::Approx(k * k * in_square_millimetres(before.area())).epsilon(1e-12));
    }
    // 25.4³, exact by the definition of the inch (NIST Handbook 44, appendix C).
    CHECK(volume_of(solid_of(moved(s, [](const Vec3& p) { return Vec3(25.4 * p); }))) ==
          doctest::Approx(16387.064 * volume_of(before)).epsilon(1e-12));
  }
}

TEST_CASE("numbering") {
  for (const TriangleSoup& s : bodies())
    for (std::uint32_t seed = 1; seed <= 10; ++seed) {
      const Solid before = solid_of(s), after = solid_of(renumbered(s, seed));
      CHECK(volume_of(after) == doctest::Approx(volume_of(before)).epsilon(1e-13));
      CHECK(in_square_millimetres(after.area()) ==
            doctest::Approx(in_square_millimetres(before.area())).epsilon(1e-13));
      CHECK((after.centroid() - before.centroid()).norm() < 1e-11);
      CHECK(after.shells().size() == before.shells().size());
    }
}

TEST_CASE("the same bits again, and after an exact move") {
  for (const TriangleSoup& raw : bodies()) {
    const TriangleSoup s = on_grid(raw);
    const Measures a = measured(s), b = measured(s);
    CHECK(same_bits(a.volume, b.volume));
    CHECK(same_bits(a.area, b.area));
    for (const Vec3& d : {Vec3(1, 2, 3), Vec3(-4096, 512, 0.25), Vec3(1048576, -1048576, 1048576)}) {
      const TriangleSoup there = moved(s, [&](const Vec3& p) { return Vec3(p + d); });
      const Measures c = measured(there);
      CHECK(same_bits(a.volume, c.volume));
      CHECK(same_bits(a.area, c.area));
      CHECK((c.centroid - d - a.centroid).norm() <
            4e-10);  // half a unit in the last place of 1e6, three times
      CHECK(same_bits(volume_of(solid_of(s)), volume_of(solid_of(there))));
    }
  }
}

TEST_CASE("far from the origin nothing is lost but what cannot be written down") {
  // At 1e6 mm a coordinate is good to 1.2e-10 mm, so each face may shift by that.
  for (const TriangleSoup& s : bodies()) {
    const Solid before = solid_of(s);
    const Solid after = solid_of(moved(s, [](const Vec3& p) { return Vec3(p + Vec3(1e6, -1e6, 1e6 / 3)); }));
    const double shift = 1.2e-10 * in_square_millimetres(before.area());
    CHECK(std::abs(volume_of(after) - volume_of(before)) < shift);
  }
}

TEST_CASE("the stated rounding bound holds and is small") {
  // Boxes with sides of few bits have exact volumes, however finely their faces are cut.
  for (std::uint32_t seed = 1; seed <= 5; ++seed) {
    const TriangleSoup s =
        turned_by(random_rotation(seed), terrain(60, 60, 0.25, -3, [](int, int) { return 7; }));
    const Solid solid = solid_of(s);
    const Interval<Volume> v = solid.volume();
    const double exact = 15.0 * 15 * 10, half = in_cubic_millimetres(v.high) - in_cubic_millimetres(v.value);
    CHECK(half > 0);
    CHECK(half < 1e-13 * exact);
    // Turning rounds every coordinate too, which the bound does not claim to cover.
    CHECK(std::abs(in_cubic_millimetres(v.value) - exact) <
          half + 4e-15 * 15 * in_square_millimetres(solid.area()));
  }
  const TriangleSoup straight = terrain(60, 60, 0.25, -3, [](int, int) { return 7; });
  const Interval<Volume> v = solid_of(straight).volume();
  CHECK(in_cubic_millimetres(v.low) <= 2250);
  CHECK(in_cubic_millimetres(v.high) >= 2250);
}

TEST_CASE("a block is its part and its hollow; a solid is the sum of its shells") {
  const TriangleSoup hollow = sphere(12, 32, {25, 25, 25});
  const double whole = volume_of(solid_of(box({0, 0, 0}, {50, 50, 50}))),
               void_volume = volume_of(solid_of(hollow));
  CHECK(volume_of(solid_of(joined({box({0, 0, 0}, {50, 50, 50}), turned(hollow)}))) + void_volume ==
        doctest::Approx(whole).epsilon(1e-14));
  const TriangleSoup a = sphere(5, 24), b = sphere(7, 40, {30, 0, 0}), c = right_tetrahedron(-3, -4, -5);
  CHECK(volume_of(solid_of(joined({a, b}))) ==
        doctest::Approx(volume_of(solid_of(a)) + volume_of(solid_of(b))).epsilon(1e-14));
  const Vec3 middle =
      (volume_of(solid_of(a)) * solid_of(a).centroid() + volume_of(solid_of(b)) * solid_of(b).centroid()) /
      (volume_of(solid_of(a)) + volume_of(solid_of(b)));
  CHECK((solid_of(joined({a, b})).centroid() - middle).norm() < 1e-12);
  CHECK(volume_of(solid_of(c)) == doctest::Approx(10).epsilon(1e-14));  // built inside out, and turned
}

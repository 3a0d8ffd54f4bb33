// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies and voids that touch in exactly one welded vertex or edge: material that touches must neither leak
// nor dam, voids that touch stay apart, and a body that hangs down to a point of the floor belongs to the
// liquid round it.
#include <pourwright/cavity.hpp>

#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

/// An octahedron with half axes r, r, h; volume 4/3 r² h.
TriangleSoup octahedron(const Vec3& c, double r, double h) {
  Builder b;
  const Vec3 top = c + Vec3(0, 0, h), low = c - Vec3(0, 0, h);
  for (int k = 0; k < 4; ++k) {
    const Vec3 p = c + on_circle(r, 0, k, 4), q = c + on_circle(r, 0, k + 1, 4);
    b.triangle(p, q, top);
    b.triangle(q, p, low);
  }
  return b.take();
}
double octahedron_volume(double r, double h) {
  return 4.0 / 3 * r * r * h;
}

/// A square box 10 × 10 × 10 with a shaft 6 × 6 from 2 up; the middle of its floor is raised by `peak`.
void add_vessel(Builder& b, double peak) {
  const auto at = [](double half, int k, double z) {
    const double s[4] = {-1, 1, 1, -1};
    return Vec3(5 + half * s[k % 4], 5 + half * s[(k + 3) % 4], z);
  };
  b.quad(at(5, 3, 0), at(5, 2, 0), at(5, 1, 0), at(5, 0, 0));
  for (int k = 0; k < 4; ++k) {
    b.quad(at(5, k, 0), at(5, k + 1, 0), at(5, k + 1, 10), at(5, k, 10));
    b.quad(at(5, k, 10), at(5, k + 1, 10), at(3, k + 1, 10), at(3, k, 10));
    b.quad(at(3, k, 10), at(3, k + 1, 10), at(3, k + 1, 2), at(3, k, 2));
    b.triangle(at(3, k, 2), at(3, k + 1, 2), Vec3(5, 5, 2 + peak));
  }
}

TriangleSoup vessel_with(const std::vector<TriangleSoup>& bodies, double peak = 0) {
  Builder b;
  add_vessel(b, peak);
  for (const TriangleSoup& s : bodies) b.add(s);
  return b.take();
}
double vessel_volume(double peak = 0) {
  return 36 * 8 - 36 * peak / 3;
}

/// One cavity of this capacity, however the mesh is numbered and in whatever direction up points.
void check_holds(const TriangleSoup& s, double capacity) {
  for (std::uint32_t seed = 0; seed <= 12; ++seed) {
    CAPTURE(seed);
    const Cavities c = every_cavity(solid_of(seed == 0 ? s : renumbered(s, seed)));
    REQUIRE(c.list().size() == 1);
    CHECK(capacity_of(c.at(1)) == doctest::Approx(capacity).epsilon(1e-13));
    const Eigen::Matrix3d r = random_rotation(seed);
    const Cavities t = every_cavity(solid_of(turned_by(r, s)), r * Vec3::UnitZ());
    REQUIRE(t.list().size() == 1);
    CHECK(capacity_of(t.at(1)) == doctest::Approx(capacity).epsilon(1e-12));
  }
}

}  // namespace

TEST_CASE("a body standing on its tip on a vertex of a flat floor, a hill and a hollow") {
  for (const double peak : {0.0, 1.0, -1.0, 2.5, 3.0})
    check_holds(vessel_with({octahedron({5, 5, 2 + peak + 2}, 1, 2)}, peak),
                vessel_volume(peak) - octahedron_volume(1, 2));
}

TEST_CASE("a column of bodies tip on tip, and bodies floating above each other") {
  const double one = octahedron_volume(1, 1);
  check_holds(
      vessel_with({octahedron({5, 5, 3}, 1, 1), octahedron({5, 5, 5}, 1, 1), octahedron({5, 5, 7}, 1, 1)}),
      vessel_volume() - 3 * one);
  check_holds(vessel_with({octahedron({5, 5, 4}, 1, 1), octahedron({5, 5, 6.5}, 1, 1),
                           octahedron({5, 5, 8.75}, 1, 1)}),
              vessel_volume() - 3 * one);
  check_holds(
      vessel_with({box({4, 4, 3}, {6, 6, 4}), box({3, 3, 4.5}, {7, 7, 5}), box({4.5, 4.5, 5.25}, {5, 5, 9})}),
      vessel_volume() - 4 - 8 - 0.25 * 3.75);
}

TEST_CASE("bodies that touch side by side leave the liquid in one piece") {
  check_holds(vessel_with({octahedron({4, 5, 6}, 1, 2), octahedron({6, 5, 6}, 1, 2)}),
              vessel_volume() - 2 * octahedron_volume(1, 2));
  // Sharing a horizontal edge, the upper one astride.
  Builder b;
  add_vessel(b, 0);
  b.add(box({4, 4, 3}, {5, 6, 5}));
  b.add(box({5, 4, 5}, {6, 6, 7}));
  check_holds(b.take(), vessel_volume() - 8);
  // Sharing an upright edge.
  Builder c;
  add_vessel(c, 0);
  c.add(box({4, 4, 3}, {5, 5, 7}));
  c.add(box({5, 5, 3}, {6, 6, 7}));
  check_holds(c.take(), vessel_volume() - 8);
}

TEST_CASE("a body that reaches out of the liquid, standing on a point") {
  // It sticks out above the brim by its upper two sevenths: the wet part is the whole less a small pyramid.
  const double r = 1, h = 7;
  const TriangleSoup s = vessel_with({octahedron({5, 5, 9}, r, h)});
  const double dry = 2 * std::pow(6.0 / 7, 2) * 6 / 3;  // the tip above 10: base area 2 r² scaled, height 6
  check_holds(s, vessel_volume() - (octahedron_volume(r, h) - dry));
}

TEST_CASE("rims that touch in a vertex are two cavities") {
  const std::vector<Station> inner{{25, 30}, {15, 8}, {0, 8}};  // as wide as the tile
  const double one = polygon_factor(32) * frusta({{15, 8}, {25, 30}});
  for (std::uint32_t seed = 0; seed < 6; ++seed) {
    const TriangleSoup block = cavity_block(3, 2, 25, 30, 0, inner, 32, 6, 10);
    const Cavities c = every_cavity(solid_of(seed == 0 ? block : renumbered(block, seed)));
    REQUIRE(c.list().size() == 7);
    for (int i = 1; i <= 6; ++i) CHECK(capacity_of(c.at(i)) == doctest::Approx(one).epsilon(1e-12));
    CHECK(capacity_of(c.at(7)) == doctest::Approx(6 * one + 150.0 * 100 * 10).epsilon(1e-12));
  }
}

TEST_CASE("closed voids that touch each other and the open cavity stay closed") {
  for (std::uint32_t seed = 0; seed < 8; ++seed) {
    CAPTURE(seed);
    Builder b;
    b.add(box({-10, -10, -10}, {10, 10, 10}));
    b.add(turned(octahedron({0, 0, 0}, 2, 3)));
    b.add(turned(octahedron({0, 0, 6}, 2, 3)));  // tip on tip
    b.add(turned(octahedron({4, 0, 0}, 2, 3)));  // side by side
    const TriangleSoup s = b.take();
    const SolidResult r = proven(seed == 0 ? s : renumbered(s, seed));
    CHECK(volume_of(r.solid) == doctest::Approx(8000 - 3 * octahedron_volume(2, 3)).epsilon(1e-13));
    const Cavities c = every_cavity(r.solid);
    REQUIRE(c.list().size() == 3);
    for (const Cavity& k : c.list()) {
      CHECK(k.kind == CavityKind::sealed);
      CHECK(capacity_of(k) == doctest::Approx(octahedron_volume(2, 3)).epsilon(1e-13));
    }

    Builder v;  // a void under the floor whose tip is the middle of the floor
    add_vessel(v, 0);
    v.add(turned(octahedron({5, 5, 1.25}, 1, 0.75)));
    const TriangleSoup w = v.take();
    const Cavities d = every_cavity(solid_of(seed == 0 ? w : renumbered(w, seed)));
    REQUIRE(d.list().size() == 2);
    CHECK(d.at(1).kind == CavityKind::open);
    CHECK(capacity_of(d.at(1)) == doctest::Approx(vessel_volume()).epsilon(1e-13));
    CHECK(capacity_of(d.at(2)) == doctest::Approx(octahedron_volume(1, 0.75)).epsilon(1e-13));
  }
}

TEST_CASE("two cavities that share one edge of their walls under the deck stay two") {
  // Wedges on both sides of the edge x = 0, z = 5 in a block; each opens at the top by itself.
  for (std::uint32_t seed = 0; seed < 6; ++seed) {
    CAPTURE(seed);
    const std::vector<Vec3> left{{-6, 0, 2}, {0, 0, 5}, {-2, 0, 10}, {-6, 0, 10}};
    const std::vector<Vec3> right{{0, 0, 5}, {6, 0, 1}, {6, 0, 10}, {2, 0, 10}};
    const auto across = [](const Vec3& p, double y) { return Vec3(p.x(), y, p.z()); };
    Builder b;
    for (const auto& section : {left, right})
      for (std::size_t k = 0; k < 4; ++k) {
        const Vec3 p = section[k], q = section[(k + 1) % 4];
        if (p.z() < 10 || q.z() < 10) b.quad(across(p, -3), across(q, -3), across(q, 3), across(p, 3));
      }
    for (const auto& section : {left, right}) {
      b.quad(across(section[3], -3), across(section[2], -3), across(section[1], -3), across(section[0], -3));
      b.quad(across(section[0], 3), across(section[1], 3), across(section[2], 3), across(section[3], 3));
    }
    // The deck round the two openings, strip by strip; then the outside.
    const double x[6] = {-9, -6, -2, 2, 6, 9}, y[4] = {-6, -3, 3, 6};
    const auto deck = [&](int i, int j) { return Vec3(x[i], y[j], 10); };
    for (int i = 0; i < 5; ++i)
      for (int j = 0; j < 3; ++j)
        if (j != 1 || (i != 1 && i != 3))
          b.quad(deck(i, j), deck(i + 1, j), deck(i + 1, j + 1), deck(i, j + 1));
    std::vector<Vec3> outline;
    for (int i = 0; i < 5; ++i) outline.push_back(deck(i, 0));
    for (int j = 0; j < 3; ++j) outline.push_back(deck(5, j));
    for (int i = 5; i > 0; --i) outline.push_back(deck(i, 3));
    for (int j = 3; j > 0; --j) outline.push_back(deck(0, j));
    for (std::size_t k = 0; k < outline.size(); ++k) {
      const Vec3 p = outline[k], q = outline[(k + 1) % outline.size()];
      const auto low = [](const Vec3& v) { return Vec3(v.x(), v.y(), -2); };
      b.quad(low(p), low(q), q, p);
      b.triangle(low(q), low(p), Vec3(0, 0, -2));
    }
    const TriangleSoup s = b.take();
    const Solid solid = solid_of(seed == 0 ? s : renumbered(s, seed));
    const Cavities c = every_cavity(solid);
    REQUIRE(c.list().size() == 2);
    const double sections[2] = {
        0.5 * std::abs(-6 * 5 - 0 * 2 + 0 * 10 + 2 * 5 - 2 * 10 + 6 * 10 - 6 * 2 + 6 * 10),
        0.5 * std::abs(0 * 1 - 6 * 5 + 6 * 10 - 6 * 1 + 6 * 10 - 2 * 10 + 2 * 5 - 0 * 10)};
    for (int i = 0; i < 2; ++i)
      CHECK(capacity_of(c.at(i + 1)) == doctest::Approx(6 * sections[i]).epsilon(1e-13));
    CHECK(volume_of(solid) ==
          doctest::Approx(18.0 * 12 * 12 - 6 * (sections[0] + sections[1])).epsilon(1e-13));
  }
}

TEST_CASE("noise on a bowl neither leaks nor adds cavities") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 45);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  auto outer = arc(45, 0, 40, -pi / 2, 0, 45);
  outer.front() = {0, -5};
  outer.back() = {45, 40};
  outer.insert(outer.end(), inner.begin(), inner.end());
  const TriangleSoup clean = revolve(outer, 180);
  const Cavities without = clean_cavities(solid_of(clean));
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, 0.02);
    const TriangleSoup noisy = moved(clean, [&](const Vec3& p) {
      const double x = normal(random), y = normal(random), z = normal(random);
      // Less towards the axis, where the triangles are small, so that nothing folds.
      return Vec3(p + std::min(1.0, std::hypot(p.x(), p.y()) / 20) * Vec3(x, y, z));
    });
    const Cavities c = clean_cavities(solid_of(noisy));
    REQUIRE(c.list().size() == 1);
    // The lowest of 180 rim points lies 2 to 5 σ down; the wall itself averages out.
    const double drop = 40 - in_millimetres(c.at(1).brim);
    CHECK(drop > 0);
    CHECK(drop < 0.1);
    const double expected = capacity_of(without.at(1)) - drop * in_square_millimetres(without.at(1).opening);
    CHECK(capacity_of(c.at(1)) == doctest::Approx(expected).epsilon(5e-4));
  }
}

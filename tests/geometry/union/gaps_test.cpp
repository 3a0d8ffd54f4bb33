// SPDX-License-Identifier: GPL-3.0-or-later
// Plates between faces that nearly touch, against closed forms. Each limit is tried a quarter below and a
// half above: halved or doubled it would fail.
#include "geometry/union/gaps.hpp"

#include "support/shapes.hpp"

#include <cmath>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;
using uniting::GapPlates;
using uniting::plates_for_gaps;

namespace {

constexpr double gap = 0.1;

Surface apart(const std::vector<TriangleSoup>& parts) {
  return make_surface(joined(parts));
}

double plates_hold(const TriangleSoup& s) {
  double six = 0;
  for (const Triangle& t : s.triangles) six += s.vertices[t[0]].dot(s.vertices[t[1]].cross(s.vertices[t[2]]));
  return six / 6;
}

TriangleSoup lifted(const TriangleSoup& s, const Vec3& by) {
  return moved(s, [by](const Vec3& p) { return Vec3(p + by); });
}

/// A block whose underside leans by so many degrees, 0.05 above z = 10 where it is lowest, at x = 0.
TriangleSoup leaning(double degrees) {
  const double rise = std::tan(degrees * pi / 180);
  return moved(box({0, 0, 10.05}, {20, 20, 60}),
               [&](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() < 11 ? p.z() + rise * p.x() : p.z()); });
}

}  // namespace

TEST_CASE("a plate covers what both faces cover, and sinks a hundredth of the gap into either") {
  const GapPlates g = plates_for_gaps(apart({box({0, 0, 0}, {20, 20, 10}), box({5, 5, 10.05}, {25, 25, 20})}),
                                      gap, 16, false);
  CHECK(g.places == 1);
  CHECK_FALSE(g.curved);
  CHECK_FALSE(g.too_many);
  CHECK(g.volume == doctest::Approx(15 * 15 * 0.05));
  CHECK(g.widest == doctest::Approx(0.05));
  CHECK(make_surface(g.plates).census.closed());
  CHECK(make_surface(g.plates).census.oriented());
  CHECK(plates_hold(g.plates) == doctest::Approx(15 * 15 * (0.05 + 2 * 0.01 * gap)));
}

TEST_CASE("no face is closed to another beyond the gap, behind it or beside it") {
  const TriangleSoup low = box({0, 0, 0}, {20, 20, 10});
  for (const auto& [height, places] : {std::pair(0.75 * gap, 1), std::pair(1.5 * gap, 0)}) {
    CAPTURE(height);
    CHECK(plates_for_gaps(apart({low, box({0, 0, 10 + height}, {20, 20, 20})}), gap, 16, false).places ==
          static_cast<std::size_t>(places));
  }
  // Beside each other over a step: nothing is covered by both.
  CHECK(plates_for_gaps(apart({low, box({20.5, 0, 10.05}, {40, 20, 20})}), gap, 16, false).places == 0);
  // One that reaches into the other is no gap.
  CHECK(plates_for_gaps(apart({low, box({0, 0, 9}, {20, 20, 20})}), gap, 16, false).places == 0);
}

TEST_CASE("faces that lean look at each other within 30°, as far as they are nearer than the gap") {
  for (const auto& [degrees, looks] : {std::pair(20.0, true), std::pair(45.0, false)}) {
    CAPTURE(degrees);
    const GapPlates g =
        plates_for_gaps(apart({box({0, 0, 0}, {20, 20, 10}), leaning(degrees)}), gap, 16, false);
    CHECK(g.places == (looks ? 1 : 0));
    if (!looks) continue;
    // Square to the larger face, which leans: z from 0.05 to 0.1 · cos, over a strip as wide as the slope
    // makes it.
    const double cosine = std::cos(degrees * pi / 180), top = gap * cosine;
    const double wide = (top - 0.05) / std::tan(degrees * pi / 180);
    CHECK(g.volume == doctest::Approx(20 * wide * (0.05 + top) / 2 / cosine / cosine).epsilon(1e-6));
    CHECK(g.widest < gap);
  }
}

TEST_CASE("what only rounding keeps apart gets a plate of no volume") {
  const GapPlates g = plates_for_gaps(
      apart({box({0, 0, 0}, {20, 20, 10}), box({0, 0, 10 + 1e-9}, {20, 20, 20})}), gap, 16, false);
  CHECK(g.places == 1);
  CHECK(g.volume < 1e-5);
  CHECK(plates_hold(g.plates) > 0.9 * 400 * 2 * 0.01 * gap);
}

TEST_CASE("within one shell only what rounding keeps apart is closed, up to a five-hundredth of the gap") {
  for (const auto& [width, closes] : {std::pair(1.5e-3 * gap, true), std::pair(3e-3 * gap, false)}) {
    CAPTURE(width);
    const TriangleSoup slotted = bricks({0, 10, 10 + width, 20}, {0, 20}, {0, 5, 25},
                                        [](int i, int, int k) { return i != 1 || k != 1; });
    const Surface s = make_surface(slotted);
    CHECK(s.census.shells == 1);
    CHECK(plates_for_gaps(s, gap, 16, true).places == (closes ? 1 : 0));
    CHECK(plates_for_gaps(s, gap, 16, false).places == 0);
  }
}

TEST_CASE("more pairs of level faces than are asked for are left to be moved") {
  std::vector<TriangleSoup> parts;
  for (int k = 0; k < 4; ++k) parts.push_back(box({0, 0, 10.05 * k}, {20, 20, 10.05 * k + 10}));
  const Surface s = apart(parts);
  const GapPlates three = plates_for_gaps(s, gap, 3, false), two = plates_for_gaps(s, gap, 2, false);
  CHECK_FALSE(three.curved);
  CHECK(three.places == 3);
  CHECK(three.volume == doctest::Approx(3 * 400 * 0.05));
  CHECK(two.curved);
  CHECK(two.plates.triangles.empty());
}

TEST_CASE("plates do not depend on where and how the bodies lie") {
  const std::vector<TriangleSoup> parts{box({0, 0, 0}, {20, 20, 10}), box({5, 5, 10.05}, {25, 25, 20})};
  for (const double angle : {0.3, 1.1, 2.0}) {
    const Eigen::Matrix3d m = Eigen::AngleAxisd(angle, Vec3(1, 2, 3).normalized()).toRotationMatrix();
    std::vector<TriangleSoup> turned_parts;
    for (const TriangleSoup& p : parts)
      turned_parts.push_back(moved(p, [&](const Vec3& x) { return Vec3(m * x + Vec3(50, -20, 7)); }));
    const GapPlates g = plates_for_gaps(apart(turned_parts), gap, 16, false);
    CHECK(g.places == 1);
    CHECK(g.volume == doctest::Approx(15 * 15 * 0.05).epsilon(1e-4));
    CHECK(make_surface(g.plates).census.closed());
  }
}

TEST_CASE("beside a crease a bar fills what two plates leave, to where their far sides cross") {
  // The corner of one block in the corner of another, 0.05 away on two sides.
  const TriangleSoup corner =
      bricks({0, 10, 30}, {0, 20}, {0, 10, 30}, [](int i, int, int k) { return i == 0 || k == 0; });
  const TriangleSoup block = box({10.05, 0, 10.05}, {30, 20, 30});
  const GapPlates g = plates_for_gaps(apart({corner, block}), gap, 16, false);
  CHECK(g.places == 2);
  // Plates of 19.95 × 20 mm, and the square that neither covers, 0.05 + a thousandth wide, is in a bar.
  const Vec3 inside(10.0005, 10, 10.0005);
  int wraps = 0;
  for (const Triangle& t : g.plates.triangles) {
    const Vec3 a = g.plates.vertices[t[0]] - inside, b = g.plates.vertices[t[1]] - inside,
               c = g.plates.vertices[t[2]] - inside;
    // Solid angle of a triangle (A. van Oosterom, J. Strackee, 1983), in full turns after the sum.
    const double la = a.norm(), lb = b.norm(), lc = c.norm();
    const double angle =
        2 * std::atan2(a.dot(b.cross(c)), la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb);
    wraps += static_cast<int>(std::lround(1e6 * angle / (4 * pi)));
  }
  CHECK(std::lround(wraps / 1e6) == 1);
}

TEST_CASE("bodies far apart and single bodies have no gaps") {
  CHECK(plates_for_gaps(apart({box({0, 0, 0}, {1, 1, 1})}), gap, 16, false).places == 0);
  CHECK(plates_for_gaps(apart({sphere(5, 16), lifted(sphere(5, 16), {20, 0, 0})}), gap, 16, false).places ==
        0);
  CHECK(plates_for_gaps(apart({box({0, 0, 0}, {1, 1, 1}), box({0, 0, 1.01}, {1, 1, 2})}), 0, 16, false)
            .places == 0);
}

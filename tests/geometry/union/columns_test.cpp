// SPDX-License-Identifier: GPL-3.0-or-later
// What is wrapped at least once, along vertical lines.
#include "geometry/union/columns.hpp"

#include <pourwright/solid.hpp>
#include <pourwright/union.hpp>

#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

double wrapped(const TriangleSoup& s, int n) {
  return uniting::wrapped_volume(s.vertices, s.triangles, bounds(s), n);
}

}  // namespace

TEST_CASE("a block is exact on any grid") {
  for (const int n : {1, 2, 7, 50})
    CHECK(wrapped(box({-3, 4, 5}, {7, 24, 35}), n) == doctest::Approx(6000).epsilon(1e-13));
}

TEST_CASE("what is wrapped twice counts once, a void not at all, an inside-out body neither") {
  const TriangleSoup a = box({0, 0, 0}, {8, 8, 8});
  CHECK(wrapped(joined({a, a}), 8) == doctest::Approx(512));
  // Lines through the middles of the cells of a grid that both boxes share.
  CHECK(wrapped(joined({a, box({4, 4, 4}, {12, 12, 12})}), 12) == doctest::Approx(512 + 512 - 64));
  CHECK(wrapped(joined({a, turned(box({2, 2, 2}, {6, 6, 6}))}), 8) == doctest::Approx(512 - 64));
  CHECK(wrapped(turned(a), 8) == doctest::Approx(0));
  // A body in the void of another is material again.
  CHECK(wrapped(joined({a, turned(box({1, 1, 1}, {7, 7, 7})), box({3, 3, 3}, {5, 5, 5})}), 8) ==
        doctest::Approx(512 - 216 + 8));
}

TEST_CASE("finer grids come nearer to a ball") {
  const TriangleSoup ball = sphere(20, 64);
  const double exact = measure(ball.vertices, ball.triangles, Vec3::Zero()).volume;
  CHECK(std::abs(wrapped(ball, 400) - exact) < 1e-3 * exact);
  CHECK(std::abs(wrapped(ball, 20) - exact) < 3e-2 * exact);
}

TEST_CASE("an interval of columns holds the truth and is never narrower than a column may hide") {
  const Interval<Volume> block = volume_by_columns(make_surface(box({0, 0, 0}, {10, 20, 30})));
  CHECK(in_cubic_millimetres(block.value) == doctest::Approx(6000));
  // Two grids agree to rounding, which is no proof: a ten-thousandth stays.
  CHECK(in_cubic_millimetres(block.high - block.low) == doctest::Approx(2 * 1e-4 * 6000));
  for (int facets = 5; facets < 60; facets += 9) {
    const TriangleSoup s =
        joined({sphere(20, 2 * facets), moved(box({-6, -6, -30}, {6, 6, 30}), [](const Vec3& p) {
                  return Vec3(Eigen::AngleAxisd(0.5, Vec3(1, 1, 0).normalized()) * p);
                })});
    const auto united = unite_shells(make_surface(s));
    REQUIRE(united);
    const Interval<Volume> v = volume_by_columns(make_surface(s));
    CHECK(v.low <= united->volume);
    CHECK(united->volume <= v.high);
    CHECK_FALSE(v.reasons.empty());
  }
}

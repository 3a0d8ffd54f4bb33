// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/solid.hpp>
#include <pourwright/union.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "support/brick_boxes.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

/// Volumes of the shells, in order of size.
std::vector<double> bodies(const std::vector<TriangleSoup>& parts) {
  TriangleSoup soup = joined(parts);
  weld_in_place(soup.vertices, soup.triangles);
  const Surface s = bodies_apart(make_surface(std::move(soup)));
  std::vector<std::vector<Triangle>> shells(s.census.shells);
  for (std::size_t t = 0; t < s.triangles.size(); ++t) shells[s.shell[t]].push_back(s.triangles[t]);
  std::vector<double> out;
  for (const auto& shell : shells) out.push_back(measure(s.vertices, shell, s.box.centre()).volume);
  std::sort(out.begin(), out.end());
  return out;
}

void check(const std::vector<double>& found, const std::vector<double>& expected) {
  REQUIRE(found.size() == expected.size());
  for (std::size_t i = 0; i < found.size(); ++i)
    CHECK(found[i] == doctest::Approx(expected[i]).epsilon(1e-4));
}

}  // namespace

TEST_CASE("boxes that share an edge, a corner, a face") {
  const TriangleSoup a = box({0, 0, 0}, {10, 10, 10});
  check(bodies({a, box({10, 10, 0}, {20, 20, 10})}), {1000, 1000});
  check(bodies({a, box({10, 10, 10}, {20, 20, 30})}), {1000, 2000});
  check(bodies({a, box({10, 0, 0}, {30, 10, 10})}), {1000, 2000});
}

TEST_CASE("a wedge and what it leaves of a block: edges of very different angles") {
  // The block cut along a plane through two of its edges: both parts share the cut, and their edges.
  const auto prism = [](const std::vector<Vec3>& foot) {
    Builder b;
    const Vec3 up(0, 0, 12);
    for (std::size_t k = 1; k + 1 < foot.size(); ++k) {
      b.triangle(foot[0], foot[k + 1], foot[k]);
      b.triangle(foot[0] + up, foot[k] + up, foot[k + 1] + up);
    }
    for (std::size_t k = 0; k < foot.size(); ++k) {
      const Vec3 &p = foot[k], &q = foot[(k + 1) % foot.size()];
      b.quad(p, q, q + up, p + up);
    }
    return b.take();
  };
  for (const double slope : {0.02, 0.5, 9.0}) {
    CAPTURE(slope);
    const Vec3 o(0, 0, 0), x(20, 0, 0), y(20, slope, 0), z(20, 10, 0), w(0, 10, 0);
    std::vector<double> expected{12 * 10 * slope, 12 * (200 - 10 * slope)};
    std::sort(expected.begin(), expected.end());
    for (const double angle : {0.0, 29.0})
      check(bodies(placed({prism({o, x, y}), prism({o, y, z, w})}, angle, Written::single)), expected);
  }
}

TEST_CASE("bricks that fill space come apart, turned and in single precision") {
  const Bricks b{{0, 8, 20}, {0, 9, 21}, {0, 7, 18}, {}, 0};
  std::vector<double> expected;
  for (const double x : {8.0, 12.0})
    for (const double y : {9.0, 12.0})
      for (const double z : {7.0, 11.0}) expected.push_back(x * y * z);
  std::sort(expected.begin(), expected.end());
  for (const double angle : {0.0, 10.0, 23.0, 61.0}) {
    CAPTURE(angle);
    check(bodies(placed(bodies_of(b), angle, Written::single)), expected);
  }
}

TEST_CASE("a single body comes back as it is") {
  TriangleSoup soup = sphere(10, 12);
  const Surface s = make_surface(soup);
  const Surface t = bodies_apart(s);
  CHECK(t.vertices == s.vertices);
  CHECK(t.triangles == s.triangles);
}

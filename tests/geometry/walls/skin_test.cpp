// SPDX-License-Identifier: GPL-3.0-or-later
// Normals that turn evenly over a curve and stay apart at an edge.
#include "geometry/walls/skin.hpp"

#include "support/shapes.hpp"

#include <cmath>

#include <doctest/doctest.h>

namespace pourwright {
namespace {

/// Two squares that meet along the y axis, folded down by so many degrees.
TriangleSoup folded(double degrees) {
  const double a = degrees * shapes::pi / 180;
  shapes::Builder b;
  b.quad({-10, 0, 0}, {0, 0, 0}, {0, 10, 0}, {-10, 10, 0});
  b.quad({0, 0, 0}, {10 * std::cos(a), 0, -10 * std::sin(a)}, {10 * std::cos(a), 10, -10 * std::sin(a)},
         {0, 10, 0});
  return b.take();
}

double degrees_between(const Vec3& a, const Vec3& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b)) * 180 / shapes::pi;
}

}  // namespace

TEST_CASE("a fold of less than 30 degrees is a curve, one of more is an edge") {
  for (const double fold : {20.0, 29.0, 31.0, 50.0}) {
    CAPTURE(fold);
    const TriangleSoup soup = folded(fold);
    const thickness::Skin skin(soup.vertices, soup.triangles);
    const Vec3 at(0, 5, 0);
    double first = 0, second = 0;
    for (Index t = 0; t < soup.triangles.size(); ++t) {
      const Vec3 flat = skin.facet(t).normal.cast<double>();
      (t < 2 ? first : second) = std::max(t < 2 ? first : second, degrees_between(skin.normal(at, t), flat));
    }
    if (fold < 30) {
      // As large on both sides, they meet half-way; at the corners one side may have two triangles of three.
      CHECK(first + second == doctest::Approx(fold).epsilon(0.4));
      CHECK(first > 0.2 * fold);
      CHECK(second > 0.2 * fold);
    } else {
      CHECK(first < 1e-3);
      CHECK(second < 1e-3);
    }
  }
}

TEST_CASE("on a flat face the normal is the face's, and a triangle without area has none of its own") {
  const TriangleSoup box = shapes::box({0, 0, 0}, {30, 20, 4});
  const thickness::Skin skin(box.vertices, box.triangles);
  for (Index t = 0; t < box.triangles.size(); ++t) {
    const auto& [a, b, c] = box.triangles[t];
    const Vec3 &p = box.vertices[a], &q = box.vertices[b], &r = box.vertices[c];
    const Vec3 flat = (q - p).cross(r - p).normalized();
    CHECK((skin.normal(p + 0.3 * (q - p) + 0.3 * (r - p), t) - flat).norm() < 1e-6);
    CHECK(skin.facet(t).area == doctest::Approx((q - p).cross(r - p).norm() / 2));
  }
  const std::vector<Vec3> line{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}};
  const std::vector<Triangle> sliver{{0, 1, 2}};
  const thickness::Skin none_there(line, sliver);
  CHECK(none_there.facet(0).area == 0);
  CHECK(none_there.normal({1, 0, 0}, 0).norm() == 0);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Each bound is tried a quarter below and a half above: halved or doubled it would fail.
#include "geometry/repair/facets.hpp"

#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;

namespace {

std::optional<mending::Filling> continued(const TriangleSoup& s) {
  const Workpiece w = piece(s);
  const auto lines = mending::border_lines(w);
  REQUIRE(lines.size() == 1);
  return mending::continue_facets(w, lines[0]);
}

/// Four triangles that hang from a square hole of side 2: each leans by its slope, as a roof's eaves do.
TriangleSoup eaves(double side, double slope) {
  const Vec3 p[4] = {{-side, -side, 0}, {side, -side, 0}, {side, side, 0}, {-side, side, 0}};
  shapes::Builder b;
  for (int k = 0; k < 4; ++k) {
    const Vec3 out = (p[k] + p[(k + 1) % 4]) / 2;
    b.triangle(p[(k + 1) % 4], p[k], 2 * out + Vec3(0, 0, -slope * side));
  }
  return b.take();
}

/// A pyramid of three sides, cut off flat: what is left of the sides, wound to face out.
TriangleSoup stump(double top, double bottom, double height) {
  return shapes::revolve({{bottom, 0}, {top, height}}, 3);
}

}  // namespace

TEST_CASE("one missing triangle of a box lies in its face") {
  for (std::size_t t = 0; t < 12; ++t) {
    const auto f = continued(lacking(box({0, 0, 0}, {100, 80, 3}), {t}));
    REQUIRE(f);
    CHECK(f->added.empty());
    CHECK(f->triangles.size() == 1);
  }
}

TEST_CASE("faces are of one plane up to a thousandth in direction") {
  for (const auto& [slope, one] : {std::pair(0.75e-3, true), std::pair(1.5e-3, false)}) {
    // Heights agree to 10⁻⁴ of the hole only where the eaves are short.
    TriangleSoup s = eaves(10, 0);
    for (Vec3& p : s.vertices)
      if (std::abs(p.x()) > 10.1) p = Vec3(std::copysign(10.2, p.x()), 0, -0.2 * slope);
      else if (std::abs(p.y()) > 10.1) p = Vec3(0, std::copysign(10.2, p.y()), -0.2 * slope);
    CHECK(continued(s).has_value() == one);
  }
}

TEST_CASE("and up to a ten-thousandth of the hole in height") {
  // One eave is parallel to the others and lower. The extent of the hole is its diagonal, 28.3 mm.
  for (const auto& [share, one] : {std::pair(0.75e-4, true), std::pair(1.5e-4, false)}) {
    TriangleSoup s = eaves(10, 0);
    for (Vec3& p : s.vertices)
      if (p.x() > 10.1) p.z() = -share * 28.3;
    CHECK(continued(s).has_value() == one);
  }
}

TEST_CASE("a flat border is a missing face unless the corner is about as sharp as a cube's") {
  // Determinant of the three unit normals of a triangular pyramid, by its slope: 0.65 when the sides lean as a cube's
  // corner does less a little, 0.3 when they are steeper.
  for (const auto& [height, corner] : {std::pair(8.0, true), std::pair(20.0, false)}) {
    CAPTURE(height);
    const TriangleSoup s = lacking(stump(10, 20, height), {});
    const Workpiece w = piece(s);
    bool found = false;
    for (const auto& line : mending::border_lines(w)) {
      REQUIRE(mending::is_flat(line));
      if (line.middle.z() > height / 2) {
        const auto f = mending::continue_facets(w, line);
        found = f && !f->added.empty();
      }
    }
    CHECK(found == corner);
  }
}

TEST_CASE("nothing is continued round a curved hole") {
  TriangleSoup ball = shapes::sphere(20, 16);
  std::erase_if(ball.triangles, [&](const Triangle& t) {
    return std::all_of(t.begin(), t.end(), [&](Index v) { return ball.vertices[v].z() > 14; });
  });
  CHECK_FALSE(continued(ball));
}

TEST_CASE("a border is flat up to a ten-thousandth of its extent") {
  for (const auto& [share, flat] : {std::pair(0.75e-4, true), std::pair(1.5e-4, false)}) {
    TriangleSoup s = eaves(10, 1);
    // Corners go up and down in turns: each is off the mean plane by as much.
    for (Vec3& p : s.vertices)
      if (std::abs(std::abs(p.x()) - 10) < 1e-9 && std::abs(std::abs(p.y()) - 10) < 1e-9)
        p.z() = std::copysign(share * 28.3, p.x() * p.y());
    const Workpiece w = piece(s);
    const auto lines = mending::border_lines(w);
    REQUIRE(lines.size() == 1);
    CHECK(mending::is_flat(lines[0]) == flat);
  }
}

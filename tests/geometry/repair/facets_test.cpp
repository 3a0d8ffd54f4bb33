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

TEST_CASE("a flat border is a missing face unless the corner is about as sharp as a cube's") {
  // Determinant of the unit normals of a pyramid of three sides that lean inwards by φ: 2.6 · cos²φ · sin φ.
  // Here 0.99 and 0.46, against 0.5.
  for (const auto& [height, corner] : {std::pair(8.0, true), std::pair(27.0, false)}) {
    CAPTURE(height);
    const Workpiece w = piece(stump(10, 20, height));
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
    // Corners of a box go up and down in turns: each is off the mean plane by as much. The extent is its
    // diagonal.
    TriangleSoup s = lacking(box({0, 0, 0}, {30, 40, 20}), {2, 3});
    for (Vec3& p : s.vertices)
      if (p.z() == 20) p.z() += (p.x() == 0) == (p.y() == 0) ? share * 50 : -share * 50;
    const Workpiece w = piece(s);
    const auto lines = mending::border_lines(w);
    REQUIRE(lines.size() == 1);
    CHECK(mending::is_flat(lines[0]) == flat);
  }
}

TEST_CASE("faces need not be neighbours to lie in one plane") {
  // A plate with a notch through two opposite sides of its top: the top's two parts are one plane.
  const TriangleSoup s =
      shapes::bricks({0, 10, 20, 30}, {0, 10, 20, 30}, {0, 5, 10}, [](int, int, int) { return true; });
  TriangleSoup open = s;
  std::erase_if(open.triangles, [&](const Triangle& t) {
    Vec3 middle = Vec3::Zero();
    for (const Index v : t) middle += s.vertices[v] / 3;
    return middle.z() > 9.99 && middle.x() > 10 && middle.x() < 20 && middle.y() > 10 && middle.y() < 20;
  });
  REQUIRE(open.triangles.size() == s.triangles.size() - 2);
  const auto f = continued(open);
  REQUIRE(f);
  CHECK(f->added.empty());
  CHECK(f->triangles.size() == 2);
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/repair/borders.hpp"

#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using mending::border_lines;
using shapes::box;

TEST_CASE("a closed body has no border") {
  CHECK(border_lines(piece(box({0, 0, 0}, {1, 2, 3}))).empty());
}

TEST_CASE("a border runs as a closing's triangles do, and knows its plane") {
  const Workpiece w = piece(lacking(box({0, 0, 0}, {10, 20, 30}), {2, 3}));
  const auto lines = border_lines(w);
  REQUIRE(lines.size() == 1);
  CHECK(lines[0].vertices.size() == 4);
  CHECK((lines[0].area - Vec3(0, 0, 200)).norm() < 1e-9);
  CHECK((lines[0].middle - Vec3(5, 10, 30)).norm() < 1e-9);
  CHECK(lines[0].unevenness == doctest::Approx(0));
  CHECK(lines[0].steepness == doctest::Approx(std::acos(0.0)));
  CHECK(lines[0].extent == doctest::Approx(std::sqrt(500.0)));
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(w.from(lines[0].half_edges[i]) == lines[0].vertices[(i + 1) % 4]);
    CHECK(w.to(lines[0].half_edges[i]) == lines[0].vertices[i]);
  }
}

TEST_CASE("two holes that meet in a corner are two borders") {
  // Opposite triangles of a fan of eight.
  TriangleSoup s = shapes::revolve({{0, 0}, {10, 0}, {10, 10}, {0, 10}}, 8);
  std::vector<std::size_t> top;
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    if (std::all_of(s.triangles[t].begin(), s.triangles[t].end(),
                    [&](Index v) { return s.vertices[v].z() == 10; }))
      top.push_back(t);
  REQUIRE(top.size() == 8);
  const auto lines = border_lines(piece(lacking(s, {top[0], top[4]})));
  REQUIRE(lines.size() == 2);
  for (const auto& l : lines) CHECK(l.vertices.size() == 3);
}

TEST_CASE("bodies that share an edge each keep their own border there") {
  // A wall of one is missing beside the shared edge.
  const TriangleSoup s =
      lacking(shapes::joined({box({0, 0, 0}, {10, 10, 10}), box({10, 10, 0}, {20, 20, 10})}), {10, 11});
  const auto lines = border_lines(piece(s));
  REQUIRE(lines.size() == 1);
  CHECK(lines[0].vertices.size() == 4);
  CHECK((lines[0].area - Vec3(100, 0, 0)).norm() < 1e-9);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Is the truth of the attack meshes true? Closed forms against columns, and against the sum of the bodies
// where these do not overlap.
#include "support/attack_parts.hpp"
#include "support/column_flood.hpp"

#include <set>

#include <doctest/doctest.h>

using namespace attacks;

namespace {

const std::set<std::string> overlapping{"crossing", "copies", "dmgbodies", "speed", "sheets"};
/// Bodies a hair apart have no sum that is stated, and columns see through between them.
bool apart(const Case& c) {
  return !c.solid && c.clean.size() > 1;
}

bool closed(const TriangleSoup& s) {
  std::map<std::pair<Index, Index>, int> edges;
  for (const Triangle& t : s.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      ++edges[{t[k], t[(k + 1) % 3]}];
      --edges[{t[(k + 1) % 3], t[k]}];
    }
  return std::all_of(edges.begin(), edges.end(), [](const auto& e) { return e.second == 0; });
}

void check(const Case& c) {
  CAPTURE(c.name);
  CAPTURE(c.note);
  CHECK(!c.mesh.triangles.empty());
  double least = 0;
  for (const TriangleSoup& s : c.clean) {
    CHECK(closed(s));
    CHECK(volume(s) > 0);
    least += volume(s);
  }
  if (c.clean.empty()) return;
  if (c.solid && overlapping.count(c.family) == 0)
    CHECK(*c.solid ==
          doctest::Approx(least).epsilon(std::max(1e-9, c.family == "cadfaces" ? c.tolerance : 0)));
  if (apart(c)) return;
  const flood::Columns seen = flood::columns_of(c.clean, 500);
  if (c.solid) CHECK(seen.solid == doctest::Approx(*c.solid).epsilon(0.01 + c.tolerance));
  if (!c.capacity) return;
  if (*c.capacity == 0)
    CHECK(seen.held <= 0.002 * seen.solid);
  else
    CHECK(seen.held == doctest::Approx(*c.capacity).epsilon(0.01 + c.tolerance));
}

}  // namespace

TEST_CASE("columns know a tray, a cup with a roof, and a sealed hollow") {
  const auto tray = flood::columns_of({box_cup(60, 50, 40, 4, 5)}, 400);
  CHECK(tray.held == doctest::Approx(52 * 42 * 35).epsilon(0.01));
  CHECK(tray.solid == doctest::Approx(60 * 50 * 40 - 52 * 42 * 35).epsilon(0.01));
  const double held = shapes::pi * (900 * 50 + 100 * 10 - 44 * 10);  // the air under the roof is let out
  CHECK(flood::columns_of({shapes::inkwell(64)}, 400).held == doctest::Approx(held).epsilon(0.01));
  const auto sealed = flood::columns_of(
      {shapes::joined({shapes::sphere(30, 40), shapes::turned(shapes::sphere(20, 32))})}, 300);
  CHECK(sealed.held == 0);
}

TEST_CASE("bodies of known volume") {
  // For corners on the unit sphere.
  CHECK(volume(platonic(4, 1)) == doctest::Approx(8 * std::sqrt(3.0) / 27));
  CHECK(volume(platonic(6, 1)) == doctest::Approx(8 * std::sqrt(3.0) / 9));
  CHECK(volume(platonic(8, 1)) == doctest::Approx(4.0 / 3));
  CHECK(volume(platonic(12, 1)) == doctest::Approx(2.785163863));
  CHECK(volume(platonic(20, 1)) == doctest::Approx(2.536150710));
  CHECK(volume(platonic(14, 1)) == doctest::Approx(5 * std::sqrt(2.0) / 3));
  for (const int n : {4, 6, 8, 12, 14, 20}) CHECK(closed(platonic(n, 1)));
  const Polygon ell{{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 3}, {0, 3}};
  CHECK(area(ell) == 6);
  CHECK(volume(extruded(ell, 2, 5)) == doctest::Approx(18));
  CHECK(closed(extruded(ell, 2, 5)));
  const TriangleSoup cup = fine_cup(30, 40, 4, 5, 4);
  CHECK(closed(cup));
  CHECK(volume(cup) == doctest::Approx(cup_capacity(30, 40, 0, 0, 48) - cup_capacity(30, 40, 4, 5, 48)));
}

TEST_CASE("what each family says of itself holds of its clean bodies") {
  for (const std::string& family : families())
    for (std::uint32_t seed = 1; seed <= 6; ++seed) check(make(family, seed));
}

TEST_CASE("the same seed makes the same mesh, another makes another") {
  for (const std::string& family : families()) {
    CAPTURE(family);
    CHECK(file_bytes(make(family, 5)) == file_bytes(make(family, 5)));
    CHECK(file_bytes(make(family, 5)) != file_bytes(make(family, 6)));
  }
}

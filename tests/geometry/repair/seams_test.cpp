// SPDX-License-Identifier: GPL-3.0-or-later
// Each reach is tried a quarter below and a half above: halved or doubled it would fail.
#include "support/corruption.hpp"
#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;

namespace {

/// Two triangles side by side along (0,0)–(0,10), the second `gap` away at both ends or at the far one alone.
Workpiece beside(double gap, bool zipped, double x = 0) {
  return piece({{{x, 0, 0},
                 {x, 10, 0},
                 {x - 9, 5, 0},
                 {x + (zipped ? 0 : gap), 0, 0},
                 {x + gap, 10, 0},
                 {x + 9, 5, 0}},
                {{0, 1, 2}, {4, 3, 5}}});
}

}  // namespace

TEST_CASE("single precision is always within reach") {
  const double grain = 0x1p-22 * 1024;
  for (const auto& [share, joins] : {std::pair(0.75, true), std::pair(1.5, false)}) {
    Workpiece w = beside(share * grain, false, 1015 - share * grain);
    CHECK(mending::close_seams(w, 0) == joins);
    CHECK(count(w, Mending::cracks) == (joins ? 1 : 0));
  }
}

TEST_CASE(
    "both sides may be apart at both ends by a thousandth of the edge, beyond that they must share one") {
  for (const auto& [reach, joins] : {std::pair(0.75e-3, true), std::pair(1.5e-3, false)}) {
    Workpiece w = beside(5 * reach, false);
    CHECK(mending::close_seams(w, reach) == joins);
    Workpiece zip = beside(5 * reach, true);
    CHECK(mending::close_seams(zip, reach));
    REQUIRE(step(zip, Mending::cracks));
    CHECK(step(zip, Mending::cracks)->doubt > Volume());
  }
}

TEST_CASE("a zip reaches a share of the edge and no farther") {
  for (const auto& [share, joins] : {std::pair(0.75, true), std::pair(1.5, false)}) {
    Workpiece w = beside(share * 10 * 0.1, true);
    CHECK(mending::close_seams(w, 0.1) == joins);
  }
}

TEST_CASE("a loose corner splits the edge it lies on, from no farther than a fifth of its own edge") {
  for (const auto& [height, splits] : {std::pair(1.5, true), std::pair(3.0, false)}) {
    CAPTURE(height);
    Workpiece w = piece({{{0, 0, 0}, {100, 0, 0}, {50, -60, 0}, {10, height, 0}, {30, 50, 0}},
                         {{0, 2, 1}, {0, 3, 4}, {3, 1, 4}}});
    // The edge from the first corner to the loose one is some 10 mm long.
    mending::close_seams(w, 0.1);
    CHECK((count(w, Mending::t_junctions) > 0) == splits);
  }
}

TEST_CASE("the walls of a plate stay apart, whichever triangle is missing") {
  for (const Vec3& size :
       {Vec3(100, 80, 3), Vec3(120, 5, 40), Vec3(200, 4, 4), Vec3(100, 10, 2), Vec3(90, 47, 3.2)})
    for (std::size_t gone = 0; gone < 12; ++gone) {
      CAPTURE(size.x());
      CAPTURE(gone);
      Workpiece w = piece(lacking(box(Vec3::Zero(), size), {gone}));
      for (const double reach : {0.0, 1e-3, 0.02, 0.1}) CHECK_FALSE(mending::close_seams(w, reach));
      CHECK(w.triangles.size() == 11);
    }
}

TEST_CASE("the two borders of a thin wall whose rim is missing stay apart") {
  TriangleSoup cup = shapes::revolve({{0, 0}, {50, 0}, {50, 40}, {49, 40}, {49, 2}, {0, 2}}, 4);
  std::erase_if(cup.triangles, [&](const Triangle& t) {
    return std::all_of(t.begin(), t.end(), [&](Index v) { return cup.vertices[v].z() == 40; });
  });
  Workpiece w = piece(cup);
  for (const double reach : {0.0, 1e-3, 0.02, 0.1}) CHECK_FALSE(mending::close_seams(w, reach));
}

TEST_CASE("corners apart by rounding are joined and never tied into the edges that end beside them") {
  // Some corners lie within a grain of an edge that ends a little farther off: it is their own edge.
  const TriangleSoup clean =
      shapes::terrain(20, 20, 2, -10, [](int i, int j) { return std::sin(i + 2.0 * j); });
  const double truth = enclosed(piece(clean));
  for (std::uint32_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    TriangleSoup s = clean;
    corruption::Vandal(seed).unweld(s, 1e-6);
    Workpiece w = piece(s);
    for (const double reach : {0.0, 1e-3, 0.02, 0.1}) mending::close_seams(w, reach);
    CHECK(count(w, Mending::t_junctions) == 0);
    CHECK(census(w).closed());
    CHECK(w.triangles.size() == clean.triangles.size());
    CHECK(enclosed(w) == doctest::Approx(truth).epsilon(1e-4));
    REQUIRE(step(w, Mending::cracks));
    CHECK(in_cubic_millimetres(step(w, Mending::cracks)->doubt) < 1e-3 * truth);
  }
}

TEST_CASE("a loose corner is an edge's own end up to a thousandth of it, and beyond that splits it") {
  for (const auto& [share, splits] : {std::pair(0.75e-3, false), std::pair(1.5e-3, true)}) {
    const double x = share * 100;
    // The corner lies on the edge from (0,0) to (100,0); its own edges are as long as that.
    Workpiece w =
        piece({{{0, 0, 0}, {100, 0, 0}, {50, -90, 0}, {x, 0, 0}, {x, 110, 0}}, {{0, 2, 1}, {3, 1, 4}}});
    mending::close_seams(w, 0);
    CHECK((count(w, Mending::t_junctions) > 0) == splits);
  }
}

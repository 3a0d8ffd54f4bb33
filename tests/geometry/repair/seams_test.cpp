// SPDX-License-Identifier: GPL-3.0-or-later
// Each reach is tried a quarter below and a half above: halved or doubled it would fail.
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
    CHECK(count(w, "cracks") == (joins ? 1 : 0));
  }
}

TEST_CASE(
    "both sides may be apart at both ends by a thousandth of the edge, beyond that they must share one") {
  for (const auto& [reach, joins] : {std::pair(0.75e-3, true), std::pair(1.5e-3, false)}) {
    Workpiece w = beside(5 * reach, false);
    CHECK(mending::close_seams(w, reach) == joins);
    Workpiece zip = beside(5 * reach, true);
    CHECK(mending::close_seams(zip, reach));
    REQUIRE(step(zip, "cracks"));
    CHECK(step(zip, "cracks")->doubt > Volume());
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
    CHECK((count(w, "t-junctions") > 0) == splits);
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

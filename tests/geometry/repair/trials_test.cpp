// SPDX-License-Identifier: GPL-3.0-or-later
// What a surface says of holes in it: nothing where it is plain, a feature's volume where it has features.
#include "geometry/repair/trials.hpp"

#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using mending::TrialHoles;

namespace {

/// A block of 30 × 30 mm whose top has a pyramid of this height on every `every`th corner of its grid.
Workpiece studded(double height, int every) {
  return piece(shapes::terrain(30, 30, 1, -5, [&](int i, int j) {
    return i % every == 0 && j % every == 0 && i > 0 && j > 0 && i < 30 && j < 30 ? height : 0.0;
  }));
}

}  // namespace

TEST_CASE("a block without features closes its trial holes exactly") {
  const Workpiece w = studded(0, 3);
  const auto errors = TrialHoles(w, w.triangles.size()).errors(2, 12);
  CHECK(errors.size() >= 4);
  CHECK(errors.back() < 1e-9);
}

TEST_CASE("errors come in rising order, no more than are asked for, the same every time") {
  const Workpiece w = studded(1, 3);
  const TrialHoles trials(w, w.triangles.size());
  for (const std::size_t most : {1, 5, 12}) {
    const auto errors = trials.errors(2, most);
    CHECK(errors.size() <= most);
    CHECK(std::is_sorted(errors.begin(), errors.end()));
    CHECK(errors == trials.errors(2, most));
  }
}

TEST_CASE("what features hold is what a hole may have hidden") {
  // Pyramids of 1 mm: on the grid's two triangulations 4 to 6 triangles of half a square millimetre, a third
  // of their plan each.
  const Workpiece w = studded(1, 3);
  const auto errors = TrialHoles(w, w.triangles.size()).errors(1.6, 24);
  REQUIRE(errors.size() >= 4);
  CHECK(errors.back() > 0.3);
  CHECK(errors.back() < 6);
}

TEST_CASE("a ball's caps are followed, not cut flat") {
  const Workpiece w = piece(shapes::sphere(20, 64));
  const auto errors = TrialHoles(w, w.triangles.size()).errors(6, 12);
  REQUIRE(errors.size() >= 4);
  // A cap of 6 mm holds π h² (3R − h) / 3 with h = R − √(R² − 36), common practice.
  const double h = 20 - std::sqrt(400 - 36.0), cap = shapes::pi * h * h * (60 - h) / 3;
  CHECK(errors[errors.size() / 2] < 0.2 * cap);
}

TEST_CASE("where such holes do not fit nothing is said") {
  const Workpiece small = piece(shapes::box({0, 0, 0}, {1, 1, 1}));
  CHECK(TrialHoles(small, small.triangles.size()).errors(5, 12).empty());  // more than half of all
  const Workpiece fine = studded(0, 3);
  CHECK(TrialHoles(fine, fine.triangles.size()).errors(0.1, 12).empty());  // fewer than four triangles
  CHECK(TrialHoles(fine, fine.triangles.size()).errors(2, 0).empty());
}

TEST_CASE("closings are not asked about themselves") {
  // Of a cube most of which counts as closings no patch is known surface.
  const Workpiece w = studded(1, 3);
  CHECK(TrialHoles(w, 40).errors(6, 12).empty());
}

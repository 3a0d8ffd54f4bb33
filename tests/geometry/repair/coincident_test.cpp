// SPDX-License-Identifier: GPL-3.0-or-later
#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;
using shapes::joined;

TEST_CASE("a triangle without area goes, a slim one stays") {
  // Height over the longest side against the share below which doubles cannot tell: 10⁻¹².
  for (const auto& [height, flat] : {std::pair(0.75e-12, true), std::pair(1.5e-12, false)}) {
    Workpiece w = piece({{{0, 0, 0}, {1, 0, 0}, {0.5, height, 0}}, {{0, 1, 2}}});
    mending::drop_coincident(w);
    CHECK(w.triangles.empty() == flat);
    CHECK(count(w, "flat-faces") == (flat ? 1 : 0));
  }
}

TEST_CASE("of a face that was written twice one copy stays, whichever way it faces") {
  for (const bool over : {false, true})
    for (std::size_t t = 0; t < 12; ++t) {
      TriangleSoup s = box({0, 0, 0}, {10, 20, 30});
      Triangle copy = s.triangles[t];
      if (over) std::swap(copy[1], copy[2]);
      s.triangles.push_back(copy);
      Workpiece w = piece(s);
      mending::drop_coincident(w);
      CHECK(count(w, "doubled-faces") == 1);
      CHECK(census(w).closed());
      CHECK(enclosed(w) == doctest::Approx(6000));
    }
}

TEST_CASE("a body whose every face was written both ways keeps one of each, also beside a hole") {
  TriangleSoup s = lacking(box({0, 0, 0}, {10, 20, 30}), {3});
  const TriangleSoup back = shapes::turned(s);
  Workpiece w = piece(joined({s, back}));
  mending::drop_coincident(w);
  CHECK(w.triangles.size() == 11);
  CHECK(count(w, "doubled-faces") == 11);
}

TEST_CASE("of the face that two bodies share both copies go, whichever triangle is missing") {
  const TriangleSoup stack = joined({box({0, 0, 0}, {40, 30, 5}), box({0, 0, 5}, {40, 30, 25})});
  for (std::size_t gone = 0; gone < 24; ++gone) {
    CAPTURE(gone);
    Workpiece w = piece(lacking(stack, {gone}));
    mending::drop_coincident(w);
    CHECK(count(w, "doubled-faces") == 0);
    // The shared face is the top of the first, 2 and 3, and the bottom of the second, 12 and 13. Their
    // diagonals differ or not; twins are those of the same corners.
    for (const Triangle& t : w.triangles)
      for (const Triangle& u : w.triangles) CHECK((&t == &u || t != u));
    const double off = std::abs(enclosed(w));
    CHECK(off > 0);
  }
}

TEST_CASE("a body inside a corner of another keeps the faces they share, for both face out") {
  // Same-facing twins along edges of four faces: neither is a copy.
  const TriangleSoup both = joined({box({0, 0, 0}, {10, 10, 10}), box({0, 0, 0}, {10, 10, 4})});
  Workpiece w = piece(both);
  mending::drop_coincident(w);
  CHECK(w.triangles.size() == both.triangles.size());
}

TEST_CASE("copies of a closed body") {
  TriangleSoup twice = joined({box({0, 0, 0}, {10, 10, 10}), box({0, 0, 0}, {10, 10, 10})});
  weld_in_place(twice.vertices, twice.triangles);
  CHECK(mending::drop_copies(twice.triangles) == 12);
  CHECK(twice.triangles.size() == 12);
  CHECK(mending::drop_copies(twice.triangles) == 0);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Each share is tried a quarter below and a half above: halved or doubled it would fail.
#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;
using shapes::joined;

namespace {

/// A box with a wall inside, from face to face at `x`: three triangles meet along its outline.
TriangleSoup divided(double x) {
  return joined({lacking(box({0, 0, 0}, {x, 10, 10}), {10, 11}), box({x, 0, 0}, {30, 10, 10})});
}

/// A cube of side 10 on whose top edges a roof or a pocket hangs, wound as the top is.
Workpiece roofed(double height) {
  TriangleSoup s = box({0, 0, 0}, {10, 10, 10});
  const auto apex = static_cast<Index>(s.vertices.size());
  s.vertices.emplace_back(5, 5, 10 + height);
  const auto find = [&](const Vec3& p) {
    return static_cast<Index>(std::find(s.vertices.begin(), s.vertices.end(), p) - s.vertices.begin());
  };
  const Index top[4] = {find({0, 0, 10}), find({10, 0, 10}), find({10, 10, 10}), find({0, 10, 10})};
  for (int k = 0; k < 4; ++k) s.triangles.push_back({top[k], top[(k + 1) % 4], apex});
  return piece(s);
}

}  // namespace

TEST_CASE("a wall that divides a body from inside goes, wherever it stands") {
  for (const double x : {3.0, 15.0, 26.0}) {
    CAPTURE(x);
    Workpiece w = piece(divided(x));
    mending::drop_flaps(w);
    CHECK(count(w, "inner-sheets") == 2);
    CHECK(census(w).closed());
    CHECK(std::abs(enclosed(w)) == doctest::Approx(3000));
  }
}

TEST_CASE("a body without crowded edges is left alone") {
  Workpiece w = piece(lacking(box({0, 0, 0}, {10, 10, 10}), {3}));
  mending::drop_flaps(w);
  CHECK(w.triangles.size() == 11);
  CHECK(w.steps.empty());
}

TEST_CASE("of two sheets with one outline that serve alike, what lies between them is in doubt") {
  // A shallow roof over a top, or a top under a roof.
  Workpiece w = roofed(2);
  mending::drop_flaps(w);
  REQUIRE(count(w, "inner-sheets") > 0);
  CHECK(census(w).closed());
  const double between = 10 * 10 * 2 / 3.0;
  CHECK(in_cubic_millimetres(step(w, "inner-sheets")->doubt) == doctest::Approx(between));
  const double left = std::abs(enclosed(w));
  CHECK((left == doctest::Approx(1000) || left == doctest::Approx(1000 + between)));
}

TEST_CASE("bodies that share a face, with other diagonals, lose nothing") {
  for (std::size_t gone = 0; gone < 24; ++gone) {
    CAPTURE(gone);
    TriangleSoup top = box({0, 0, 5}, {40, 30, 25});
    // The bottom's other diagonal.
    top.triangles[0] = {top.triangles[0][0], top.triangles[0][1], top.triangles[1][2]};
    const Triangle c = box({0, 0, 5}, {40, 30, 25}).triangles[0];
    top.triangles[1] = {top.triangles[1][2], c[1], c[2]};
    Workpiece w = piece(lacking(joined({box({0, 0, 0}, {40, 30, 5}), top}), {gone}));
    mending::drop_flaps(w);
    CHECK(w.triangles.size() == 23);
  }
}

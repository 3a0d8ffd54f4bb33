// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/repair/parts.hpp"

#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;

namespace {

mending::Part weighed(const TriangleSoup& s) {
  const Workpiece w = piece(s);
  return mending::survey(w, std::vector<Index>(w.triangles.size(), 0), 1)[0];
}

}  // namespace

TEST_CASE("a closed part has volume, area, no border and no opening") {
  const mending::Part p = weighed(box({0, 0, 0}, {10, 20, 30}));
  CHECK(p.triangles == 12);
  CHECK(p.area == doctest::Approx(2200));
  CHECK(p.volume == doctest::Approx(6000));
  CHECK(p.border == 0);
  CHECK(p.openness() < 1e-12);
}

TEST_CASE("a flat part is all opening, and its border is its outline") {
  shapes::Builder b;
  b.quad({0, 0, 5}, {30, 0, 5}, {30, 40, 5}, {0, 40, 5});
  const mending::Part p = weighed(b.take());
  CHECK(p.openness() == doctest::Approx(1));
  CHECK((p.facing - Vec3(0, 0, 1200)).norm() < 1e-9);
  CHECK(p.border == doctest::Approx(140));
  CHECK(p.volume == doctest::Approx(0));
}

TEST_CASE("a box without its lid is open by a fifth of what is left of a cube") {
  const mending::Part p = weighed(lacking(box({0, 0, 0}, {10, 10, 10}), {2, 3}));
  CHECK(p.openness() == doctest::Approx(0.2));
  CHECK(p.border == doctest::Approx(40));
}

TEST_CASE("far from the origin no digits are lost, and each part is weighed by itself") {
  const Vec3 far(1e7, -2e7, 3e6);
  const Workpiece w = piece(shapes::joined({box(far, far + Vec3(1, 2, 3)), box({0, 0, 0}, {4, 4, 4})}));
  std::vector<Index> part_of;
  for (const Triangle& t : w.triangles) part_of.push_back(w.vertices[t[0]].norm() > 1e6 ? 0 : 1);
  const auto parts = mending::survey(w, part_of, 2);
  CHECK(parts[0].volume == doctest::Approx(6).epsilon(1e-12));
  CHECK(parts[1].volume == doctest::Approx(64).epsilon(1e-12));
  CHECK(parts[0].triangles == 12);
}

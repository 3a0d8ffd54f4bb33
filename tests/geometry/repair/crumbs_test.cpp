// SPDX-License-Identifier: GPL-3.0-or-later
// Each share is tried a quarter below and a half above: halved or doubled it would fail.
#include "workpieces.hpp"

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;
using shapes::joined;

namespace {

/// An open roof of four faces over a square of side 2a, of this cosine of slope.
TriangleSoup roof(double a, double cosine, const Vec3& at) {
  const double height = a * std::sqrt(1 - cosine * cosine) / cosine;
  const Vec3 top = at + Vec3(0, 0, height);
  const Vec3 p[4] = {at + Vec3(-a, -a, 0), at + Vec3(a, -a, 0), at + Vec3(a, a, 0), at + Vec3(-a, a, 0)};
  shapes::Builder b;
  for (int k = 0; k < 4; ++k) b.triangle(p[k], p[(k + 1) % 4], top);
  return b.take();
}

/// A box without its top.
TriangleSoup tray(double side, double height, const Vec3& at) {
  return lacking(box(at, at + Vec3(side, side, height)), {2, 3});
}

TriangleSoup square(double side, const Vec3& at) {
  shapes::Builder b;
  b.quad(at, at + Vec3(side, 0, 0), at + Vec3(side, side, 0), at + Vec3(0, side, 0));
  return b.take();
}

const Vec3 far_off(300, 0, 50);

Workpiece beside_cube(const TriangleSoup& part) {
  Workpiece w = piece(joined({box({0, 0, 0}, {100, 100, 100}), part}));
  mending::drop_crumbs(w);
  return w;
}
bool dropped(const Workpiece& w) {
  return !w.steps.empty();
}

}  // namespace

TEST_CASE("an open part is a sheet when its area vectors add up to four fifths of its area") {
  const Workpiece shallow = beside_cube(roof(40, 0.9, far_off)), steep = beside_cube(roof(40, 0.7, far_off));
  CHECK(count(shallow, "loose-sheets") == 1);
  CHECK_FALSE(dropped(steep));
  // What it would enclose, closed flat, is in doubt: a pyramid.
  const double height = 40 * std::sqrt(1 - 0.81) / 0.9;
  CHECK(in_cubic_millimetres(step(shallow, "loose-sheets")->doubt) == doctest::Approx(80 * 80 * height / 3));
}

TEST_CASE("a plate that lacks its largest side is a body and no sheet") {
  const Workpiece w = beside_cube(lacking(box({300, 0, 0}, {400, 80, 3}), {2, 3}));
  CHECK_FALSE(dropped(w));
  const Workpiece flat = beside_cube(square(80, far_off));
  CHECK(count(flat, "loose-sheets") == 1);
  CHECK(in_cubic_millimetres(step(flat, "loose-sheets")->doubt) == doctest::Approx(0).epsilon(1e-9));
}

TEST_CASE("a scrap is open, of less than a hundredth of the body's area and not all but closed") {
  // Five faces: one faces up against none, so the openness is side² over the area.
  const auto part = [](double area, double openness) {
    const double side = std::sqrt(openness * area);
    return tray(side, (area - side * side) / (4 * side), far_off);
  };
  CHECK(count(beside_cube(part(450, 0.3)), "fragments") == 1);
  CHECK_FALSE(dropped(beside_cube(part(900, 0.3))));
  CHECK(dropped(beside_cube(part(450, 0.25))));
  CHECK_FALSE(dropped(beside_cube(part(450, 0.15))));
  const Workpiece w = beside_cube(part(450, 0.3));
  const double side = std::sqrt(0.3 * 450), height = (450 - side * side) / (4 * side);
  CHECK(in_cubic_millimetres(step(w, "fragments")->doubt) == doctest::Approx(side * side * height));
}

TEST_CASE("a crumb is closed and small in area and in volume; its volume is in doubt") {
  const Workpiece w = beside_cube(box(far_off, far_off + Vec3(4.5, 4.5, 0.25)));
  REQUIRE(count(w, "fragments") == 1);
  CHECK(in_cubic_millimetres(step(w, "fragments")->doubt) == doctest::Approx(4.5 * 4.5 * 0.25));
  CHECK_FALSE(dropped(beside_cube(box(far_off, far_off + Vec3(6.5, 6.5, 0.2)))));
  // Of a thin plate the volume counts: 10⁻⁴ of 10 000 mm³.
  for (const auto& [side, crumb] : {std::pair(0.909, true), std::pair(1.145, false)}) {
    Workpiece plate =
        piece(joined({box({0, 0, 0}, {100, 100, 1}), box(far_off, far_off + Vec3(side, side, side))}));
    mending::drop_crumbs(plate);
    CHECK(dropped(plate) == crumb);
  }
}

TEST_CASE("the table is wide, the body stands on it, and nothing of it is in doubt") {
  const double wide = std::sqrt(0.15 * 60000), small = std::sqrt(0.075 * 60000);
  CHECK(count(beside_cube(square(wide, {0, 0, -1})), "table") == 1);
  CHECK(count(beside_cube(square(small, {0, 0, -1})), "loose-sheets") == 1);
  CHECK(count(beside_cube(square(wide, {0, 0, 7})), "table") == 1);
  CHECK(count(beside_cube(square(wide, {0, 0, 15})), "loose-sheets") == 1);
}

TEST_CASE("the body is what is not flat, however wide the table; of sheets alone the largest") {
  const Workpiece w = beside_cube(square(1000, {0, 0, -1}));
  CHECK(count(w, "table") == 1);
  CHECK(w.triangles.size() == 12);
  Workpiece sheets = piece(joined({square(50, {0, 0, 0}), square(10, {0, 0, 20})}));
  mending::drop_crumbs(sheets);
  CHECK(bounds({sheets.vertices, sheets.triangles}).size().z() >= 0);
  REQUIRE(sheets.triangles.size() == 2);
  CHECK(sheets.normal(0).norm() == doctest::Approx(2500));
}

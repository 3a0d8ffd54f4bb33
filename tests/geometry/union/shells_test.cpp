// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/union/shells.hpp"

#include <pourwright/solid.hpp>
#include <pourwright/union.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

Surface surface_of(const std::vector<TriangleSoup>& parts) {
  TriangleSoup soup = joined(parts);
  weld_in_place(soup.vertices, soup.triangles);
  return make_surface(std::move(soup));
}

TriangleSoup turned_about_z(const TriangleSoup& s, double degrees) {
  const Eigen::Matrix3d m = Eigen::AngleAxisd(degrees * pi / 180, Vec3::UnitZ()).toRotationMatrix();
  return moved(s, [m](const Vec3& p) { return Vec3(m * p); });
}

std::size_t copies(const std::vector<TriangleSoup>& parts) {
  const auto u = unite_shells(surface_of(parts));
  REQUIRE(u);
  return u->copies;
}

}  // namespace

TEST_CASE("bars that cross have one box and one volume, and are two bodies all the same") {
  const TriangleSoup bar = box({-50, -6, 0}, {50, 6, 9});
  for (const double half : {5.0, 10.0, 30.0, 45.0}) {
    CAPTURE(half);
    const TriangleSoup a = turned_about_z(bar, half), b = turned_about_z(bar, -half);
    const auto u = unite_shells(surface_of({a, b}));
    REQUIRE(u);
    CHECK(u->copies == 0);
    // They share a rhombus with the bars' width for height; of the flattest the ends cut it.
    if (half >= 10)
      CHECK(in_cubic_millimetres(u->volume) ==
            doctest::Approx(9 * (2 * 1200 - 144 / std::sin(2 * half * pi / 180))).epsilon(1e-9));
  }
}

TEST_CASE("frames that cross are two bodies") {
  const auto frame = [](double turn) {
    return turned_about_z(revolve({{30, 0}, {34, 0}, {34, 5}, {30, 5}}, 4, true), turn);
  };
  CHECK(copies({frame(20), frame(-20)}) == 0);
}

TEST_CASE("a second scan of a thin cup, a little aside, is there twice") {
  const std::vector<Station> cup{{0, 0}, {25, 0}, {25, 40}, {22, 40}, {22, 3}, {0, 3}};
  const TriangleSoup one = revolve(cup, 48);
  const TriangleSoup two = moved(one, [](const Vec3& p) { return Vec3(p + Vec3(0.2, 0.1, 0.05)); });
  const auto u = unite_shells(surface_of({one, two}));
  REQUIRE(u);
  CHECK(u->copies == 1);
  // One of them stays; what the other would add is in doubt.
  const double single = measure(one.vertices, one.triangles, Vec3::Zero()).volume;
  CHECK(in_cubic_millimetres(u->volume) == doctest::Approx(single).epsilon(1e-9));
  CHECK(in_cubic_millimetres(u->copies_add) > 0.01 * single);
  CHECK(in_cubic_millimetres(u->copies_add) < 0.25 * single);
}

TEST_CASE("how much two bodies must share: a slab, aside by shares of its thickness") {
  // A shift by a fifth leaves four fifths in common, one by a third two thirds; the boxes differ little.
  const TriangleSoup slab = box({0, 0, 0}, {100, 100, 6});
  const auto up = [&](double by) {
    return moved(slab, [by](const Vec3& p) { return Vec3(p + Vec3(0.1, 0.1, by)); });
  };
  CHECK(copies({slab, up(1.2)}) == 1);
  CHECK(copies({slab, up(2.0)}) == 0);
}

TEST_CASE("bodies of nearly one volume that stand apart are never copies") {
  CHECK(copies({box({0, 0, 0}, {10, 10, 10}), box({10, 0, 0}, {20, 10, 10})}) == 0);
}

TEST_CASE("many copies, each a little aside, are one body, soon") {
  std::vector<TriangleSoup> parts;
  for (int k = 0; k < 30; ++k)
    parts.push_back(moved(sphere(20, 16), [k](const Vec3& p) {
      return Vec3(p + Vec3(0.011 * k, 0.007 * (k % 5), 0.013 * (k % 7)));
    }));
  const auto u = unite_shells(surface_of(parts));
  REQUIRE(u);
  CHECK(u->copies == 29);
  const double single = measure(parts[0].vertices, parts[0].triangles, Vec3::Zero()).volume;
  CHECK(in_cubic_millimetres(u->volume) == doctest::Approx(single).epsilon(1e-6));
  CHECK(in_cubic_millimetres(u->volume + u->copies_add) >= single);
}

TEST_CASE("a shell inside out is turned where it is a body, and stays where it is a void") {
  Surface s = surface_of({box({0, 0, 0}, {20, 20, 20}), turned(box({5, 5, 5}, {9, 9, 9})),
                          turned(box({30, 0, 0}, {40, 10, 10}))});
  CHECK(uniting::turn_inverted(s, {}) == 1);
  CHECK(uniting::signed_volume(s.vertices, s.triangles, s.box.centre()) ==
        doctest::Approx(8000 - 64 + 1000).epsilon(1e-12));
  // All of it inside out.
  Surface t = surface_of({turned(box({0, 0, 0}, {20, 20, 20})), box({5, 5, 5}, {9, 9, 9})});
  CHECK(uniting::turn_inverted(t, {}) == 2);
  CHECK(uniting::signed_volume(t.vertices, t.triangles, t.box.centre()) ==
        doctest::Approx(8000 - 64).epsilon(1e-12));
}

TEST_CASE("bodies in contact are counted once each, whatever touches them") {
  const Surface s = surface_of({box({0, 0, 0}, {10, 10, 10}), box({8, 0, 0}, {20, 10, 10}),
                                box({18, 0, 0}, {30, 10, 10}), box({50, 0, 0}, {60, 10, 10})});
  const auto contacts = uniting::find_contacts(s.vertices, s.triangles, 1000);
  REQUIRE(contacts);
  CHECK(uniting::bodies_in(s, *contacts) == 3);
  CHECK(uniting::bodies_in(s, {}) == 0);
}

TEST_CASE("without some shells the others stay as they are") {
  const Surface s =
      surface_of({box({0, 0, 0}, {10, 10, 10}), box({20, 0, 0}, {25, 5, 5}), box({40, 0, 0}, {41, 1, 1})});
  const TriangleSoup left = uniting::without(s, {false, true, false});
  CHECK(left.triangles.size() == 24);
  CHECK(left.vertices.size() == 16);
  CHECK(uniting::signed_volume(left.vertices, left.triangles, Vec3::Zero()) == doctest::Approx(1001));
}

TEST_CASE("copies have one box and one volume, to three hundredths") {
  const TriangleSoup one = revolve({{0, 0}, {30, 0}, {30, 50}, {0, 50}}, 32);
  // Of a body 98.5 mm across three hundredths are 2.96 mm, and of its volume 1.5 % of its height.
  for (const auto& [longer, copy] : {std::pair(1.0, 1), std::pair(2.2, 0)}) {
    const TriangleSoup two = moved(one, [&, l = longer](const Vec3& p) {
      return Vec3(p.x() + 0.01, p.y() + 0.02, p.z() > 25 ? p.z() + l : p.z());
    });
    CHECK(copies({one, two}) == static_cast<std::size_t>(copy));
  }
}

TEST_CASE("the volume of a shell does not hang on where it is taken about") {
  const TriangleSoup ball = sphere(10, 24, {3, 4, 5});
  const double about = uniting::signed_volume(ball.vertices, ball.triangles, {3, 4, 5});
  CHECK(uniting::signed_volume(ball.vertices, ball.triangles, {-90, 7, 1}) ==
        doctest::Approx(about).epsilon(1e-12));
  const TriangleSoup in = turned(ball);
  CHECK(uniting::signed_volume(in.vertices, in.triangles, {3, 4, 5}) ==
        doctest::Approx(-about).epsilon(1e-14));
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Which pieces of surfaces in contact bound what is wrapped, and what that may cost.
#include "geometry/union/arrangement.hpp"

#include <pourwright/solid.hpp>

#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;
using namespace pourwright::uniting;

namespace {

constexpr std::size_t plenty = 1'000'000;

struct Outcome {
  std::optional<TriangleSoup> soup;
  std::size_t used = 0, contacts = 0;
};
Outcome arrange(const TriangleSoup& s, std::size_t work = plenty) {
  const auto contacts = find_contacts(s.vertices, s.triangles, plenty);
  REQUIRE(contacts);
  std::size_t left = work;
  Outcome out{outer_boundary(s.vertices, s.triangles, *contacts, left), 0, contacts->size()};
  out.used = work - left;
  return out;
}

double held_by_boundary(const TriangleSoup& s) {
  return measure(s.vertices, s.triangles, bounds(s).centre()).volume;
}

TriangleSoup scaled(TriangleSoup s, double by) {
  for (Vec3& p : s.vertices) p *= by;
  return s;
}

}  // namespace

TEST_CASE("the boundary of what is wrapped is closed, faces out and encloses inclusion and exclusion") {
  const Outcome o = arrange(joined({box({0, 0, 0}, {10, 10, 10}), box({4, 5, 6}, {14, 15, 16})}));
  REQUIRE(o.soup);
  const Surface s = make_surface(*o.soup);
  CHECK(s.census.closed());
  CHECK(s.census.oriented());
  CHECK(held_by_boundary(*o.soup) == doctest::Approx(2000 - 6 * 5 * 4).epsilon(1e-13));
  CHECK(measure(s.vertices, s.triangles, Vec3::Zero()).area == doctest::Approx(1200 - 2 * (30 + 24 + 20)));
}

TEST_CASE("faces that coincide cancel when they meet back to back and stay once when they agree") {
  const TriangleSoup a = box({0, 0, 0}, {10, 10, 10});
  const Outcome beside = arrange(joined({a, box({10, 0, 0}, {20, 10, 10})}));
  REQUIRE(beside.soup);
  CHECK(held_by_boundary(*beside.soup) == doctest::Approx(2000));
  CHECK(measure(beside.soup->vertices, beside.soup->triangles, Vec3::Zero()).area == doctest::Approx(1000));
  const Outcome twice = arrange(joined({a, a}));
  REQUIRE(twice.soup);
  CHECK(held_by_boundary(*twice.soup) == doctest::Approx(1000));
  CHECK(measure(twice.soup->vertices, twice.soup->triangles, Vec3::Zero()).area == doctest::Approx(600));
}

TEST_CASE("what is wrapped twice inside leaves nothing there") {
  // A cross of two bars: no face of one bar stays inside the other.
  const Outcome o = arrange(joined({box({-20, -2, -2}, {20, 2, 2}), box({-2, -20, -1}, {2, 20, 1})}));
  REQUIRE(o.soup);
  for (const Vec3& p : o.soup->vertices) {
    const bool inside =
        std::abs(p.x()) < 2 - 1e-9 && std::abs(p.y()) < 2 - 1e-9 && std::abs(p.z()) < 1 - 1e-9;
    CHECK_FALSE(inside);
  }
  CHECK(held_by_boundary(*o.soup) == doctest::Approx(40 * 16 + 40 * 8 - 4 * 4 * 2).epsilon(1e-13));
}

TEST_CASE("work is taken off, and what would cost more than is left is not begun") {
  const TriangleSoup s = joined({box({0, 0, 0}, {10, 10, 10}), box({4, 5, 6}, {14, 15, 16})});
  const Outcome o = arrange(s);
  REQUIRE(o.soup);
  // A contact is a unit; places where contacts cross weigh four.
  CHECK(o.used >= o.contacts);
  CHECK((o.used - o.contacts) % 4 == 0);
  CHECK(arrange(s, o.used).soup);
  CHECK_FALSE(arrange(s, o.used - 1).soup);
}

TEST_CASE("a place where contacts cross costs four, and is one for each pair of lines on a face") {
  // Bars through a plate each leave their outline on its faces; bars that cross there cross each other's.
  const TriangleSoup plate = box({-50, -50, 0}, {50, 50, 1});
  const TriangleSoup one = box({-30, -3, -10}, {30, 3, 11}), other = box({-3, -20, -9}, {3, 20, 12});
  const Outcome a = arrange(joined({plate, one})), b = arrange(joined({plate, one, other}));
  REQUIRE(a.soup);
  REQUIRE(b.soup);
  const std::size_t crossings = (b.used - b.contacts) / 4;
  // Four on the plate's top and four on its underside at least: two outlines of two long sides each.
  CHECK(crossings >= 8);
  CHECK(held_by_boundary(*b.soup) ==
        doctest::Approx(1e4 + (60 * 6 * 21 - 60 * 6) + (6 * 40 * 21 - 6 * 40) - (6 * 6 * 20 - 6 * 6))
            .epsilon(1e-12));
}

TEST_CASE("size costs nothing, longer numbers do") {
  const TriangleSoup s = joined({box({0, 0, 0}, {10, 10, 10}), box({4, 5, 6}, {14, 15, 16})});
  CHECK(arrange(scaled(s, 1024)).used == arrange(s).used);
  CHECK(arrange(scaled(s, 1.0 / 1024)).used == arrange(s).used);
  TriangleSoup fine = s;
  for (Vec3& v : fine.vertices)
    if (v == Vec3(10, 0, 0))
      v -= Vec3(0, 1e-20, 1e-20);  // of a face that meets: a hundred bits below the rest
  const Outcome o = arrange(fine);
  REQUIRE(o.soup);
  CHECK(o.used > arrange(s).used);
}

TEST_CASE("what is not closed is refused") {
  TriangleSoup open = joined({box({0, 0, 0}, {10, 10, 10}), box({4, 5, 6}, {14, 15, 16})});
  open.triangles.pop_back();
  CHECK_FALSE(arrange(open).soup);
}

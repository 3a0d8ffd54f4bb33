// SPDX-License-Identifier: GPL-3.0-or-later
// Pairs of triangles that touch, against all pairs.
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/union/arrangement.hpp"
#include "support/shapes.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;
using uniting::Contact;
using uniting::find_contacts;

namespace {

std::vector<Contact> contacts(const TriangleSoup& s) {
  const auto found = find_contacts(s.vertices, s.triangles, 1'000'000);
  REQUIRE(found);
  return *found;
}

}  // namespace

TEST_CASE("neighbours of one surface are no contact") {
  CHECK(contacts(box({0, 0, 0}, {1, 2, 3})).empty());
  CHECK(contacts(sphere(10, 24)).empty());
  CHECK(contacts(joined({box({0, 0, 0}, {1, 1, 1}), box({1 + 1e-12, 0, 0}, {2, 1, 1})})).empty());
}

TEST_CASE("crossing, touching along a line, and in a point are contacts") {
  const auto two = [](const Vec3& p, const Vec3& q, const Vec3& r) {
    return TriangleSoup{{{0, 0, 0}, {4, 0, 0}, {0, 4, 0}, p, q, r}, {{0, 1, 2}, {3, 4, 5}}};
  };
  const std::vector<Contact> one{{0, 1}};
  CHECK(contacts(two({1, 1, -1}, {1, 1, 1}, {5, 5, 0})) == one);  // through its inside
  CHECK(contacts(two({0, 0, 0}, {4, 0, 0}, {0, 0, 3})) == one);  // along an edge that is not shared by number
  CHECK(contacts(two({1, 1, 0}, {1, 1, 3}, {2, 2, 3})) == one);  // a corner on it
  CHECK(contacts(two({1, 1, 0.001}, {1, 1, 3}, {2, 2, 3})).empty());
  CHECK(contacts(two({1, 1, 0}, {2, 1, 0}, {1, 2, 0})) == one);  // in its plane
}

TEST_CASE("the same pairs as all against all, in order") {
  std::mt19937 random(3);
  const auto some = [&] { return static_cast<double>(random() % 17); };
  for (int round = 0; round < 20; ++round) {
    TriangleSoup s;
    for (Index i = 0; i < 60; ++i) {
      // Small whole numbers: many triangles touch exactly.
      const Vec3 at(some(), some(), some());
      for (int k = 0; k < 3; ++k) s.vertices.push_back(at + 0.25 * Vec3(some(), some(), some()));
      s.triangles.push_back({3 * i, 3 * i + 1, 3 * i + 2});
    }
    std::vector<Contact> expected;
    for (Index i = 0; i < 60; ++i)
      for (Index j = i + 1; j < 60; ++j)
        if (triangles_overlap(s.vertices, s.triangles[i], s.triangles[j])) expected.emplace_back(i, j);
    CHECK(contacts(s) == expected);
  }
}

TEST_CASE("more than are asked for are not counted") {
  const TriangleSoup s = joined({box({0, 0, 0}, {2, 2, 2}), box({1, 1, 1}, {3, 3, 3})});
  const std::size_t all = contacts(s).size();
  CHECK(all > 3);
  CHECK(find_contacts(s.vertices, s.triangles, all));
  CHECK_FALSE(find_contacts(s.vertices, s.triangles, all - 1));
}

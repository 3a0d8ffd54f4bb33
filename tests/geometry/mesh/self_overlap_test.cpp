// SPDX-License-Identifier: GPL-3.0-or-later
// The search against all pairs. The pairwise answer itself is checked by exact constructions in
// exact_test.cpp.
#include "geometry/mesh/self_overlap.hpp"

#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

bool any_pair_overlaps(const TriangleSoup& s) {
  for (std::size_t i = 0; i < s.triangles.size(); ++i)
    for (std::size_t j = i + 1; j < s.triangles.size(); ++j)
      if (triangles_overlap(s.vertices, s.triangles[i], s.triangles[j])) return true;
  return false;
}

void check_against_all_pairs(const TriangleSoup& s, std::size_t& with, std::size_t& without) {
  const auto hit = find_self_overlap(s.vertices, s.triangles);
  CHECK(hit.has_value() == any_pair_overlaps(s));
  ++(hit ? with : without);
  if (!hit) return;
  CHECK(hit->first < hit->second);
  CHECK(triangles_overlap(s.vertices, s.triangles[hit->first], s.triangles[hit->second]));
}

TriangleSoup torus(double major, double minor, int n) {
  std::vector<Station> p = arc(minor, major, 0, 0, 2 * pi, n / 2);
  p.pop_back();
  return revolve(p, n, true);
}

}  // namespace

TEST_CASE("random triangles") {
  std::mt19937 random(1);
  std::size_t with = 0, without = 0;
  for (int round = 0; round < 400; ++round) {
    TriangleSoup s;
    const std::size_t count = 5 + random() % 30;
    std::uniform_real_distribution<double> place(0, 10), size(-2, 2);
    for (Index t = 0; t < count; ++t) {
      const double x = place(random), y = place(random), z = place(random);
      for (int k = 0; k < 3; ++k) {
        const double a = size(random), b = size(random), c = size(random);
        s.vertices.push_back(Vec3(x + a, y + b, z + c));
      }
      s.triangles.push_back({3 * t, 3 * t + 1, 3 * t + 2});
    }
    check_against_all_pairs(s, with, without);
  }
  CHECK(with > 50);
  CHECK(without > 50);
}

TEST_CASE("triangles on a few lattice points, welded: contacts of every degenerate kind") {
  std::mt19937 random(2);
  std::size_t with = 0, without = 0;
  for (int round = 0; round < 3000; ++round) {
    Builder b;
    const unsigned range = 2 + static_cast<unsigned>(random() % 4);
    const std::size_t count = 2 + random() % 4;
    const auto point = [&] {
      const double x = static_cast<double>(random() % range), y = static_cast<double>(random() % range);
      return Vec3(x, y, static_cast<double>(random() % range));
    };
    for (std::size_t t = 0; t < count; ++t) {
      const Vec3 p = point(), q = point(), r = point();
      b.triangle(p, q, r);
    }
    check_against_all_pairs(b.take(), with, without);
  }
  CHECK(with > 500);
  CHECK(without > 500);
}

TEST_CASE("clean meshes do not overlap; a vertex pushed through the other side does") {
  for (const int n : {16, 48, 128}) {
    CHECK_FALSE(find_self_overlap(sphere(10, n).vertices, sphere(10, n).triangles));
    TriangleSoup s = torus(30, 10, n);
    CHECK_FALSE(find_self_overlap(s.vertices, s.triangles));
    for (std::uint32_t seed = 1; seed <= 5; ++seed) {
      TriangleSoup r = renumbered(s, seed);
      const Vec3 p = r.vertices[0];
      const Vec3 ring = Vec3(p.x(), p.y(), 0).normalized() * 30;
      r.vertices[0] = p + 2.2 * (ring - p);  // through the tube's axis and out at the other side
      CHECK(find_self_overlap(r.vertices, r.triangles));
    }
  }
}

TEST_CASE("touching is overlap unless the touching parts are shared") {
  const TriangleSoup a = box({0, 0, 0}, {2, 2, 2});
  const auto touches = [&](const Vec3& lo, const Vec3& hi, bool weld) {
    Builder b;
    b.add(a);
    b.add(box(lo, hi));
    const TriangleSoup s = weld ? b.take() : joined({a, box(lo, hi)});
    return find_self_overlap(s.vertices, s.triangles).has_value();
  };
  CHECK(touches({2, 0, 0}, {4, 2, 2}, true));        // a whole face
  CHECK(touches({2, 0.5, 0.5}, {4, 1, 1}, true));    // part of a face
  CHECK(touches({2, 2, 0}, {4, 4, 2}, false));       // an edge, not welded
  CHECK_FALSE(touches({2, 2, 0}, {4, 4, 2}, true));  // the same, welded
  CHECK(touches({2, 2, 0.5}, {4, 4, 1}, true));      // part of an edge
  CHECK(touches({2, 2, 2}, {4, 4, 4}, false));       // a vertex, not welded
  CHECK_FALSE(touches({2, 2, 2}, {4, 4, 4}, true));  // the same, welded
  CHECK(touches({1, 1, 2}, {4, 4, 4}, true));        // a vertex on a face
  CHECK_FALSE(touches({2 + 1e-12, 0, 0}, {4, 2, 2}, true));
  CHECK(touches({2 - 1e-12, 0, 0}, {4, 2, 2}, true));
}

TEST_CASE("neighbours that are cleared vertex by vertex hide no overlap") {
  std::size_t with = 0, without = 0;
  const auto check = [&](const TriangleSoup& s) {
    const auto each = find_self_overlap(s.vertices, s.triangles),
               at_once = find_self_overlap(s.vertices, s.triangles, true);
    CHECK(each.has_value() == any_pair_overlaps(s));
    REQUIRE(each.has_value() == at_once.has_value());
    ++(each ? with : without);
    if (!each) return;
    CHECK(each->first == at_once->first);
    CHECK(each->second == at_once->second);
  };
  std::mt19937 random(5);
  // Closed surfaces, crumpled more and more; the second time on a lattice, where much is level or in line.
  for (const double grain : {0.0, 0.5})
    for (int round = 0; round < 300; ++round) {
      TriangleSoup s = round % 2 == 0 ? sphere(10, 8) : torus(10, 4, 8);
      std::uniform_real_distribution<double> push(-0.02 * round, 0.02 * round);
      for (Vec3& p : s.vertices) {
        p += Vec3(push(random), push(random), push(random));
        if (grain > 0) p = (p / grain).array().round() * grain;
      }
      check(s);
    }
  CHECK(with > 100);
  CHECK(without > 50);
  // Pairs of cones over one ring that goes round more than once: at a tip only neighbours meet.
  for (const int turns : {1, 2, 3})
    for (int axis = 0; axis < 3; ++axis) {
      constexpr int n = 7;
      TriangleSoup s;
      for (const auto& [r, z] : {std::pair{10.0, 0.1}, std::pair{0.0, 20.0}, std::pair{0.0, -20.0}})
        for (int k = 0; k < (r > 0 ? n : 1); ++k) {
          const Vec3 p = on_circle(r > 0 ? r + k : 0, z * (r > 0 ? k : 1), k * turns, n);
          s.vertices.push_back(Vec3(p[axis], p[(axis + 1) % 3], p[(axis + 2) % 3]));
        }
      for (Index k = 0; k < n; ++k) {
        s.triangles.push_back({k, (k + 1) % n, n});
        s.triangles.push_back({(k + 1) % n, k, n + 1});
      }
      CHECK(find_self_overlap(s.vertices, s.triangles, true).has_value() == (turns > 1));
      check(s);
    }
}

TEST_CASE("doubled and folded triangles overlap") {
  TriangleSoup s;
  s.vertices = {{0, 0, 0}, {4, 0, 0}, {0, 4, 0}, {1, 1, 0}, {4, 5, 0}, {2, -3, 0}};
  CHECK(triangles_overlap(s.vertices, {0, 1, 2}, {0, 2, 1}));
  CHECK(triangles_overlap(s.vertices, {0, 1, 2}, {0, 1, 3}));        // folded back over the shared edge
  CHECK_FALSE(triangles_overlap(s.vertices, {0, 1, 2}, {1, 0, 5}));  // flat neighbours
  CHECK(triangles_overlap(s.vertices, {0, 1, 2}, {0, 3, 4}));        // sharing a corner, lying in each other
  // A fold so thin that rounded normals say nothing.
  s.vertices = {{0, 0, 0},
                {1, 1, 1},
                {1.0 / 3, 1.0 / 3, std::nextafter(1.0 / 3, 1)},
                {2.0 / 3, 2.0 / 3, std::nextafter(2.0 / 3, 1)}};
  CHECK(triangles_overlap(s.vertices, {0, 1, 2}, {0, 1, 3}));
}

TEST_CASE("triangles without area are passed over") {
  TriangleSoup s = box({0, 0, 0}, {2, 2, 2});
  s.vertices.push_back({-1, 1, 1});
  s.vertices.push_back({1, 1, 1});
  s.vertices.push_back({3, 1, 1});
  s.triangles.push_back({8, 9, 10});
  CHECK_FALSE(find_self_overlap(s.vertices, s.triangles));
}

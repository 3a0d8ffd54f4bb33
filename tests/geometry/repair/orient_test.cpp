// SPDX-License-Identifier: GPL-3.0-or-later
#include "workpieces.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace workpieces;
using shapes::box;
using shapes::joined;

namespace {

/// Turned by an angle that no coordinate survives exactly.
TriangleSoup askew(const TriangleSoup& s) {
  return shapes::moved(s, [](const Vec3& p) {
    const double c = std::cos(0.7), d = std::sin(0.7);
    return Vec3(c * p.x() - d * p.y(), d * p.x() + c * p.y(), p.z() + 0.3 * p.x());
  });
}

}  // namespace

TEST_CASE("flipped faces turn to the majority") {
  const TriangleSoup s = box({0, 0, 0}, {10, 20, 30});
  for (std::size_t t = 0; t < 12; ++t) {
    Workpiece w = piece(s);
    std::swap(w.triangles[t][1], w.triangles[t][2]);
    mending::orient(w);
    CHECK(count(w, "flipped-faces") == 1);
    CHECK(census(w).oriented());
    CHECK(enclosed(w) == doctest::Approx(6000));
  }
}

TEST_CASE("bodies that share an edge are turned each for itself, whichever triangle is flipped") {
  const TriangleSoup pair = joined({box({0, 0, 0}, {10, 10, 10}), box({10, 10, 0}, {20, 20, 10})});
  for (const TriangleSoup& s : {pair, askew(pair)})
    for (std::size_t t = 0; t < 24; ++t) {
      CAPTURE(t);
      Workpiece w = piece(s);
      const double whole = enclosed(w);
      std::swap(w.triangles[t][1], w.triangles[t][2]);
      mending::orient(w);
      CHECK(census(w).oriented());
      CHECK(enclosed(w) == doctest::Approx(whole));
    }
}

TEST_CASE("a shared face with other diagonals is left as it faces") {
  TriangleSoup top = shapes::moved(box({0, 0, 5}, {40, 30, 25}), [](const Vec3& p) { return p; });
  // The other diagonal of the bottom: corners rotated by one.
  TriangleSoup stack = joined({box({0, 0, 0}, {40, 30, 5}), top});
  for (const TriangleSoup& s : {stack, askew(stack)}) {
    Workpiece w = piece(s);
    const std::vector<Triangle> before = w.triangles;
    mending::orient(w);
    CHECK(w.triangles == before);
  }
}

TEST_CASE("what was turned at random is a void inside another body and a body elsewhere") {
  // The random part's minority must have more than 0.3 of its area: 2 of 12 faces of a cube are less, 5 are
  // more.
  for (const auto& [flips, at_random] : {std::pair(std::size_t{2}, false), std::pair(std::size_t{5}, true)}) {
    CAPTURE(flips);
    TriangleSoup inner = box({10, 10, 10}, {20, 20, 20});
    for (std::size_t t = 0; t < flips; ++t) std::swap(inner.triangles[2 * t][1], inner.triangles[2 * t][2]);
    Workpiece w = piece(joined({box({0, 0, 0}, {30, 30, 30}), inner}));
    mending::orient(w);
    CHECK(census(w).oriented());
    CHECK(enclosed(w) == doctest::Approx(at_random ? 27000 - 1000 : 27000 + 1000));
    Workpiece beside = piece(joined({box({50, 0, 0}, {80, 30, 30}), inner}));
    mending::orient(beside);
    CHECK(enclosed(beside) == doctest::Approx(27000 + 1000));
  }
}

TEST_CASE("round an edge every opening pairs with the wall across the void, however the faces are numbered") {
  std::mt19937 random(11);
  // Wedges of material round one edge, at angles that rise; the faces of each are its walls.
  for (int trial = 0; trial < 40; ++trial) {
    std::vector<double> angles;
    for (int k = 0; k < 8; ++k)
      angles.push_back(0.1 + 0.75 * k + 0.6 * static_cast<double>(random() % 1000) / 1000);
    TriangleSoup s{{{0, 0, 0}, {0, 0, 1}}, {}};
    for (std::size_t k = 0; k < angles.size(); ++k) {
      const auto v = static_cast<Index>(s.vertices.size());
      s.vertices.emplace_back(std::cos(angles[k]), std::sin(angles[k]), 0.4);
      // Void follows in rising angle after odd ones.
      s.triangles.push_back(k % 2 == 1 ? Triangle{0, 1, v} : Triangle{1, 0, v});
    }
    std::vector<std::size_t> order{0, 1, 2, 3, 4, 5, 6, 7};
    std::shuffle(order.begin(), order.end(), random);
    Workpiece w{s.vertices, {}, 2, {}};
    for (const std::size_t k : order) w.triangles.push_back(s.triangles[k]);
    const std::vector<HalfEdge> opposite = mending::pair_up(w);
    for (std::size_t i = 0; i < 8; ++i) {
      const HalfEdge other = opposite[3 * i];
      REQUIRE(other != none);
      const std::size_t k = order[i], expected = k % 2 == 1 ? (k + 1) % 8 : (k + 7) % 8;
      CHECK(order[other / 3] == expected);
    }
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/point_in_polygon.hpp"

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

struct Spot {
  double x, y;
};

bool inside(const std::vector<Spot>& polygon, Spot at) {
  PointInPolygon p(at.x, at.y);
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Spot &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
    i % 2 == 0 ? p.edge(a.x, a.y, b.x, b.y) : p.edge(b.x, b.y, a.x, a.y);
  }
  return p.inside();
}

/// By the angle that the border turns round the point.
bool wound(const std::vector<Spot>& polygon, Spot at) {
  double turn = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Spot &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
    const double ax = a.x - at.x, ay = a.y - at.y, bx = b.x - at.x, by = b.y - at.y;
    turn += std::atan2(ax * by - ay * bx, ax * bx + ay * by);
  }
  return std::abs(turn) > std::numbers::pi;
}

}  // namespace

TEST_CASE("stars of random radii, against the winding angle") {
  std::mt19937 random(11);
  const auto number = [&] { return static_cast<double>(random() % 10'000) / 10'000; };
  for (int k = 0; k < 200; ++k) {
    std::vector<Spot> star;
    const int n = 3 + static_cast<int>(random() % 30);
    for (int i = 0; i < n; ++i) {
      const double angle = 2 * std::numbers::pi * i / n, r = 0.2 + number();
      star.push_back({r * std::cos(angle), r * std::sin(angle)});
    }
    for (int i = 0; i < 50; ++i) {
      const Spot at{3 * number() - 1.5, 3 * number() - 1.5};
      CHECK(inside(star, at) == wound(star, at));
    }
  }
}

TEST_CASE("a hole in a polygon is outside") {
  PointInPolygon in_ring(1.5, 0.3), in_hole(0.1, 0.3);
  for (PointInPolygon* p : {&in_ring, &in_hole})
    for (const double r : {1.0, 2.0}) {
      p->edge(-r, -r, r, -r);
      p->edge(r, -r, r, r);
      p->edge(r, r, -r, r);
      p->edge(-r, r, -r, -r);
    }
  CHECK(in_ring.inside());
  CHECK_FALSE(in_hole.inside());
}

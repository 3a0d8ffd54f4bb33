// SPDX-License-Identifier: GPL-3.0-or-later
// The order of triangles round an edge against plain rational arithmetic.
#include "geometry/mesh/edge_fan.hpp"

#include <cmath>
#include <random>

#include <CGAL/Exact_rational.h>
#include <doctest/doctest.h>

using namespace pourwright;

namespace {

using Q = CGAL::Exact_rational;
using Q3 = std::array<Q, 3>;

Q3 minus(const Vec3& p, const Vec3& o) {
  return {Q(p.x()) - Q(o.x()), Q(p.y()) - Q(o.y()), Q(p.z()) - Q(o.z())};
}
Q3 cross(const Q3& a, const Q3& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
Q dot(const Q3& a, const Q3& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/// A place in the plane across the edge, as rationals; the two axes have different lengths, which no
/// comparison of directions notices.
struct Direction {
  Q x, y;
  bool second_half() const { return y < 0 || (y == 0 && x < 0); }
};
/// By the angle from the first axis; −1, 0, 1.
int compare(const Direction& p, const Direction& q) {
  if (p.second_half() != q.second_half()) return p.second_half() ? 1 : -1;
  const Q turn = p.x * q.y - p.y * q.x;
  return turn > 0 ? -1 : turn < 0 ? 1 : 0;
}

/// One edge from vertex 0 to vertex 1 and a triangle to each further vertex, every other one the other way.
struct Fan {
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;
  std::vector<EdgeUse> uses;

  Fan(const Vec3& a, const Vec3& b, const std::vector<Vec3>& points) : vertices{a, b} {
    for (const Vec3& p : points) {
      const auto t = static_cast<Index>(triangles.size()), v = static_cast<Index>(vertices.size());
      vertices.push_back(p);
      const bool forward = t % 2 == 0;
      triangles.push_back(forward ? Triangle{0, 1, v} : Triangle{1, 0, v});
      uses.push_back({1, 3 * t, forward});
    }
  }
  Index apex(const EdgeUse& u) const { return triangles[u.half_edge / 3][2]; }

  void check() const {
    const auto leaves = fan_round_edge(vertices, triangles, 0, uses);
    REQUIRE(leaves.size() == uses.size());
    const Q3 d = minus(vertices[1], vertices[0]), first = minus(vertices[apex(leaves[0].use)], vertices[0]);
    const Q3 up = cross(d, first), along = cross(up, d);
    const auto direction = [&](const FanLeaf<EdgeUse>& l) {
      const Q3 p = minus(vertices[apex(l.use)], vertices[0]);
      return Direction{dot(p, along), dot(p, up)};
    };
    std::vector<bool> seen(uses.size());
    for (std::size_t i = 0; i < leaves.size(); ++i) {
      CHECK_FALSE(seen[leaves[i].use.half_edge / 3]);
      seen[leaves[i].use.half_edge / 3] = true;
      if (i == 0) continue;
      const int order = compare(direction(leaves[i - 1]), direction(leaves[i]));
      CHECK(order <= 0);
      CHECK((order == 0) == (leaves[i - 1].sector == leaves[i].sector));
      CHECK(leaves[i].sector - leaves[i - 1].sector <= 1);
      // Ties keep their order.
      if (order == 0) CHECK(leaves[i - 1].use.half_edge < leaves[i].use.half_edge);
    }
  }
};

}  // namespace

TEST_CASE("four quarters, one of them twice") {
  const Fan f({0, 0, 0}, {0, 0, 2}, {{1, 0, 0}, {0, -1, 5}, {-1, 0, 1}, {0, 1, -3}, {-2, 0, 7}});
  const auto leaves = fan_round_edge(f.vertices, f.triangles, 0, f.uses);
  std::vector<Index> order, sectors;
  for (const auto& l : leaves) {
    order.push_back(f.apex(l.use) - 2);
    sectors.push_back(l.sector);
  }
  CHECK(order == std::vector<Index>{0, 3, 2, 4, 1});
  CHECK(sectors == std::vector<Index>{0, 1, 2, 2, 3});
}

TEST_CASE("random fans: whole numbers lie in one plane, on it and opposite") {
  std::mt19937 random(5);
  std::uniform_int_distribution<int> whole(-3, 3), many(2, 12);
  for (int round = 0; round < 400; ++round) {
    const auto any = [&] { return Vec3(whole(random), whole(random), whole(random)); };
    const Vec3 a = any();
    Vec3 b = any();
    while (b == a) b = any();
    std::vector<Vec3> points;
    for (int k = many(random); k > 0; --k) {
      const Vec3 p = any();
      if ((b - a).cross(p - a).norm() > 0) points.push_back(p);
      // Exactly in its plane, at either side of the edge.
      if (!points.empty() && k % 3 == 0)
        points.push_back(a + whole(random) * (b - a) + (k % 2 == 0 ? 2 : -1) * (points.back() - a));
    }
    if (points.size() > 1) Fan(a, b, points).check();
  }
}

TEST_CASE("random fans: nearly equal directions, doubles and single precision") {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> real(-100, 100);
  std::uniform_int_distribution<int> step(-2, 2);
  for (const bool single : {false, true})
    for (int round = 0; round < 200; ++round) {
      const auto written = [&](double x) { return single ? static_cast<double>(static_cast<float>(x)) : x; };
      const auto place = [&](const Vec3& p) { return Vec3(written(p.x()), written(p.y()), written(p.z())); };
      const auto any = [&] { return place(Vec3(real(random), real(random), real(random))); };
      const Vec3 a = any(), b = any();
      std::vector<Vec3> points;
      for (int k = 0; k < 4; ++k) {
        points.push_back(any());
        const Vec3 p = points.back();
        // In its plane but for rounding, on both sides, and a few of the smallest steps beside it.
        points.push_back(place(a + 0.3 * (b - a) + 0.7 * (p - a)));
        points.push_back(place(a - 0.2 * (b - a) - 1.9 * (p - a)));
        Vec3 q = p;
        for (int i = 0; i < 3; ++i)
          for (int s = step(random); s != 0; s += s > 0 ? -1 : 1)
            q[i] = single
                       ? static_cast<double>(std::nextafter(static_cast<float>(q[i]), s > 0 ? 1e9f : -1e9f))
                       : std::nextafter(q[i], s > 0 ? 1e9 : -1e9);
        points.push_back(q);
      }
      std::shuffle(points.begin(), points.end(), random);
      Fan(a, b, points).check();
    }
}

TEST_CASE("a triangle without area never is the one from which the order is counted") {
  // The first lies on the edge: the others are in order all the same.
  const Fan f({0, 0, 0}, {0, 0, 2}, {{0, 0, 1}, {1, 0, 0}, {-1, -1, 0}, {0, 1, 0}});
  std::vector<Index> order;
  for (const auto& l : fan_round_edge(f.vertices, f.triangles, 0, f.uses))
    if (f.apex(l.use) != 2) order.push_back(f.apex(l.use) - 2);
  CHECK(order == std::vector<Index>{1, 3, 2});
}

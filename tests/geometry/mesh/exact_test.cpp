// SPDX-License-Identifier: GPL-3.0-or-later
// Predicates, contacts and crossings against plain rational arithmetic and CGAL's exact constructions.
#include "geometry/mesh/cgal_variant.hpp"
#include "geometry/mesh/predicates.hpp"
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/mesh/vertical_lines.hpp"
#include "support/voxels.hpp"

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Exact_rational.h>
#include <CGAL/intersections.h>
#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

using Q = CGAL::Exact_rational;
using Kernel = CGAL::Exact_predicates_exact_constructions_kernel;

int sign_of(const Q& q) {
  return q > 0 ? 1 : q < 0 ? -1 : 0;
}

Q cross(const Q& ax, const Q& ay, const Q& bx, const Q& by) {
  return Q(ax * by - ay * bx);
}

int orient2d_by_definition(const Vec3& a, const Vec3& b, const Vec3& c) {
  return sign_of(cross(Q(b.x()) - Q(a.x()), Q(b.y()) - Q(a.y()), Q(c.x()) - Q(a.x()), Q(c.y()) - Q(a.y())));
}
int orient3d_by_definition(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  Q m[3][3];
  const Vec3* p[3] = {&b, &c, &d};
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k) m[i][k] = Q((*p[i])[k]) - Q(a[k]);
  const Q det = m[0][0] * cross(m[1][1], m[1][2], m[2][1], m[2][2]) -
                m[0][1] * cross(m[1][0], m[1][2], m[2][0], m[2][2]) +
                m[0][2] * cross(m[1][0], m[1][1], m[2][0], m[2][1]);
  return sign_of(det);
}

/// Does what two triangles have in common go beyond their shared vertices?
bool overlap_by_construction(const std::vector<Vec3>& v, const Triangle& s, const Triangle& t) {
  const auto point = [&](Index i) { return Kernel::Point_3(v[i].x(), v[i].y(), v[i].z()); };
  const Kernel::Triangle_3 a(point(s[0]), point(s[1]), point(s[2])), b(point(t[0]), point(t[1]), point(t[2]));
  if (a.is_degenerate() || b.is_degenerate()) return false;
  std::vector<Index> shared;
  for (const Index i : s)
    if (i == t[0] || i == t[1] || i == t[2]) shared.push_back(i);
  if (shared.size() == 3) return true;
  const auto common = CGAL::intersection(a, b);
  if (!common) return false;
  if (shared.empty()) return true;
  const auto is = [&](const Kernel::Point_3& p, Index i) { return p == point(i); };
  if (const auto* p = get_as<Kernel::Point_3>(*common)) return !(shared.size() == 1 && is(*p, shared[0]));
  if (const auto* e = get_as<Kernel::Segment_3>(*common))
    return !(shared.size() == 2 && ((is(e->source(), shared[0]) && is(e->target(), shared[1])) ||
                                    (is(e->source(), shared[1]) && is(e->target(), shared[0]))));
  return true;
}

double nudged(double x, int steps) {
  for (; steps > 0; --steps) x = std::nextafter(x, 1e300);
  for (; steps < 0; ++steps) x = std::nextafter(x, -1e300);
  return x;
}

}  // namespace

TEST_CASE("orientations of nearly flat points") {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> place(-100, 100), unit(-1, 2);
  std::size_t flat = 0;
  for (int round = 0; round < 20000; ++round) {
    const auto point = [&] {
      const double x = place(random), y = place(random);
      return Vec3(x, y, place(random));
    };
    const auto nudge = [&](Vec3 p) {
      for (int k = 0; k < 3; ++k) p[k] = nudged(p[k], static_cast<int>(random() % 5) - 2);
      return p;
    };
    Vec3 a = point(), b = point(), c = point();
    if (round % 4 == 0) a = a.array().round(), b = b.array().round(), c = c.array().round();
    const double s = unit(random), t = unit(random);
    const Vec3 on_line = nudge(a + s * (b - a)), on_plane = nudge(a + s * (b - a) + t * (c - a));
    const int two = orient2d_by_definition(a, b, on_line), three = orient3d_by_definition(a, b, c, on_plane);
    CHECK(orient2d(a.x(), a.y(), b.x(), b.y(), on_line.x(), on_line.y()) == two);
    CHECK(orient3d(a, b, c, on_plane) == three);
    flat += (two == 0 ? 1u : 0u) + (three == 0 ? 1u : 0u);
    // The same shape, smaller and larger by powers of two.
    for (const double scale : {std::ldexp(1, -400), std::ldexp(1, -180), std::ldexp(1, 80)}) {
      CHECK(orient2d(scale * a.x(), scale * a.y(), scale * b.x(), scale * b.y(), scale * on_line.x(),
                     scale * on_line.y()) == two);
      CHECK(orient3d(scale * a, scale * b, scale * c, scale * on_plane) == three);
    }
  }
  CHECK(flat > 0);
  const Vec3 o(0, 0, 0), x(1, 0, 0), y(0, 1, 0), z(0, 0, 1);
  CHECK(orient3d(o, x, y, z) == 1);
  CHECK(orient3d(o, y, x, z) == -1);
  CHECK(orient3d(o, x, y, {0.3, 0.3, 0}) == 0);
}

TEST_CASE("contacts of two triangles on lattice points") {
  std::mt19937 random(4);
  std::size_t seen[4] = {0, 0, 0, 0}, overlapping[4] = {0, 0, 0, 0};
  for (int round = 0; round < 12000; ++round) {
    Builder b;
    const unsigned range = 2 + static_cast<unsigned>(random() % 5);
    while (true) {
      b = Builder();
      for (int t = 0; t < 2; ++t) {
        Vec3 p[3];
        for (Vec3& q : p)
          for (int k = 0; k < 3; ++k) q[k] = static_cast<double>(random() % range);
        b.triangle(p[0], p[1], p[2]);
      }
      const TriangleSoup s = b.take();
      if (s.triangles.size() < 2) continue;
      std::size_t shared = 0;
      for (const Index i : s.triangles[0])
        for (const Index j : s.triangles[1]) shared += i == j ? 1u : 0u;
      const bool expected = overlap_by_construction(s.vertices, s.triangles[0], s.triangles[1]);
      const bool found = triangles_overlap(s.vertices, s.triangles[0], s.triangles[1]);
      CHECK(found == expected);
      if (found != expected)
        for (const Vec3& v : s.vertices) MESSAGE(v.transpose());
      ++seen[shared];
      overlapping[shared] += expected ? 1u : 0u;
      break;
    }
  }
  for (int k = 0; k < 3; ++k) {
    CHECK(seen[k] > 300);
    CHECK(overlapping[k] > 50);
    CHECK(seen[k] - overlapping[k] > 100);
  }
}

TEST_CASE("contacts of triangles that just miss or just meet") {
  // The third corner of one is put on the other's plane, edge or corner and nudged by a few units in the last
  // place.
  std::mt19937 random(5);
  std::uniform_real_distribution<double> place(-10, 10), share(0, 1);
  std::size_t meet = 0, miss = 0;
  for (int round = 0; round < 4000; ++round) {
    std::vector<Vec3> v(6);
    for (Vec3& p : v)
      for (int k = 0; k < 3; ++k) p[k] = place(random);
    double s = share(random), t = (1 - s) * share(random);
    if (round % 3 == 1) t = 0;
    if (round % 3 == 2) s = t = 0;
    v[3] = v[0] + s * (v[1] - v[0]) + t * (v[2] - v[0]);
    for (int k = 0; k < 3; ++k) v[3][k] = nudged(v[3][k], static_cast<int>(random() % 3) - 1);
    const bool expected = overlap_by_construction(v, {0, 1, 2}, {3, 4, 5});
    CHECK(triangles_overlap(v, {0, 1, 2}, {3, 4, 5}) == expected);
    ++(expected ? meet : miss);
    // With a shared corner: v0 is in both, and v3 lies on the first triangle or beside it.
    CHECK(triangles_overlap(v, {0, 1, 2}, {0, 3, 4}) == overlap_by_construction(v, {0, 1, 2}, {0, 3, 4}));
    CHECK(triangles_overlap(v, {0, 1, 2}, {0, 1, 3}) == overlap_by_construction(v, {0, 1, 2}, {0, 1, 3}));
  }
  CHECK(meet > 500);
  CHECK(miss > 500);
}

TEST_CASE("which of two planes is higher over a point") {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> place(-10, 10);
  std::size_t level = 0;
  const auto height = [](const std::array<Vec3, 3>& t, const Q& x, const Q& y) {
    Q u[3], v[3];
    for (int k = 0; k < 3; ++k) {
      u[k] = Q(t[1][k]) - Q(t[0][k]);
      v[k] = Q(t[2][k]) - Q(t[0][k]);
    }
    const Q nx = u[1] * v[2] - u[2] * v[1], ny = u[2] * v[0] - u[0] * v[2], nz = u[0] * v[1] - u[1] * v[0];
    return Q(Q(t[0].z()) - (nx * (x - Q(t[0].x())) + ny * (y - Q(t[0].y()))) / nz);
  };
  for (int round = 0; round < 6000; ++round) {
    const bool lattice = round % 2 == 0;
    const auto coordinate = [&] { return lattice ? static_cast<double>(random() % 4) : place(random); };
    const auto point = [&] {
      const double x = coordinate(), y = coordinate();
      return Vec3(x, y, coordinate());
    };
    std::array<Vec3, 3> s{point(), point(), point()}, t{point(), point(), point()};
    const Vec3 at = lattice || round % 4 == 1 ? Vec3(s[0]) : point(), toward = point();
    if (round % 8 == 1) t[0] = s[0];  // they meet over the point
    if (plan_orientation(s[0], s[1], s[2]) == 0 || plan_orientation(t[0], t[1], t[2]) == 0) continue;
    // The line moved by real, tiny, exact amounts, each far smaller than the one before.
    const Q step = Q(1) / Q(1e30), x = Q(at.x()) + step * (Q(toward.x()) - Q(at.x())) + step * step,
            y = Q(at.y()) + step * (Q(toward.y()) - Q(at.y())) + step * step * step;
    const int expected = sign_of(height(s, x, y) - height(t, x, y));
    CHECK(compare_heights(s, t, {at, toward}) == expected);
    CHECK(compare_heights(t, s, {at, toward}) == -expected);
    level += height(s, Q(at.x()), Q(at.y())) == height(t, Q(at.x()), Q(at.y())) ? 1u : 0u;
  }
  CHECK(level > 300);
}

TEST_CASE("lines through vertices, edges and faces cross each sheet once") {
  std::size_t crossed = 0;
  for (std::uint32_t seed = 1; seed <= 6; ++seed) {
    CAPTURE(seed);
    const TriangleSoup s = seed % 3 == 0   ? sphere(4, 12)
                           : seed % 3 == 1 ? voxels::soup_of(voxels::random_grid(4, 0.5, false, seed))
                                           : terrain(5, 5, 1, -2, [&](int i, int j) {
                                               return (i * 7 + j * 5 + static_cast<int>(seed)) % 4;
                                             });
    std::vector<VerticalLine> lines;
    for (const Vec3& v : s.vertices) lines.push_back({v, v});
    for (const Triangle& t : s.triangles) {
      const Vec3 &a = s.vertices[t[0]], &b = s.vertices[t[1]], &c = s.vertices[t[2]];
      if (lines.size() > 500) break;
      lines.push_back({(a + b) / 2, (a + b) / 2});
      lines.push_back({a, (b + c) / 2});
      lines.push_back({a, b});
      lines.push_back({(a + b + c) / 4, b});
    }
    lines.push_back({{99, 99, 0}, {99, 99, 0}});
    std::vector<std::vector<std::pair<Index, int>>> found(lines.size());
    for_each_crossing(s.vertices, s.triangles, lines,
                      [&](Index l, Index t, int sign) { found[l].emplace_back(t, sign); });
    for (std::size_t l = 0; l < lines.size(); ++l) {
      // The line moved by real, tiny, exact amounts.
      const auto& [p, g] = lines[l];
      const Q step = Q(1) / Q(1e30);
      const Q x = Q(p.x()) + step * (Q(g.x()) - Q(p.x())) + step * step;
      const Q y = Q(p.y()) + step * (Q(g.y()) - Q(p.y())) + step * step * step;
      std::vector<std::pair<Index, int>> expected;
      int sum = 0;
      for (Index t = 0; t < s.triangles.size(); ++t) {
        int side[3];
        for (std::size_t k = 0; k < 3; ++k) {
          const Vec3 &a = s.vertices[s.triangles[t][k]], &b = s.vertices[s.triangles[t][(k + 1) % 3]];
          side[k] = sign_of(cross(Q(b.x()) - Q(a.x()), Q(b.y()) - Q(a.y()), x - Q(a.x()), y - Q(a.y())));
        }
        if (side[0] != 0 && side[0] == side[1] && side[1] == side[2]) expected.emplace_back(t, side[0]);
      }
      CHECK(found[l] == expected);
      for (const auto& [t, sign] : found[l]) sum += sign;
      CHECK(sum == 0);
      crossed += found[l].size();
    }
  }
  CHECK(crossed > 3000);
}

TEST_CASE("lines so close together that their grid has no width") {
  const TriangleSoup s = sphere(10, 16);
  const Vec3 a(1, 1, 0), b(nudged(1, 1), 1, 0);
  const std::vector<VerticalLine> lines{{a, a}, {b, b}};
  int count[2] = {0, 0};
  for_each_crossing(s.vertices, s.triangles, lines, [&](Index l, Index, int) { ++count[l]; });
  CHECK(count[0] == 2);
  CHECK(count[1] == 2);
  const std::vector<VerticalLine> tiny{{{0, 0, 0}, {0, 0, 0}}, {{5e-324, 5e-324, 0}, {5e-324, 5e-324, 0}}};
  int hits = 0;
  for_each_crossing(s.vertices, s.triangles, tiny, [&](Index, Index, int) { ++hits; });
  CHECK(hits == 4);
}

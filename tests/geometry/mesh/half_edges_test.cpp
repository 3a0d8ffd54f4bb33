// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/half_edges.hpp"

#include "support/voxels.hpp"

#include <set>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

TriangleSoup welded(const std::vector<TriangleSoup>& parts) {
  Builder b;
  for (const TriangleSoup& s : parts) b.add(s);
  return b.take();
}

/// Every half-edge of a closed mesh has a partner that runs the other way along the same edge, and is its
/// partner.
void check_pairing(const TriangleSoup& s) {
  const auto opposite = pair_half_edges(s.vertices, s.triangles);
  REQUIRE(opposite.size() == 3 * s.triangles.size());
  const auto from = [&](HalfEdge h) { return s.triangles[h / 3][h % 3]; };
  const auto to = [&](HalfEdge h) { return s.triangles[h / 3][(h % 3 + 1) % 3]; };
  std::size_t wrong = 0;
  for (HalfEdge h = 0; h < opposite.size(); ++h) {
    const HalfEdge o = opposite[h];
    REQUIRE(o < opposite.size());
    wrong += opposite[o] != h || o == h || from(o) != to(h) || to(o) != from(h) ? 1 : 0;
  }
  CHECK(wrong == 0);
}

/// How many vertices the fans add.
std::size_t added_fans(TriangleSoup s) {
  check_pairing(s);
  const auto opposite = pair_half_edges(s.vertices, s.triangles);
  const std::vector<Triangle> before = s.triangles;
  const auto origin = split_fans(s.vertices.size(), s.triangles, opposite);
  // Each new vertex stands on the one it was split from.
  for (std::size_t t = 0; t < before.size(); ++t)
    for (std::size_t k = 0; k < 3; ++k) {
      const Index v = s.triangles[t][k];
      CHECK((v < s.vertices.size() ? v : origin[v - s.vertices.size()]) == before[t][k]);
    }
  // Paired triangles keep their common edge.
  for (HalfEdge h = 0; h < opposite.size(); ++h)
    CHECK(s.triangles[h / 3][h % 3] == s.triangles[opposite[h] / 3][(opposite[h] % 3 + 1) % 3]);
  return origin.size();
}

TriangleSoup hourglass() {
  return welded({revolve({{0, -5}, {4, -5}, {0, 0}}, 12), revolve({{0, 0}, {4, 5}, {0, 5}}, 12)});
}

/// Fans round a grid vertex from its eight octants, bit by bit: every void piece (octants joined through
/// faces) has one rim for each connected piece of the rest, and a rim is a fan.
int fans_at(const bool (&full)[8]) {
  const auto pieces = [](unsigned members,
                         int reach) {  // components of octants that differ in up to `reach` bits
    int count = 0;
    for (unsigned left = members; left != 0; ++count) {
      unsigned piece = left & (~left + 1), grown = 0;
      while (grown != piece) {
        grown = piece;
        for (int a = 0; a < 8; ++a)
          for (int b = 0; b < 8; ++b)
            if ((piece >> a & 1) && (left >> b & 1) &&
                __builtin_popcount(static_cast<unsigned>(a ^ b)) <= reach)
              piece |= 1u << b;
      }
      left &= ~piece;
    }
    return count;
  };
  unsigned open = 0;
  for (int o = 0; o < 8; ++o) open |= full[o] ? 0u : 1u << o;
  if (open == 0 || open == 255) return 0;
  int fans = 0;
  for (unsigned left = open; left != 0;) {
    unsigned piece = left & (~left + 1), grown = 0;
    while (grown != piece) {
      grown = piece;
      for (int a = 0; a < 8; ++a)
        for (int bit = 1; bit < 8; bit *= 2)
          if ((piece >> a & 1) && (left >> (a ^ bit) & 1)) piece |= 1u << (a ^ bit);
    }
    left &= ~piece;
    fans += pieces(255u & ~piece, 2);
  }
  return fans;
}

}  // namespace

TEST_CASE("clean meshes need no further fan") {
  CHECK(added_fans(box({0, 0, 0}, {1, 2, 3})) == 0);
  CHECK(added_fans(sphere(10, 24)) == 0);
  std::vector<Station> section = arc(3, 10, 0, 0, 2 * pi, 12);
  section.pop_back();
  CHECK(added_fans(revolve(section, 24, true)) == 0);
}

TEST_CASE("material that touches") {
  // Along an edge the void on both sides runs from one body to the other, so the surface there is in one
  // piece.
  CHECK(added_fans(welded({box({0, 0, 0}, {1, 1, 1}), box({1, 1, 0}, {2, 2, 1})})) == 0);
  // In a vertex the two corners are two surfaces.
  CHECK(added_fans(welded({box({0, 0, 0}, {1, 1, 1}), box({1, 1, 1}, {2, 2, 2})})) == 1);
  CHECK(added_fans(hourglass()) == 1);
}

TEST_CASE("void that touches") {
  const TriangleSoup block = box({-5, -5, -5}, {5, 5, 5});
  CHECK(added_fans(welded({block, turned(box({0, 0, 0}, {1, 1, 1})), turned(box({1, 1, 0}, {2, 2, 1}))})) ==
        2);
  CHECK(added_fans(welded({block, turned(box({0, 0, 0}, {1, 1, 1})), turned(box({1, 1, 1}, {2, 2, 2}))})) ==
        1);
  CHECK(added_fans(welded({block, turned(hourglass())})) == 1);
}

TEST_CASE("six wedges round one edge are paired across the voids between them, in any numbering") {
  Builder b;
  const Vec3 low(0, 0, 0), high(0, 0, 1);
  for (int k = 0; k < 6; ++k) {  // a thin wedge every sixty degrees
    const double a = k * pi / 3 + 0.1 * k * k;
    const Vec3 p(std::cos(a), std::sin(a), 0.5), q(std::cos(a + 0.3), std::sin(a + 0.3), 0.5);
    b.triangle(low, q, p);
    b.triangle(high, p, q);
    b.triangle(low, high, q);
    b.triangle(high, low, p);
  }
  const TriangleSoup wedges = b.take();
  for (std::uint32_t seed = 0; seed < 20; ++seed) {
    const TriangleSoup s = seed == 0 ? wedges : renumbered(wedges, seed);
    CHECK(find_mixed_edges(s.vertices, s.triangles).count == 0);
    CHECK(added_fans(s) == 0);
    const auto opposite = pair_half_edges(s.vertices, s.triangles);
    // Neighbours across a void are less than sixty degrees apart; across material they are 0.3 apart too, but
    // the normals of a void pair face each other.
    for (HalfEdge h = 0; h < opposite.size(); ++h) {
      const Vec3 a = s.vertices[s.triangles[h / 3][h % 3]],
                 e = s.vertices[s.triangles[h / 3][(h % 3 + 1) % 3]];
      if ((a - low).norm() + (e - high).norm() > 1e-12) continue;
      const Vec3 p = s.vertices[s.triangles[h / 3][(h % 3 + 2) % 3]];
      const Vec3 q = s.vertices[s.triangles[opposite[h] / 3][(opposite[h] % 3 + 2) % 3]];
      const double turn = std::atan2(p.x() * q.y() - p.y() * q.x(), p.x() * q.x() + p.y() * q.y());
      CHECK((turn > 0 && turn < 2.2));  // onwards over the void to the next wedge
    }
  }
}

TEST_CASE("bodies that face different ways along a shared edge are found") {
  const TriangleSoup a = box({0, 0, 0}, {2, 2, 2}), b = box({2, 2, 0}, {3, 3, 2});
  CHECK(find_mixed_edges(welded({a, b}).vertices, welded({a, b}).triangles).count == 0);
  const TriangleSoup mixed = welded({a, turned(b)});
  const MixedEdges m = find_mixed_edges(mixed.vertices, mixed.triangles);
  CHECK(m.count == 1);
  CHECK(m.at == Vec3(2, 2, 1));
  const TriangleSoup both = turned(welded({a, b}));
  CHECK(find_mixed_edges(both.vertices, both.triangles).count == 0);
}

TEST_CASE("random cells: as many fans at every vertex as its octants say") {
  std::size_t several = 0;
  for (std::uint32_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const voxels::Grid g = voxels::random_grid(6, 0.3 + 0.05 * (seed % 9), false, seed);
    std::size_t expected = 0;
    for (int i = 0; i <= 6; ++i)
      for (int j = 0; j <= 6; ++j)
        for (int k = 0; k <= 6; ++k) {
          bool full[8];
          for (int o = 0; o < 8; ++o)
            full[o] = g.full(i - 1 + (o & 1), j - 1 + (o >> 1 & 1), k - 1 + (o >> 2 & 1));
          const int fans = fans_at(full);
          expected += fans > 1 ? static_cast<std::size_t>(fans - 1) : 0;
        }
    const TriangleSoup s = voxels::soup_of(g);
    CHECK(find_mixed_edges(s.vertices, s.triangles).count == 0);
    CHECK(added_fans(s) == expected);
    several += expected;
  }
  CHECK(several > 1000);
}

TEST_CASE("a border has no partner and its fans are whole") {
  TriangleSoup s = box({0, 0, 0}, {1, 1, 1});
  s.triangles.pop_back();
  const auto opposite = pair_half_edges(s.vertices, s.triangles);
  CHECK(std::count(opposite.begin(), opposite.end(), none) == 3);
  CHECK(split_fans(s.vertices.size(), s.triangles, opposite).empty());
}

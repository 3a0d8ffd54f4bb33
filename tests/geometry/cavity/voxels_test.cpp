// SPDX-License-Identifier: GPL-3.0-or-later
// Molds made of grid cells against a flood of their cells: every brim, capacity and way of joining, exactly.
// Random cells touch along edges and in corners everywhere, hang, float, nest and enclose each other.
#include "support/voxels.hpp"

#include "support/solids.hpp"

using namespace pourwright;
using namespace shapes;
using voxels::Grid;

namespace {

/// Returns what the cells hold.
std::vector<TreeNode> check_against_cells(const Grid& g) {
  const Solid solid = solid_of(voxels::soup_of(g));
  CHECK(volume_of(solid) == doctest::Approx(g.volume()).epsilon(1e-12));
  const std::vector<TreeNode> expected = voxels::pools_of(g);
  CHECK(text_of(every_cavity(solid)) == text_of(expected));
  return expected;
}

}  // namespace

TEST_CASE("random cells: the same pools as the flood of cells") {
  std::size_t pools = 0, nested = 0, sealed = 0;
  for (std::uint32_t seed = 1; seed <= 360; ++seed) {
    CAPTURE(seed);
    const bool walled = seed % 3 != 0;
    const Grid g = voxels::random_grid(5 + static_cast<int>(seed % 7),
                                       (walled ? 0.45 : 0.3) + 0.05 * (seed % 8), walled, seed);
    for (const TreeNode& p : check_against_cells(g)) {
      ++pools;
      nested += p.parent >= 0 ? 1 : 0;
      sealed += p.sealed ? 1 : 0;
    }
  }
  // The comparison is worth something only when there is something to compare.
  CHECK(pools > 6000);
  CHECK(nested > 1000);
  CHECK(sealed > 3000);
}

TEST_CASE("random cells turned together with up") {
  for (std::uint32_t seed = 1; seed <= 120; ++seed) {
    CAPTURE(seed);
    const Grid g = voxels::random_grid(5 + static_cast<int>(seed % 5), 0.45 + 0.05 * (seed % 8), true, seed);
    const Eigen::Matrix3d r = random_rotation(seed);
    const Solid solid = solid_of(turned_by(r, voxels::soup_of(g)));
    CHECK(text_of(every_cavity(solid, r * Vec3::UnitZ())) == text_of(voxels::pools_of(g)));
  }
}

TEST_CASE("random cells seen from six sides") {
  // The cells are turned so that `up` stands up, then flooded.
  for (std::uint32_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    Grid g = voxels::random_grid(8, 0.6, false, seed);
    for (std::size_t k = 0; k < g.level.size(); ++k) g.level[k] = static_cast<double>(k);
    const Solid solid = solid_of(voxels::soup_of(g));
    for (int axis = 0; axis < 3; ++axis)
      for (const int side : {1, -1}) {
        Vec3 up = Vec3::Zero();
        up[axis] = side;
        Grid t(8, 8, 8);
        for (std::size_t k = 0; k < t.level.size(); ++k) t.level[k] += side < 0 ? -8.0 : 0.0;
        for (int i = 0; i < 8; ++i)
          for (int j = 0; j < 8; ++j)
            for (int k = 0; k < 8; ++k) {
              const int c[3] = {i, j, k};
              const int h = side > 0 ? c[axis] : 7 - c[axis];
              t.set(c[(axis + 1) % 3], c[(axis + 2) % 3], h, g.full(i, j, k));
            }
        CHECK(text_of(every_cavity(solid, up)) == text_of(voxels::pools_of(t)));
      }
  }
}

TEST_CASE("voids that touch along an edge or in a corner stay apart") {
  Grid edge(4, 4, 4);
  edge.fill(0, 4, 0, 4, 0, 4);
  edge.fill(1, 2, 1, 2, 1, 4, false);
  edge.fill(2, 3, 2, 3, 2, 4, false);  // shares an upright edge with the first
  check_against_cells(edge);
  const Cavities a = every_cavity(solid_of(voxels::soup_of(edge)));
  REQUIRE(a.list().size() == 2);
  CHECK(capacity_of(a.at(1)) + capacity_of(a.at(2)) == doctest::Approx(5).epsilon(1e-14));

  Grid corner(4, 4, 5);
  corner.fill(0, 4, 0, 4, 0, 5);
  corner.fill(1, 2, 1, 2, 3, 5, false);  // floor at 3
  corner.fill(2, 3, 2, 3, 1, 3, false);  // roof at 3, touching only in the corner (2, 2, 3)
  corner.fill(2, 3, 3, 4, 2, 3, false);  // and open at the side from 2
  check_against_cells(corner);
  const Cavities b = every_cavity(solid_of(voxels::soup_of(corner)));
  REQUIRE(b.list().size() == 2);
  CHECK(capacity_of(b.at(1)) == doctest::Approx(2).epsilon(1e-14));
  CHECK(capacity_of(b.at(2)) == doctest::Approx(1).epsilon(1e-14));
}

TEST_CASE(
    "a wall of cells that touch only along edges holds liquid; posts that touch in a corner do not part it") {
  Grid ring(7, 7, 3);
  ring.fill(0, 7, 0, 7, 0, 1);
  for (int i = 0; i < 7; ++i)
    for (int j = 0; j < 7; ++j)
      if (std::abs(i - 3) + std::abs(j - 3) == 3) ring.fill(i, i + 1, j, j + 1, 1, 3);
  check_against_cells(ring);
  REQUIRE(every_cavity(solid_of(voxels::soup_of(ring))).list().size() == 1);
  CHECK(capacity_of(every_cavity(solid_of(voxels::soup_of(ring))).at(1)) ==
        doctest::Approx(13 * 2).epsilon(1e-14));

  Grid posts(6, 6, 5);
  posts.fill(0, 6, 0, 6, 0, 5);
  posts.fill(1, 5, 1, 5, 1, 5, false);
  posts.set(2, 2, 1);
  posts.set(3, 3, 2);  // touches the post in the corner (3, 3, 2) and floats otherwise
  check_against_cells(posts);
  const Cavities c = every_cavity(solid_of(voxels::soup_of(posts)));
  REQUIRE(c.list().size() == 1);
  CHECK(capacity_of(c.at(1)) == doctest::Approx(16 * 4 - 2).epsilon(1e-14));
}

TEST_CASE("undercuts, stalactites and stacked floating bodies") {
  Grid g(12, 8, 9);
  g.fill(0, 12, 0, 8, 0, 9);
  g.fill(1, 11, 1, 7, 1, 5, false);  // a low chamber
  g.fill(1, 3, 1, 7, 5, 9, false);   // its mouth: an L lying on its back
  g.fill(6, 7, 3, 5, 3, 5);          // a stalactite from the chamber's roof
  g.fill(9, 10, 3, 4, 2, 3);         // two bodies floating above each other
  g.fill(9, 10, 3, 4, 4, 5, false);
  check_against_cells(g);
  const Cavities c = every_cavity(solid_of(voxels::soup_of(g)));
  REQUIRE(c.list().size() == 1);
  CHECK(capacity_of(c.at(1)) == doctest::Approx(10 * 6 * 4 + 2 * 6 * 4 - 2 * 2 - 1).epsilon(1e-14));
}

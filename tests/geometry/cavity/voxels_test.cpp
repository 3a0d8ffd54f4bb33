// SPDX-License-Identifier: GPL-3.0-or-later
// Molds made of grid cells against a flood of their cells: every brim, capacity and way of joining, exactly.
// Random cells touch along edges and in corners everywhere, hang, float, nest and enclose each other.
#include "support/voxels.hpp"

#include <pourwright/cavity.hpp>

#include "support/tree_text.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;
using voxels::Grid;

namespace {

/// The whole tree as text, capacities to 1e-9, so that two trees compare at a glance.
std::string tree_text(const std::vector<voxels::Pool>& pools) {
  std::vector<TreeNode> nodes;
  for (const voxels::Pool& p : pools) nodes.push_back({p.parent, p.sealed, p.floor, p.brim, p.capacity});
  return text_of(nodes);
}

Solid solid_of(TriangleSoup soup) {
  auto r = prove_solid(make_surface(std::move(soup)));
  REQUIRE_MESSAGE(r.has_value(), (r ? std::string() : r.error().text));
  return std::move(r->solid);
}

Cavities everything_in(const Solid& solid, const Vec3& up = Vec3::UnitZ()) {
  CavityOptions options;
  options.up = up;
  options.floor_detail = 0;
  auto r = find_cavities(solid, options);
  REQUIRE(r.has_value());
  for (const Note& n : r->notes) CHECK_MESSAGE(!n.warning, n.text);
  return r->cavities;
}

double volume_of(const Solid& s) {
  return in_cubic_millimetres(s.volume().value);
}

}  // namespace

TEST_CASE("random cells: the same pools as the flood of cells") {
  std::size_t pools = 0, nested = 0, sealed = 0;
  for (std::uint32_t seed = 1; seed <= 360; ++seed) {
    CAPTURE(seed);
    const bool walled = seed % 3 != 0;
    const Grid g = voxels::random_grid(5 + static_cast<int>(seed % 7),
                                       (walled ? 0.45 : 0.3) + 0.05 * (seed % 8), walled, seed);
    const auto expected = voxels::flood(g);
    const Solid solid = solid_of(voxels::soup_of(g));
    CHECK(volume_of(solid) == doctest::Approx(g.volume()).epsilon(1e-12));
    CHECK(text_of(everything_in(solid)) == tree_text(expected));
    pools += expected.size();
    for (const auto& p : expected) {
      nested += p.parent >= 0 ? 1 : 0;
      sealed += p.sealed ? 1 : 0;
    }
  }
  // The comparison is worth something only when there is something to compare.
  CHECK(pools > 6000);
  CHECK(nested > 1000);
  CHECK(sealed > 3000);
}

TEST_CASE("random cells turned with up") {
  for (std::uint32_t seed = 1; seed <= 120; ++seed) {
    CAPTURE(seed);
    const Grid g = voxels::random_grid(5 + static_cast<int>(seed % 5), 0.45 + 0.05 * (seed % 8), true, seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> normal;
    const Eigen::Matrix3d r =
        Eigen::Quaterniond(normal(random), normal(random), normal(random), normal(random))
            .normalized()
            .toRotationMatrix();
    const Solid solid = solid_of(moved(voxels::soup_of(g), [&](const Vec3& p) { return Vec3(r * p); }));
    CHECK(text_of(everything_in(solid, r * Vec3::UnitZ())) == tree_text(voxels::flood(g)));
  }
}

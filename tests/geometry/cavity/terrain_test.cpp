// SPDX-License-Identifier: GPL-3.0-or-later
// Blocks with a piecewise linear top against a flood of its vertices: the lowest pass between two vertices of
// such a surface runs along its edges, so the pools are those of the graph. Volumes by clipping triangles in
// plan.
#include <pourwright/cavity.hpp>

#include "support/flood.hpp"
#include "support/solids.hpp"
#include "support/tree_text.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

/// Depth under level h integrated over a triangle: the part that lies deeper is a polygon, cut into
/// triangles, each of area times mean depth.
double depth_volume(const Vec3& a, const Vec3& b, const Vec3& c, double h) {
  const Vec3 corner[3] = {a, b, c};
  std::vector<Vec3> part;
  for (int k = 0; k < 3; ++k) {
    const Vec3 &p = corner[k], &q = corner[(k + 1) % 3];
    if (p.z() < h) part.push_back(p);
    if ((p.z() < h) != (q.z() < h)) part.push_back(p + (h - p.z()) / (q.z() - p.z()) * (q - p));
  }
  double v = 0;
  for (std::size_t k = 2; k < part.size(); ++k) {
    const Vec3 u = part[k - 1] - part[0], w = part[k] - part[0];
    v += (u.x() * w.y() - u.y() * w.x()) / 2 * (h - (part[0].z() + part[k - 1].z() + part[k].z()) / 3);
  }
  return v;
}

struct Field {
  int nx, ny;
  double pitch;
  std::vector<double> z;
  double at(int i, int j) const { return z[static_cast<std::size_t>(i * (ny + 1) + j)]; }
  TriangleSoup block() const {
    return terrain(nx, ny, pitch, -1, [&](int i, int j) { return at(i, j); });
  }
};

Field random_field(std::uint32_t seed, bool steps) {
  std::mt19937 random(seed);
  Field f{8 + static_cast<int>(random() % 13), 8 + static_cast<int>(random() % 13), 1.5, {}};
  for (int i = 0; i <= f.nx; ++i)
    for (int j = 0; j <= f.ny; ++j) {
      const double z =
          steps ? static_cast<double>(random() % 6) : 10 * static_cast<double>(random()) / 4294967296.0;
      const bool border = i == 0 || j == 0 || i == f.nx || j == f.ny;
      f.z.push_back(border ? z + 3 : z);  // a low rim, so that nested pools form
    }
  return f;
}

std::vector<TreeNode> pools_of(const Field& f) {
  flood::Graph g;
  const auto place = [&](int i, int j) { return static_cast<std::size_t>(i * (f.ny + 1) + j); };
  for (int i = 0; i <= f.nx; ++i)
    for (int j = 0; j <= f.ny; ++j) g.add(f.at(i, j), i == 0 || j == 0 || i == f.nx || j == f.ny);
  for (int i = 0; i <= f.nx; ++i)
    for (int j = 0; j <= f.ny; ++j) {
      if (i < f.nx) g.join(place(i, j), place(i + 1, j));
      if (j < f.ny) g.join(place(i, j), place(i, j + 1));
      if (i < f.nx && j < f.ny) g.join(place(i, j), place(i + 1, j + 1));
    }
  std::vector<TreeNode> out;
  for (const flood::Pool& p : flood::pools_of(g)) {
    std::vector<bool> mine(f.z.size(), false);
    for (const std::size_t m : p.members) mine[m] = true;
    TreeNode node{p.parent, p.sealed, p.floor, p.brim, 0};
    const auto add = [&](int i0, int j0, int i1, int j1, int i2, int j2) {
      if (!mine[place(i0, j0)] && !mine[place(i1, j1)] && !mine[place(i2, j2)]) return;
      const auto at = [&](int i, int j) { return Vec3(f.pitch * i, f.pitch * j, f.at(i, j)); };
      node.capacity += depth_volume(at(i0, j0), at(i1, j1), at(i2, j2), p.brim);
    };
    for (int i = 0; i < f.nx; ++i)
      for (int j = 0; j < f.ny; ++j) {
        add(i, j, i + 1, j, i + 1, j + 1);
        add(i, j, i + 1, j + 1, i, j + 1);
      }
    out.push_back(node);
  }
  return out;
}

Cavities cavities_of_field(const Field& f) {
  CavityOptions options;
  options.floor_detail = 0;
  options.plateau = millimetres(1e-9);
  return clean_cavities(solid_of(f.block()), options);
}

}  // namespace

TEST_CASE("random terrain: the same pools as the flood of its vertices") {
  std::size_t leaves = 0, nested = 0;
  for (std::uint32_t seed = 1; seed <= 240; ++seed) {
    CAPTURE(seed);
    const Field f = random_field(seed, seed % 2 == 0);
    const std::vector<TreeNode> expected = pools_of(f);
    const Cavities found = cavities_of_field(f);
    CHECK(text_of(found) == text_of(expected));
    for (const TreeNode& n : expected) nested += n.parent >= 0 ? 1 : 0;
    for (const Cavity& c : found.list()) leaves += c.kind == CavityKind::open ? 1 : 0;
  }
  CHECK(leaves > 5000);
  CHECK(nested > 5000);
}

TEST_CASE("a chain of pools that merge one after another costs no more than its surface") {
  // A trough whose ridges rise from one end to the other: every merge adds one small pool to the big one.
  // Work that grew with the square of the length would take minutes here.
  const int n = 20000;
  Field f{2 * n, 2, 1, {}};
  for (int i = 0; i <= 2 * n; ++i)
    for (int j = 0; j <= 2; ++j)
      f.z.push_back(j != 1 || i == 0 || i == 2 * n ? 2 : (i % 2 == 1 ? 0 : 0.5 + 1.0 * i / (2 * n + 1)));
  const Cavities c = cavities_of_field(f);
  REQUIRE(c.list().size() == static_cast<std::size_t>(2 * n - 1));
  double expected = 0, leaf = 0;
  for (int i = 0; i < 2 * n; ++i)
    for (int j = 0; j < 2; ++j) {
      const auto at = [&](int k, int l) { return Vec3(k, l, f.at(k, l)); };
      expected += depth_volume(at(i, j), at(i + 1, j), at(i + 1, j + 1), 2) +
                  depth_volume(at(i, j), at(i + 1, j + 1), at(i, j + 1), 2);
    }
  int roots = 0;
  for (const Cavity& k : c.list()) {
    if (k.parent == 0) {
      ++roots;
      CHECK(capacity_of(k) == doctest::Approx(expected).epsilon(1e-12));
    }
    leaf += k.kind == CavityKind::open ? 1 : 0;
  }
  CHECK(roots == 1);
  CHECK(leaf == n);
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Molds made of grid cells, and what they hold by flooding the cells. Liquid passes from cell to cell through
// faces only: voids that touch along an edge or in a corner are apart, material that touches there is welded.
#pragma once

#include "support/flood.hpp"
#include "support/shapes.hpp"
#include "support/tree_text.hpp"

#include <algorithm>

namespace voxels {

using shapes::Builder;
using shapes::TriangleSoup;
using shapes::Vec3;

struct Grid {
  int nx, ny, nz;
  std::vector<bool> material;
  std::vector<double> level;  // height of the cells' horizontal faces, nz + 1 of them

  Grid(int x, int y, int z) : nx(x), ny(y), nz(z), material(static_cast<std::size_t>(x * y * z)) {
    for (int k = 0; k <= nz; ++k) level.push_back(k);
  }
  std::size_t cell(int i, int j, int k) const { return static_cast<std::size_t>((k * ny + j) * nx + i); }
  bool inside(int i, int j, int k) const { return i >= 0 && i < nx && j >= 0 && j < ny && k >= 0 && k < nz; }
  bool full(int i, int j, int k) const { return inside(i, j, k) && material[cell(i, j, k)]; }
  void set(int i, int j, int k, bool full = true) { material[cell(i, j, k)] = full; }
  /// Half-open ranges.
  void fill(int x0, int x1, int y0, int y1, int z0, int z1, bool full = true) {
    for (int i = x0; i < x1; ++i)
      for (int j = y0; j < y1; ++j)
        for (int k = z0; k < z1; ++k) set(i, j, k, full);
  }
  double volume() const {
    double v = 0;
    for (int k = 0; k < nz; ++k)
      for (int j = 0; j < ny; ++j)
        for (int i = 0; i < nx; ++i) v += full(i, j, k) ? level[upto(k) + 1] - level[upto(k)] : 0;
    return v;
  }
  static std::size_t upto(int k) { return static_cast<std::size_t>(k); }
};

/// Random cells; `walled`: round them, a floor and walls of random height, so that more liquid stays.
inline Grid random_grid(int n, double density, bool walled, std::uint32_t seed) {
  std::mt19937 random(seed);
  const auto chance = [&] { return static_cast<double>(random()) / 4294967296.0; };
  Grid g(n, n, n);
  for (int k = 0; k < n; ++k)
    for (int j = 0; j < n; ++j)
      for (int i = 0; i < n; ++i) g.set(i, j, k, chance() < density);
  for (int i = 0; walled && i < n; ++i)
    for (int j = 0; j < n; ++j) {
      const bool border = i == 0 || j == 0 || i == n - 1 || j == n - 1;
      const int height = !border ? 1 : n - (chance() < 0.5 ? 0 : static_cast<int>(random() % 3));
      for (int k = 0; k < height; ++k) g.set(i, j, k);
    }
  for (std::size_t k = 1; k < g.level.size(); ++k)
    g.level[k] = g.level[k - 1] + 1 + static_cast<double>(random() % 3);
  return g;
}

/// The faces between material and void, welded. Not cleaned in any way: edges and corners may touch.
inline TriangleSoup soup_of(const Grid& g) {
  Builder b;
  for (int k = 0; k < g.nz; ++k)
    for (int j = 0; j < g.ny; ++j)
      for (int i = 0; i < g.nx; ++i) {
        if (!g.full(i, j, k)) continue;
        const double z0 = g.level[Grid::upto(k)], z1 = g.level[Grid::upto(k) + 1];
        const auto p = [&](int x, int y, int z) { return Vec3(i + x, j + y, z ? z1 : z0); };
        if (!g.full(i, j, k - 1)) b.quad(p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0));
        if (!g.full(i, j, k + 1)) b.quad(p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1));
        if (!g.full(i, j - 1, k)) b.quad(p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1));
        if (!g.full(i, j + 1, k)) b.quad(p(1, 1, 0), p(0, 1, 0), p(0, 1, 1), p(1, 1, 1));
        if (!g.full(i - 1, j, k)) b.quad(p(0, 1, 0), p(0, 0, 0), p(0, 0, 1), p(0, 1, 1));
        if (!g.full(i + 1, j, k)) b.quad(p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1));
      }
  return b.take();
}

/// What the cells hold.
inline std::vector<TreeNode> pools_of(const Grid& g) {
  flood::Graph graph;
  std::vector<std::size_t> place(g.material.size());
  std::vector<std::size_t> cell_of;
  for (int k = 0; k < g.nz; ++k)
    for (int j = 0; j < g.ny; ++j)
      for (int i = 0; i < g.nx; ++i) {
        if (g.full(i, j, k)) continue;
        const bool border = i == 0 || j == 0 || k == 0 || i == g.nx - 1 || j == g.ny - 1;
        place[g.cell(i, j, k)] = graph.add(g.level[Grid::upto(k)], border);
        cell_of.push_back(g.cell(i, j, k));
        if (i > 0 && !g.full(i - 1, j, k)) graph.join(graph.height.size() - 1, place[g.cell(i - 1, j, k)]);
        if (j > 0 && !g.full(i, j - 1, k)) graph.join(graph.height.size() - 1, place[g.cell(i, j - 1, k)]);
        if (k > 0 && !g.full(i, j, k - 1)) graph.join(graph.height.size() - 1, place[g.cell(i, j, k - 1)]);
      }
  const std::size_t sky = graph.add(g.level.back(), true);
  for (int j = 0; j < g.ny; ++j)
    for (int i = 0; i < g.nx; ++i)
      if (!g.full(i, j, g.nz - 1)) graph.join(sky, place[g.cell(i, j, g.nz - 1)]);
  std::vector<TreeNode> out;
  for (const flood::Pool& p : flood::pools_of(graph)) {
    TreeNode node{p.parent, p.sealed, p.floor, p.sealed ? p.floor : p.brim, 0};
    for (const std::size_t m : p.members) {
      const std::size_t layer = cell_of[m] / static_cast<std::size_t>(g.nx * g.ny);
      node.capacity += g.level[layer + 1] - g.level[layer];
      if (p.sealed) node.brim = std::max(node.brim, g.level[layer + 1]);  // its roof
    }
    out.push_back(node);
  }
  return out;
}

}  // namespace voxels

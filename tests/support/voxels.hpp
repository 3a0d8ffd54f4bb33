// SPDX-License-Identifier: GPL-3.0-or-later
// Molds made of grid cells, and what they hold by flooding the cells. Liquid passes from cell to cell through
// faces only: voids that touch along an edge or in a corner are apart, material that touches there is welded.
#pragma once

#include "support/shapes.hpp"

#include <algorithm>
#include <numeric>
#include <set>
#include <string>

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

/// A pool from its floor to its brim; a sealed one has its roof as brim.
struct Pool {
  double floor = 0, brim = 0, capacity = 0;
  bool sealed = false;
  int parent = -1;
  std::vector<int> children;
};

/// Floods layer by layer. Children come before parents.
inline std::vector<Pool> flood(const Grid& g) {
  const std::size_t cells = g.material.size(), out = cells;
  std::vector<std::size_t> set(cells + 1);
  std::iota(set.begin(), set.end(), std::size_t{0});
  const auto find = [&](std::size_t c) {
    while (set[c] != c) c = set[c] = set[set[c]];
    return c;
  };
  std::vector<Pool> pools;
  std::vector<int> pool_of(cells + 1, -1);  // per cell: the pool it was counted in, by way of its root
  std::vector<double> held(cells + 1, 0);
  std::map<std::size_t, int> alive;  // root → pool, the outside left out
  for (int k = 0; k <= g.nz; ++k) {
    const double z = g.level[Grid::upto(k)];
    const auto before = alive;
    std::vector<std::size_t> fresh;
    for (int j = 0; j < g.ny; ++j)
      for (int i = 0; i < g.nx; ++i) {
        if (k == g.nz) {  // the open air above the block
          if (!g.full(i, j, k - 1)) set[find(g.cell(i, j, k - 1))] = find(out);
          continue;
        }
        if (g.full(i, j, k)) continue;
        const std::size_t c = g.cell(i, j, k);
        fresh.push_back(c);
        const int dx[5] = {-1, 1, 0, 0, 0}, dy[5] = {0, 0, -1, 1, 0}, dz[5] = {0, 0, 0, 0, -1};
        for (int d = 0; d < 5; ++d) {
          const int x = i + dx[d], y = j + dy[d], w = k + dz[d];
          if (!g.inside(x, y, w))
            set[find(c)] = find(out);
          else if (!g.full(x, y, w))
            set[find(c)] = find(g.cell(x, y, w));
        }
      }
    std::map<std::size_t, std::vector<int>> meeting;
    for (const auto& [root, pool] : before) meeting[find(root)].push_back(pool);
    for (const std::size_t c : fresh) meeting[find(c)];
    alive.clear();
    for (const auto& [root, met] : meeting) {
      if (root == find(out)) {
        for (const int p : met) pools[static_cast<std::size_t>(p)].brim = z;
        continue;
      }
      int pool = met.size() == 1 ? met[0] : -1;
      if (met.size() != 1) {
        pool = static_cast<int>(pools.size());
        Pool made;
        made.floor = z;
        for (const int p : met) {
          Pool& child = pools[static_cast<std::size_t>(p)];
          child.brim = z;
          child.parent = pool;
          made.capacity += child.capacity;
          made.floor = std::min(made.floor, child.floor);
        }
        made.children = met;
        pools.push_back(made);
      }
      alive[root] = pool;
    }
    for (const std::size_t c : fresh)
      if (const auto it = alive.find(find(c)); it != alive.end())
        pools[static_cast<std::size_t>(it->second)].capacity += g.level[Grid::upto(k) + 1] - z;
  }
  for (const auto& [root, pool] : alive) {
    Pool& p = pools[static_cast<std::size_t>(pool)];
    p.sealed = true;
    for (std::size_t c = 0; c < cells; ++c)
      if (!g.material[c] && find(c) == root)
        p.brim = std::max(p.brim, g.level[c / static_cast<std::size_t>(g.nx * g.ny) + 1]);
  }
  return pools;
}

}  // namespace voxels

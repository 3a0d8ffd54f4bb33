// SPDX-License-Identifier: GPL-3.0-or-later
// Solid and held liquid of closed bodies by vertical columns: the twin against which closed forms are
// checked. It counts windings along each column and lets the sky's water level rise along the lowest way
// (priority flood, R. Barnes, C. Lehman, D. Mulla 2014). Off by about a cell along every wall.
#pragma once

#include "support/shapes.hpp"

#include <algorithm>
#include <limits>
#include <queue>

namespace flood {

struct Columns {
  double solid = 0, held = 0;
};

/// The union of closed bodies on `cells` columns along the longer side. O(columns · crossings).
inline Columns columns_of(std::vector<shapes::TriangleSoup> bodies, int cells) {
  using shapes::Vec3;
  const double far = std::numeric_limits<double>::infinity();
  // Askew to the grid, so that a wall's two sides do not fall short together.
  for (auto& s : bodies)
    s = shapes::moved(std::move(s), [](const Vec3& p) {
      return Vec3(0.8 * p.x() - 0.6 * p.y(), 0.6 * p.x() + 0.8 * p.y(), p.z());
    });
  Vec3 low = Vec3::Constant(far), high = -low;
  for (const auto& s : bodies)
    for (const Vec3& p : s.vertices) {
      low = low.cwiseMin(p);
      high = high.cwiseMax(p);
    }
  const double cell = std::max(high.x() - low.x(), high.y() - low.y()) / cells;
  // An irrational share of a cell beyond the body, so that no column runs along a wall.
  const double x0 = low.x() - 1.381966 * cell, y0 = low.y() - 1.267949 * cell;
  const int nx = static_cast<int>((high.x() - x0) / cell) + 2,
            ny = static_cast<int>((high.y() - y0) / cell) + 2;
  std::vector<std::vector<std::pair<double, int>>> hits(static_cast<std::size_t>(nx * ny));
  for (const auto& s : bodies)
    for (const auto& t : s.triangles) {
      const Vec3 &a = s.vertices[t[0]], &b = s.vertices[t[1]], &c = s.vertices[t[2]];
      const double twice = (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
      if (twice == 0) continue;
      const auto from = [&](double v, double o) { return std::max(0, static_cast<int>((v - o) / cell) - 1); };
      const int i1 = std::min(nx - 1, from(std::max({a.x(), b.x(), c.x()}), x0) + 2),
                j1 = std::min(ny - 1, from(std::max({a.y(), b.y(), c.y()}), y0) + 2);
      for (int i = from(std::min({a.x(), b.x(), c.x()}), x0); i <= i1; ++i)
        for (int j = from(std::min({a.y(), b.y(), c.y()}), y0); j <= j1; ++j) {
          const double x = x0 + i * cell, y = y0 + j * cell;
          // Edges are always asked in the same direction, so that a column meets one of two neighbours.
          const auto side = [&](const Vec3& p, const Vec3& q) {
            const bool swap = std::pair(q.x(), q.y()) < std::pair(p.x(), p.y());
            const Vec3 &u = swap ? q : p, &v = swap ? p : q;
            const double d = (v.x() - u.x()) * (y - u.y()) - (v.y() - u.y()) * (x - u.x());
            return (d > 0) != swap;
          };
          const bool ab = side(a, b);
          if (ab != side(b, c) || ab != side(c, a)) continue;
          const double u = ((b.x() - x) * (c.y() - y) - (b.y() - y) * (c.x() - x)) / twice,
                       v = ((c.x() - x) * (a.y() - y) - (c.y() - y) * (a.x() - x)) / twice;
          hits[static_cast<std::size_t>(i * ny + j)].emplace_back(u * a.z() + v * b.z() + (1 - u - v) * c.z(),
                                                                  twice < 0 ? 1 : -1);
        }
    }
  struct Span {
    double low, high, level;
  };
  Columns out;
  std::vector<std::vector<Span>> voids(hits.size());
  const double nothing = 1e-9 * (high.z() - low.z());
  for (std::size_t h = 0; h < hits.size(); ++h) {
    auto& list = hits[h];
    std::sort(list.begin(), list.end());
    double open = -far;
    int winding = 0;
    for (const auto& [z, step] : list) {
      if (winding <= 0 && winding + step > 0) {
        if (z - open > nothing) voids[h].push_back({open, z, far});
        if (z - open <= nothing && open > -far) out.solid += (z - open) * cell * cell;
        open = z;
      } else if (winding > 0 && winding + step <= 0) {
        out.solid += (z - open) * cell * cell;
        open = z;
      }
      winding += step;
    }
    voids[h].push_back({open, far, far});
  }
  using Entry = std::tuple<double, int, std::size_t>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue;
  const auto reach = [&](int h, std::size_t k, double level) {
    Span& s = voids[static_cast<std::size_t>(h)][k];
    if (level >= s.level) return;
    s.level = level;
    queue.emplace(level, h, k);
  };
  for (int h = 0; h < nx * ny; ++h)
    if (h / ny == 0 || h / ny == nx - 1 || h % ny == 0 || h % ny == ny - 1) reach(h, 0, -far);
  while (!queue.empty()) {
    const auto [level, h, k] = queue.top();
    queue.pop();
    const Span s = voids[static_cast<std::size_t>(h)][k];
    if (level > s.level) continue;
    const int i = h / ny, j = h % ny;
    for (const auto& [u, v] :
         {std::pair(i - 1, j), std::pair(i + 1, j), std::pair(i, j - 1), std::pair(i, j + 1)}) {
      if (u < 0 || v < 0 || u >= nx || v >= ny) continue;
      const auto& next = voids[static_cast<std::size_t>(u * ny + v)];
      for (std::size_t m = 0; m < next.size(); ++m)
        if (next[m].low < s.high && s.low < next[m].high)
          reach(u * ny + v, m, std::max({level, s.low, next[m].low}));
    }
  }
  for (const auto& column : voids)
    for (const Span& s : column)
      if (s.level > s.low && s.level < far && s.low > -far)
        out.held += (std::min(s.high, s.level) - s.low) * cell * cell;
  return out;
}

}  // namespace flood

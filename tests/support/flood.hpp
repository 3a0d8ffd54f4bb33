// SPDX-License-Identifier: GPL-3.0-or-later
// Which pools a graph of places holds, by brute force: places fall under the level in order of their height,
// all places of one height together. The twin against which cavities are checked; it knows nothing of meshes.
#pragma once

#include <algorithm>
#include <map>
#include <numeric>
#include <vector>

namespace flood {

struct Graph {
  std::vector<double> height;
  std::vector<std::vector<std::size_t>> near;
  std::vector<bool> outside;  // liquid that reaches this place is lost

  std::size_t add(double z, bool is_outside = false) {
    height.push_back(z);
    near.emplace_back();
    outside.push_back(is_outside);
    return height.size() - 1;
  }
  void join(std::size_t a, std::size_t b) {
    near[a].push_back(b);
    near[b].push_back(a);
  }
};

struct Pool {
  double floor = 0, brim = 0;
  bool sealed = false;  // never meets the outside; its brim then means nothing
  int parent = -1;
  std::vector<std::size_t> members;  // every place below the brim
};

/// Children come before parents. O(places · pools): for tests.
inline std::vector<Pool> pools_of(const Graph& g) {
  const std::size_t n = g.height.size();
  std::vector<std::size_t> set(n + 1), order(n);
  std::iota(set.begin(), set.end(), std::size_t{0});
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return g.height[a] < g.height[b]; });
  const auto find = [&](std::size_t c) {
    while (set[c] != c) c = set[c] = set[set[c]];
    return c;
  };
  std::vector<Pool> pools;
  std::vector<bool> wet(n, false);
  std::map<std::size_t, int> alive;  // root → pool, the outside left out
  const auto members = [&](std::size_t root) {
    std::vector<std::size_t> out;
    for (std::size_t c = 0; c < n; ++c)
      if (wet[c] && find(c) == root) out.push_back(c);
    return out;
  };
  for (std::size_t first = 0; first < n;) {
    const double z = g.height[order[first]];
    std::size_t last = first;
    while (last < n && g.height[order[last]] == z) ++last;
    std::map<int, std::vector<std::size_t>> held;  // what the pools hold if they close now
    std::vector<std::pair<std::size_t, int>> before(alive.begin(), alive.end());
    std::vector<std::size_t> was(set);
    std::vector<bool> was_wet(wet);
    for (std::size_t i = first; i < last; ++i) {
      const std::size_t c = order[i];
      wet[c] = true;
      if (g.outside[c]) set[find(c)] = find(n);
      for (const std::size_t o : g.near[c])
        if (wet[o]) set[find(c)] = find(o);
    }
    std::map<std::size_t, std::vector<int>> meeting;
    for (const auto& [root, pool] : before) meeting[find(root)].push_back(pool);
    for (std::size_t i = first; i < last; ++i) meeting[find(order[i])];
    // The pools that end here keep the members they had.
    const auto close = [&](int pool) {
      std::swap(set, was);
      std::swap(wet, was_wet);
      for (const auto& [root, p] : before)
        if (p == pool) pools[static_cast<std::size_t>(pool)].members = members(find(root));
      std::swap(set, was);
      std::swap(wet, was_wet);
      pools[static_cast<std::size_t>(pool)].brim = z;
    };
    alive.clear();
    for (const auto& [root, met] : meeting) {
      const bool out = root == find(n);
      if (!out && met.size() == 1) {
        alive[root] = met[0];
        continue;
      }
      for (const int p : met) close(p);
      if (out) continue;
      Pool made;
      made.floor = z;
      for (const int p : met) {
        pools[static_cast<std::size_t>(p)].parent = static_cast<int>(pools.size());
        made.floor = std::min(made.floor, pools[static_cast<std::size_t>(p)].floor);
      }
      alive[root] = static_cast<int>(pools.size());
      pools.push_back(made);
    }
    first = last;
  }
  for (const auto& [root, pool] : alive) {
    pools[static_cast<std::size_t>(pool)].sealed = true;
    pools[static_cast<std::size_t>(pool)].members = members(root);
  }
  return pools;
}

}  // namespace flood

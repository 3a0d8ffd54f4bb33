// SPDX-License-Identifier: GPL-3.0-or-later
// Every undirected edge of a triangle list, once, with all the half-edges that run along it.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <span>
#include <vector>

namespace pourwright {

/// Half-edge along an edge. `other` is the larger of its two vertices; `forward` means it runs from the
/// smaller.
struct EdgeUse {
  Index other;
  HalfEdge half_edge;
  bool forward;
};

/// Calls visit(smaller vertex, span<const EdgeUse>) for each undirected edge. Buckets of half-edges by
/// smaller vertex: O(n) time for bounded valence (O(d log d) for a vertex of valence d), 12 bytes per
/// triangle while it runs.
template <class Visit>
void for_each_edge(const std::vector<Triangle>& triangles, std::size_t vertex_count, Visit&& visit) {
  std::vector<Index> start(vertex_count + 1, 0);
  for (const Triangle& t : triangles) {
    ++start[std::min(t[0], t[1])];
    ++start[std::min(t[1], t[2])];
    ++start[std::min(t[2], t[0])];
  }
  // start[v] becomes the end of v's bucket; filling backwards turns it into the beginning.
  Index sum = 0;
  for (Index& s : start) s = sum += s;
  std::vector<HalfEdge> bucket(3 * triangles.size());
  for (std::size_t t = triangles.size(); t-- > 0;) {
    const Triangle& c = triangles[t];
    for (Index k = 3; k-- > 0;)
      bucket[--start[std::min(c[k], c[k == 2 ? 0 : k + 1])]] = static_cast<HalfEdge>(3 * t + k);
  }
  std::vector<EdgeUse> room;
  for (std::size_t v = 0; v < vertex_count; ++v) {
    const std::size_t count = start[v + 1] - start[v];
    if (room.size() < count) room.resize(2 * count);
    const HalfEdge* const from_here = bucket.data() + start[v];
    EdgeUse* const uses = room.data();
    const bool few = count <= 24;
    for (std::size_t i = 0; i < count; ++i) {
      const HalfEdge h = from_here[i];
      const Triangle& c = triangles[h / 3];
      const Index k = h % 3;
      const Index from = c[k], to = c[k == 2 ? 0 : k + 1];
      const EdgeUse use{from == v ? to : from, h, from == v};
      std::size_t j = i;
      for (; few && j > 0 && uses[j - 1].other > use.other; --j) uses[j] = uses[j - 1];
      uses[j] = use;
    }
    if (!few)
      std::stable_sort(uses, uses + count,
                       [](const EdgeUse& a, const EdgeUse& b) { return a.other < b.other; });
    for (std::size_t i = 0; i < count;) {
      std::size_t j = i + 1;
      while (j < count && uses[j].other == uses[i].other) ++j;
      visit(static_cast<Index>(v), std::span<const EdgeUse>(uses + i, j - i));
      i = j;
    }
  }
}

/// Union–find over 0 … n−1 with path halving; the root of a set is its smallest member.
class DisjointSets {
 public:
  explicit DisjointSets(std::size_t n) : parent_(n) {
    for (std::size_t i = 0; i < n; ++i) parent_[i] = static_cast<Index>(i);
  }
  Index find(Index i) {
    Index* const parent = parent_.data();
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
  }
  void unite(Index a, Index b) {
    a = find(a);
    b = find(b);
    if (a < b)
      parent_[b] = a;
    else if (b < a)
      parent_[a] = b;
  }
  /// Replaces every entry by the number of its set, sets numbered by smallest member. Returns how many there
  /// are.
  std::size_t number(std::vector<Index>& out) && {
    Index count = 0;
    for (std::size_t i = 0; i < parent_.size(); ++i) {
      const Index p = parent_[i];
      // Parents come before their children and have been numbered already.
      parent_[i] = p == i ? count++ : parent_[p];
    }
    out = std::move(parent_);
    return count;
  }

 private:
  std::vector<Index> parent_;
};

}  // namespace pourwright

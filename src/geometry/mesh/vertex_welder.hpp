// SPDX-License-Identifier: GPL-3.0-or-later
// Vertices whose coordinates agree bit for bit become one vertex; −0 equals +0. Nothing is merged by
// distance.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <type_traits>
#include <vector>

namespace pourwright {

namespace weld {

/// 64×64 → 128 bits, folded: every input bit reaches every output bit.
inline std::uint64_t mix(std::uint64_t a, std::uint64_t b) {
  __extension__ using Wide = unsigned __int128;
  const Wide product = static_cast<Wide>(a) * b;
  return static_cast<std::uint64_t>(product) ^ static_cast<std::uint64_t>(product >> 64);
}

template <class Point>
std::uint32_t hash(const Point& p, std::uint64_t seed) {
  constexpr std::uint64_t odd = 0x9E3779B97F4A7C15u;
  if constexpr (std::is_same_v<std::remove_cvref_t<decltype(p[0])>, float>) {
    const std::uint64_t x = std::bit_cast<std::uint32_t>(p[0]);
    const std::uint64_t y = std::bit_cast<std::uint32_t>(p[1]);
    const std::uint64_t z = std::bit_cast<std::uint32_t>(p[2]);
    return static_cast<std::uint32_t>(mix((x | y << 32) ^ seed, (z | z << 32) ^ odd));
  } else {
    const std::uint64_t x = std::bit_cast<std::uint64_t>(p[0]);
    const std::uint64_t y = std::bit_cast<std::uint64_t>(p[1]);
    const std::uint64_t z = std::bit_cast<std::uint64_t>(p[2]);
    return static_cast<std::uint32_t>(mix(mix(x ^ seed, y ^ odd) ^ seed, z ^ std::rotl(odd, 23)));
  }
}

/// Both points are free of −0 and NaN, so equal values are equal bits.
template <class A, class B>
bool same(const A& a, const B& b) {
  return a[0] == b[0] && a[1] == b[1] && a[2] == b[2];
}

/// A hash table of indices into an array of points that the caller owns. Open addressing, at most 60 % full.
/// Batches hide the latency of memory: all slots of a batch are fetched before the first is needed.
class Table {
 public:
  static constexpr std::size_t batch = 96;

  explicit Table(std::size_t expected) {
    allocate(std::bit_ceil(std::max<std::size_t>(64, expected * 5 / 3 + 1)));
  }

  template <class Points>
  void reserve(const Points& points, std::size_t expected) {
    const std::size_t size = std::bit_ceil(expected * 5 / 3 + 1);
    if (size > slots_.size()) rebuild(points, size);
  }

  /// Index of each of n ≤ batch points. `points` is what has been welded so far; `append(p)` must add p to
  /// its end. Expected O(n).
  template <class Points, class Point, class Append>
  void find_or_add(const Points& points, const Point* added, std::size_t n, Index* out, Append append) {
    while ((count_ + n) * 5 > slots_.size() * 3) rebuild(points, slots_.size() * 2);
    std::array<std::uint32_t, batch> hashes;
    for (std::size_t i = 0; i < n; ++i) {
      hashes[i] = hash(added[i], seed_);
      __builtin_prefetch(&slots_[hashes[i] & mask_], 1);
    }
    for (std::size_t i = 0; i < n; ++i) {
      const Index there = slots_[hashes[i] & mask_];
      if (there != none) __builtin_prefetch(&points[there]);
    }
    for (std::size_t i = 0; i < n; ++i) {
      std::size_t at = hashes[i] & mask_, steps = 0;
      while (slots_[at] != none && !same(points[slots_[at]], added[i])) {
        at = (at + 1) & mask_;
        ++steps;
      }
      if (slots_[at] == none) {
        slots_[at] = static_cast<Index>(count_++);
        append(added[i]);
      }
      out[i] = slots_[at];
      // Far longer than chance allows at this load: the file was made to collide, so hash differently.
      if (steps > longest_run && reseeds_ < 8) [[unlikely]] {
        ++reseeds_;
        seed_ = mix(seed_ + reseeds_, 0xD6E8FEB86659FD93u);
        rebuild(points, slots_.size());
        for (std::size_t k = i + 1; k < n; ++k) hashes[k] = hash(added[k], seed_);
      }
    }
  }

 private:
  static constexpr std::size_t longest_run = 2048;

  void allocate(std::size_t size) {
    slots_.assign(size, none);
    mask_ = size - 1;
  }
  template <class Points>
  void rebuild(const Points& points, std::size_t size) {
    slots_ = {};
    allocate(size);
    for (std::size_t i = 0; i < count_; ++i) {
      std::size_t at = hash(points[i], seed_) & mask_;
      while (slots_[at] != none) at = (at + 1) & mask_;
      slots_[at] = static_cast<Index>(i);
    }
  }

  std::vector<Index> slots_;
  std::size_t mask_ = 0, count_ = 0, reseeds_ = 0;
  std::uint64_t seed_ = 0xA0761D6478BD642Fu;
};

}  // namespace weld

/// Welds a stream of points, for files that repeat each vertex in each triangle. Indices follow first use.
/// 4 to 7 bytes of table and 3 scalars per distinct vertex.
template <class Scalar>
class VertexWelder {
 public:
  using Point = std::array<Scalar, 3>;
  static constexpr std::size_t batch = weld::Table::batch;

  explicit VertexWelder(std::size_t expected) : table_(expected) { points_.reserve(expected); }

  /// n ≤ batch points in, their indices out. No coordinate may be −0 or NaN; see `positive_zero`.
  void add(const Point* points, std::size_t n, Index* out) {
    table_.find_or_add(points_, points, n, out, [this](const Point& p) { points_.push_back(p); });
  }
  std::size_t size() const { return points_.size(); }
  /// A better guess than the constructor's.
  void expect(std::size_t count) {
    points_.reserve(count);
    table_.reserve(points_, count);
  }

  /// The distinct vertices times `scale`, in doubles. Frees everything else first.
  std::vector<Vec3> take(double scale) && {
    table_ = weld::Table(0);
    std::vector<Vec3> out;
    out.reserve(points_.size());
    for (const Point& p : points_) out.emplace_back(p[0] * scale, p[1] * scale, p[2] * scale);
    points_ = {};
    return out;
  }

 private:
  weld::Table table_;
  std::vector<Point> points_;
};

/// −0 becomes +0, everything else stays.
template <class Scalar>
Scalar positive_zero(Scalar x) {
  return x + Scalar{0};
}

/// Welds indexed triangles in place and drops vertices that no triangle uses; vertices keep their order.
/// Every index must be in range and no coordinate NaN. O(n) expected, 10 bytes per vertex while it runs.
inline void weld_in_place(std::vector<Vec3>& vertices, std::vector<Triangle>& triangles) {
  constexpr std::size_t batch = weld::Table::batch;
  std::vector<Index> renumbered(vertices.size(), none);
  for (const Triangle& t : triangles)
    for (const Index v : t) renumbered[v] = 0;

  weld::Table table(vertices.size());
  std::array<Vec3, batch> points;
  std::array<Index, batch> from, to;
  std::size_t kept = 0, gathered = 0;
  const auto flush = [&] {
    // At most as many vertices have been kept as were read, so writing never overtakes reading.
    table.find_or_add(vertices, points.data(), gathered, to.data(),
                      [&](const Vec3& p) { vertices[kept++] = p; });
    for (std::size_t k = 0; k < gathered; ++k) renumbered[from[k]] = to[k];
    gathered = 0;
  };
  for (std::size_t i = 0; i < vertices.size(); ++i) {
    if (renumbered[i] == none) continue;
    for (int axis = 0; axis < 3; ++axis) points[gathered][axis] = positive_zero(vertices[i][axis]);
    from[gathered] = static_cast<Index>(i);
    if (++gathered == batch) flush();
  }
  flush();
  if (kept < vertices.size()) {
    vertices.resize(kept);
    vertices.shrink_to_fit();
    for (Triangle& t : triangles)
      for (Index& v : t) v = renumbered[v];
  }
}

}  // namespace pourwright

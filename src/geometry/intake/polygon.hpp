// SPDX-License-Identifier: GPL-3.0-or-later
// Faces with more than three corners, convex or not, cut into triangles in the plane that fits them best.
#pragma once

#include <pourwright/mesh.hpp>

#include <cstdint>
#include <span>
#include <vector>

namespace pourwright::intake {

/// Keeps its work arrays and its allowance from face to face.
class PolygonCutter {
 public:
  enum class Outcome : std::uint8_t {
    cut,      ///< n−2 triangles that cover the face
    forced,   ///< n−2 triangles, but the outline crosses itself or encloses nothing, so they are one guess
    nothing,  ///< fewer than three distinct corners: no triangle
    too_costly,  ///< the allowance of work for all faces together is used up
  };

  /// Appends the triangles of one face, with its orientation. Corners that repeat the one before are dropped.
  /// A strictly convex face becomes a fan from its first corner. Otherwise ears are clipped: O(n·r) at worst
  /// for r corners that are not convex, near O(n log n) when ears are short.
  Outcome cut(std::span<const Index> corners, const std::vector<Vec3>& vertices, std::vector<Triangle>& out);

 private:
  using Corner = std::uint32_t;
  struct Flat {
    double u, v;
  };

  void flatten(const std::vector<Vec3>& vertices);
  bool strictly_convex() const;
  int turn(Corner a, Corner b, Corner c) const;
  bool enters(Corner at, Corner after, Corner before, Corner other) const;
  bool blocks(Corner other, Corner before, Corner tip, Corner after) const;
  bool is_ear(Corner tip);
  void clip(Corner tip, std::vector<Triangle>& out);
  Outcome clip_ears(std::vector<Triangle>& out);
  Corner guess(Corner start) const;

  std::vector<Index> ring_;
  std::vector<Flat> flat_;
  std::vector<Corner> next_, previous_, waiting_, bent_;  // bent: not convex at first, sorted by u
  std::vector<char> gone_;
  std::uint64_t allowance_ = 1'000'000'000;  // about two seconds; every corner adds a little
};

}  // namespace pourwright::intake

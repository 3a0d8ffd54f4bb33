// SPDX-License-Identifier: GPL-3.0-or-later
// The void seen through vertical columns: an independent check of the exact tree, blind to passages narrower
// than a column, and the finder of sections that are closed all round, which is what a drain is made of.
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <vector>

namespace pourwright {

struct GridPool {
  double brim = 0, floor = 0, volume = 0;
  Vec3 at = Vec3::Zero();  ///< on its floor, in the middle of a column
};

/// A stretch of void whose level sections are all closed round: what it would hold if nothing left at its
/// bottom.
struct EnclosedRegion {
  double low = 0, high = 0;  ///< heights of its sections
  double volume = 0;
  double widest = 0;  ///< largest section, mm²
  double throat = 0;  ///< smallest section below the widest, mm²
  double throat_z = 0;
  Vec3 throat_at = Vec3::Zero();
  double lowest = 0;  ///< section at `low`, mm²
  Vec3 lowest_at = Vec3::Zero();
};

class SpanGrid {
 public:
  /// `columns` along the longer side of the plan box, in which all vertices lie; fewer when that would make
  /// more than `most_crossings` of them and the surface: some 70 bytes each. O(triangles + columns² +
  /// crossings · log crossings).
  SpanGrid(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, const Box& box,
           bool open, int columns, double least_gap = 0, double most_crossings = 6e6);

  double pitch() const { return pitch_; }
  /// Whether the columns are wider than asked for.
  bool coarsened() const { return coarsened_; }
  /// Pools that spill outside, found by joining spans from the bottom up.
  const std::vector<GridPool>& pools() const { return pools_; }
  /// The pool whose liquid stands at (x, y, z), if any.
  std::optional<GridPool> pool_at(const Vec3& p) const;
  /// Regions closed all round, from `levels` level sections.
  std::vector<EnclosedRegion> enclosed(int levels) const;

 private:
  struct Span {
    double low, high;
  };
  struct Column {
    double bottomless_to;  // where the void ends that begins below everything; −∞ without one
    Index first;           // of its spans with a bottom
  };
  class Crossings;
  void collect(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, double least_gap);
  void join();
  std::size_t column(int i, int j) const {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(i);
  }
  Vec3 place(int i, int j) const { return {x0_ + (i + 0.5) * pitch_, y0_ + (j + 0.5) * pitch_, 0}; }

  bool open_, coarsened_ = false;
  int nx_ = 0, ny_ = 0;
  double pitch_ = 1, x0_ = 0, y0_ = 0;
  double slack_ = 0;  // of a place told in columns
  double bottom_ = 0, top_ = 0;
  std::vector<Column> columns_;  // and one more, where the last one's spans end
  std::vector<Span> spans_;      // with a bottom
  std::vector<Index> pool_of_;   // per span, `none` outside
  std::vector<GridPool> pools_;
};

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// How far off a closing may be is asked of the surface itself: holes of the same size are cut where it is
// known, closed in the same way, and compared with what was there. A smooth surface answers with little, one
// full of features with much.
#pragma once

#include "geometry/repair/creases.hpp"
#include "geometry/repair/workpiece.hpp"

namespace pourwright::mending {

class TrialHoles {
 public:
  /// `w` is closed but for a rim; its triangles from `first_fill` on are closings. O(n).
  TrialHoles(const Workpiece& w, std::size_t first_fill);

  /// Volume by which closings of trial holes of this radius were off, mm³, in rising order; up to `most` of
  /// them, spread over the surface. Fewer where such holes do not fit. Time grows with the triangles in the
  /// holes.
  std::vector<double> errors(double radius, std::size_t most) const;

 private:
  std::vector<Index> patch_round(Index seed, double radius) const;
  std::optional<double> error_of(const std::vector<Index>& patch) const;

  const Workpiece& w_;
  std::size_t first_fill_;
  Fans fans_;
};

}  // namespace pourwright::mending

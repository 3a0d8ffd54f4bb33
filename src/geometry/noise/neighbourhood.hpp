// SPDX-License-Identifier: GPL-3.0-or-later
// What is left of the heights of neighbouring vertices once a smooth surface has been laid through them.
#pragma once

#include <pourwright/mesh.hpp>

#include "geometry/mesh/fans.hpp"

#include <optional>
#include <span>
#include <vector>

namespace pourwright::scatter {

/// Rings of vertices round the middle one, and the degree of the polynomial laid through their heights.
struct Reach {
  int rings;
  int degree;
};
/// Each wider reach keeps about as many vertices for a coefficient or more, so that what no polynomial
/// follows leaves the same in all of them.
inline constexpr Reach near_by{2, 2}, about{4, 2}, wide{8, 4};
/// As far as `about`, for what has no more vertices.
inline constexpr Reach closer{4, 4};

/// Heights over the polynomial, of one neighbourhood.
struct Residuals {
  double spread = 0;    ///< mm, with the degrees of freedom that are left
  double together = 0;  ///< correlation of neighbours
  double kurtosis = 0;  ///< mean fourth power over the square of the mean square: 3 of a normal distribution
};

/// Grows neighbourhoods that do not pass an edge of the shape. O(n) to build, 26 bytes a triangle.
class Neighbourhoods {
 public:
  /// Both must outlive it.
  Neighbourhoods(std::span<const Vec3> points, std::span<const Triangle> triangles);

  /// Whether the triangles round a vertex face about the same way; only there is it a middle.
  bool smooth_at(Index middle) const;
  /// Share of the edges at a vertex and its neighbours whose two triangles lie in one plane. Vertices that
  /// scatter hardly ever leave four in one plane; what is drawn is full of faces that were cut into
  /// triangles.
  double drawn_at(Index middle) const;
  /// Vertices round `middle`, nearest rings first, up to so many rings.
  const std::vector<Index>& grow(Index middle, int rings);
  /// Of what was grown last; nothing when too few vertices are left over.
  std::optional<Residuals> residuals(const Reach& reach) const;
  /// Median length of the edges within what was grown last.
  double edge() const;

 private:
  Vec3 normal_at(Index v) const;
  double typical_lean() const;

  std::span<const Vec3> points_;
  std::span<const Triangle> triangles_;
  Fans fans_;
  std::vector<Eigen::Vector3f> normal_;  ///< per triangle; zero without an area
  float most_lean_;                      ///< cosine of what a triangle may lean against the middle
  std::vector<Index> grown_;
  std::vector<Index> seen_;  ///< per vertex: the last growth that met it
  std::vector<std::uint8_t> ring_;
  std::vector<Index> place_;  ///< per vertex met by the last growth: its place in it
  Index growth_ = 0;
  Vec3 up_ = Vec3::UnitZ();
};

}  // namespace pourwright::scatter

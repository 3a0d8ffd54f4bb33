// SPDX-License-Identifier: GPL-3.0-or-later
// The largest ball inside a body that touches a point of its surface, and what stands for it beside an edge.
#pragma once

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/walls/skin.hpp"

#include <cmath>
#include <numbers>
#include <vector>

namespace pourwright::thickness {

/// Two contacts are the two sides of a wall when they stand at least this far apart as seen from the ball;
/// closer together they are the two sides of an edge. Sides of a wedge of 40° and less are thus a wall that
/// runs out.
inline constexpr double wall_degrees = 140;
inline const double wall_cosine = std::cos(wall_degrees * std::numbers::pi / 180);

struct Ball {
  double diameter = 0;
  double ray = 0;              ///< straight in; 0 when the ray found nothing
  Vec3 normal = Vec3::Zero();  ///< of the skin, where the ball touches
  Index across = none;         ///< the triangle that the ray leaves through
  bool own = true;  ///< a wall stands straight behind the point; false: it closes off a wall as the rim of a
                    ///< plate does
};

/// Roughness that a ball does not mind: bumps up to `height` mm.
struct Patience {
  double relative = 7e-3;
  double height = 0;
};

/// Where the surface is known to be far: what one search has shown spares those nearby theirs, since the
/// distance changes no faster than the point moves. In rods, rings and balls, where a ball touches all round
/// and a search is dearest, the balls of many places have nearly one centre.
class Clearances {
 public:
  /// Whether no surface is closer to the point than `least`; `enough` is how far a search goes on for the
  /// sake of later ones. The answer is the same whatever was asked before: a known point answers only where
  /// it is certain beyond rounding.
  bool clear(const RayScene& scene, const Vec3& at, double least, double enough);

 private:
  struct Known {
    Vec3 at = Vec3::Zero();
    double distance = 0;
  };
  std::vector<Known> known_;  ///< by a number made of where the point is
};

/// `at` is a point of the triangle. Nothing when it has no body behind it.
std::optional<Ball> inscribed_ball(const RayScene& scene, const Skin& skin, const Vec3& at, Index triangle,
                                   const Patience& patience, Clearances& known);

}  // namespace pourwright::thickness

// SPDX-License-Identifier: GPL-3.0-or-later
// The largest ball inside a body that touches a point of its surface, and what stands for it beside an edge.
#pragma once

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/walls/skin.hpp"

#include <array>
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
  /// Whether no surface is closer to the point than `least`; `enough` is what to look for while at it.
  bool clear(const RayScene& scene, const Vec3& at, double least, double enough);

 private:
  struct Known {
    Vec3 at = Vec3::Zero();
    double distance = 0;
  };
  std::vector<Known> known_;  ///< by a number made of where the point is
};

/// Where balls met the surface: others nearby meet it there or close by.
class Meetings {
 public:
  struct Met {
    Vec3 at = Vec3::Zero();
    Index triangle = none;
  };
  /// What balls about as large have met from about there.
  const std::vector<Met>& around(const Vec3& from, double radius);
  void add(const Vec3& from, double radius, const Met& met);

 private:
  struct Few {
    std::array<Met, 4> met;
    unsigned next = 0;
  };
  std::vector<Few> known_;  ///< by a number made of where the ball was
  std::vector<Met> around_;
};

/// Where balls came by that grew off an edge, and how large they became. They grow along streams that run
/// together, so that one comes to where another has been, and goes its way.
class Streams {
 public:
  struct End {
    double thickness = 0;
    bool held = false;  ///< else it might have grown further
  };
  /// Of a ball that came by about there.
  const End* at(const Vec3& centre, double radius);
  void add(const Vec3& centre, double radius, const End& end);

 private:
  struct Known {
    Vec3 centre = Vec3::Zero();
    double radius = 0;
    End end;
  };
  std::vector<Known> known_;  ///< by a number made of where the ball was
};

/// What earlier places teach later ones.
struct Memory {
  Clearances clearances;
  Meetings touches;   ///< of balls that touch the surface
  Meetings meetings;  ///< of balls that grow off an edge
  Streams streams;
};

/// `at` is a point of the triangle. Nothing when it has no body behind it.
std::optional<Ball> inscribed_ball(const RayScene& scene, const Skin& skin, const Vec3& at, Index triangle,
                                   const Patience& patience, Memory& memory);

}  // namespace pourwright::thickness

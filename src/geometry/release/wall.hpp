// SPDX-License-Identifier: GPL-3.0-or-later
// The piece as its mold touches it, and the questions asked of it.
#pragma once

#include <pourwright/release.hpp>

#include <span>
#include <vector>

namespace pourwright {
class RayScene;
}

namespace pourwright::release {

/// The piece's triangles with what every direction of pull needs of them.
struct Wall {
  std::span<const Vec3> vertices;
  std::span<const Triangle> triangles;
  std::vector<Vec3> normal;   ///< unit, outward; zero for a triangle without area
  std::vector<double> area;   ///< mm²
  std::vector<double> doubt;  ///< radians by which rounding of coordinates may have turned the normal
  std::vector<HalfEdge> opposite;
  std::vector<Index> body;  ///< per triangle: which closed surface it belongs to
  double size = 0;          ///< diagonal of the box
};
/// Both must outlive the wall.
Wall make_wall(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles);

/// Which triangles are the opening.
struct Mouth {
  Opening kind = Opening::nowhere;
  std::vector<bool> is_open;  ///< per triangle
  double area = 0;
  Vec3 normal = Vec3::UnitZ();  ///< out of it
};
/// Triangles in a plane at one of the `levels` along `out` that face out of it; without any, in the plane of
/// the highest vertex, which may lean by a degree: directions are often given to two or three digits.
Mouth find_mouth(const Wall& wall, const Vec3& out, std::span<const Length> levels);

/// Everything about one direction. The scene is that of the wall's triangles.
Pull pull_along(const Wall& wall, const RayScene& scene, const Mouth& mouth, const Vec3& direction,
                Length hold);

/// The direction with the least undercut within 60° of `out`, of those with none the one with the most draft.
Vec3 search_pull(const Wall& wall, const Mouth& mouth, const Vec3& out);

Parting search_parting(const Wall& wall, const RayScene& scene, const Vec3& first_try);

/// Radians of doubt from which a triangle's own direction says nothing.
inline constexpr double ignored_doubt = 0.01;

/// Below this angle a wall counts as along the pull.
inline constexpr double level_radians = 0.05 * 3.14159265358979323846 / 180;

}  // namespace pourwright::release

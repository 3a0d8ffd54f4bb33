// SPDX-License-Identifier: GPL-3.0-or-later
// Rays and nearest points on triangles, over Embree 3 or 4. Nothing outside ray_scene.cpp sees Embree.
#pragma once

#include <pourwright/mesh.hpp>

#include <limits>
#include <memory>
#include <optional>
#include <span>

namespace pourwright {

class RayScene {
 public:
  /// Both must outlive the scene. Fails only for want of memory. O(n log n), about 110 bytes per triangle.
  static Expected<RayScene> build(std::span<const Vec3> vertices, std::span<const Triangle> triangles);

  struct Hit {
    Index triangle = none;
    double distance = 0;  ///< along the unit direction
  };
  /// Where the ray first passes a triangle from inside to outside; triangles it enters through are not seen,
  /// so that a ray may start on the surface. `direction` is a unit vector.
  std::optional<Hit> first_exit(const Vec3& from, const Vec3& direction) const;
  /// Where the ray first meets any triangle farther than `beyond`.
  std::optional<Hit> first_hit(const Vec3& from, const Vec3& direction, double beyond = 0) const;

  struct Near {
    Index triangle = none;
    Vec3 at = Vec3::Zero();
    double distance = 0;
  };
  /// The nearest point of the surface closer than `within`, in double precision.
  std::optional<Near> nearest(const Vec3& to, double within = std::numeric_limits<double>::infinity()) const;

 private:
  struct Impl;
  std::shared_ptr<const Impl> impl_;
};

/// The point of triangle abc nearest to p. C. Ericson, Real-Time Collision Detection, 2005, 5.1.5.
Vec3 nearest_on_triangle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c);

}  // namespace pourwright

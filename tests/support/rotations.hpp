// SPDX-License-Identifier: GPL-3.0-or-later
// Rotations for tests of what must not depend on how a body lies.
#pragma once

#include "support/shapes.hpp"

#include <cstdint>
#include <random>

#include <Eigen/Geometry>

/// Evenly distributed over all rotations; the same seed gives the same one.
inline Eigen::Matrix3d random_rotation(std::uint32_t seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  const double w = normal(random), x = normal(random), y = normal(random), z = normal(random);
  return Eigen::Quaterniond(w, x, y, z).normalized().toRotationMatrix();
}
inline pourwright::TriangleSoup turned_by(const Eigen::Matrix3d& r, const pourwright::TriangleSoup& s) {
  return shapes::moved(s, [&](const pourwright::Vec3& p) { return pourwright::Vec3(r * p); });
}

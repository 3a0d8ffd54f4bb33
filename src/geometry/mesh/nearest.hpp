// SPDX-License-Identifier: GPL-3.0-or-later
// The nearest point of a triangle.
#pragma once

#include <pourwright/mesh.hpp>

namespace pourwright {

/// The point of triangle abc nearest to p. C. Ericson, Real-Time Collision Detection, 2005, 5.1.5.
Vec3 nearest_on_triangle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// To and from the door's plain coordinates.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/mesh.hpp>

namespace pourwright {

inline Point point(const Vec3& v) {
  return {v.x(), v.y(), v.z()};
}
inline Vec3 vec3(const Point& p) {
  return {p[0], p[1], p[2]};
}

}  // namespace pourwright

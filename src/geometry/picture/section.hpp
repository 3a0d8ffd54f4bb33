// SPDX-License-Identifier: GPL-3.0-or-later
// Where a plane cuts a surface.
#pragma once

#include <pourwright/mesh.hpp>

#include <vector>

namespace pourwright::picture {

struct CutLine {
  std::vector<Vec3> points;
  bool closed = false;  ///< returns to where it began
};

/// The lines in which the plane through `at`, square to `normal`, cuts the triangles. Material lies on the
/// same side along each line; of a closed surface every line is closed. A corner in the plane counts as in
/// front of it, so nothing is cut in its corner alone. O(n).
std::vector<CutLine> cut(const TriangleSoup& soup, const Vec3& at, const Vec3& normal);

}  // namespace pourwright::picture

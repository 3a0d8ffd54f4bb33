// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

#include <utility>
#include <vector>

namespace pourwright {

/// Triangles that fill the level area bounded by `edges` (pairs of vertex numbers whose loops lie at one
/// height), by constrained Delaunay triangulation in plan; islands inside stay open, islands inside those are
/// filled. They face up. Vertices that crossing edges need are appended to `vertices`.
std::vector<Triangle> level_cap(std::vector<Vec3>& vertices,
                                const std::vector<std::pair<Index, Index>>& edges);

}  // namespace pourwright

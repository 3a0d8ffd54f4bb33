// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles that span a closed line. Corners 0 … n−1 are the line's points in order, later ones are added.
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <vector>

namespace pourwright::mending {

struct Filling {
  std::vector<Vec3> added;
  std::vector<Triangle> triangles;
};

/// Without new points, as smoothly as the triangles beside the line allow (P. Liepa, Filling Holes in Meshes,
/// 2003). `beside[i]` is the third corner of the triangle outside edge i; none at all
/// when some edge has none. Never empty for n ≥ 3.
std::vector<Triangle> span_loop(const std::vector<Vec3>& loop, const std::vector<Vec3>& beside);

/// Flat lines in one plane with this normal, spanned where an odd number of them go round; corners index
/// `points`. Nothing when they cross or touch.
std::optional<std::vector<Triangle>> span_plane(const std::vector<Vec3>& points,
                                                const std::vector<std::vector<Index>>& lines,
                                                const Vec3& normal);

/// The flat closing refined to the density of the surface round it and bent so as to continue its slope.
/// `ring` are the triangles round the line; their corners below n are the line's, the rest index
/// `ring_points` − n.
std::optional<Filling> follow_surface(const std::vector<Vec3>& loop, const std::vector<Triangle>& flat,
                                      const std::vector<Vec3>& ring_points,
                                      const std::vector<Triangle>& ring);

}  // namespace pourwright::mending

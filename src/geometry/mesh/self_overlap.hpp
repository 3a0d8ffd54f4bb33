// SPDX-License-Identifier: GPL-3.0-or-later
// Do two triangles of a mesh touch anywhere but at the vertices and edges they share?
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <vector>

namespace pourwright {

struct Overlap {
  Index first, second;  ///< triangle numbers, first < second
  Vec3 at;              ///< near the contact
};

/// One pair of triangles that cut or touch each other beyond what they share, or nothing when there is none.
/// Exact: contact in a single point counts. Triangles without area are passed over. `even` promises that
/// every edge is used as often one way as the other, as a closed and oriented census tells; then few
/// neighbours have to be compared. O(n log n) for meshes without large overlaps, about 70 bytes per triangle
/// while it runs.
std::optional<Overlap> find_self_overlap(const std::vector<Vec3>& vertices,
                                         const std::vector<Triangle>& triangles, bool even = false);

/// The pairwise question, as the search asks it. Triangles may share vertices by index.
bool triangles_overlap(const std::vector<Vec3>& vertices, const Triangle& s, const Triangle& t);

}  // namespace pourwright

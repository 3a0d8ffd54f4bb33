// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles cut along all their mutual contacts, exactly, and how often each side of each piece is wrapped.
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <utility>
#include <vector>

namespace pourwright::uniting {

using Contact = std::pair<Index, Index>;

/// All pairs of triangles that cut or touch beyond what they share; nothing when there are more than `most`.
std::optional<std::vector<Contact>> find_contacts(const std::vector<Vec3>& vertices,
                                                  const std::vector<Triangle>& triangles, std::size_t most);

/// The boundary of everything that the triangles wrap at least once. Triangles without area must have been
/// left out; the others must be closed and consistently oriented. New vertices are rounded. Nothing when the
/// input was not closed, or when it would cost more than `work`: contacts, places where contacts cross, and
/// how long the coordinates are. What was used is taken off.
std::optional<TriangleSoup> outer_boundary(const std::vector<Vec3>& vertices,
                                           const std::vector<Triangle>& triangles,
                                           const std::vector<Contact>& contacts, std::size_t& work);

}  // namespace pourwright::uniting

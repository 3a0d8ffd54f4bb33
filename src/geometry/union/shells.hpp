// SPDX-License-Identifier: GPL-3.0-or-later
// What the shells of a surface are to each other before they are united.
#pragma once

#include "geometry/union/arrangement.hpp"

#include <span>

namespace pourwright::uniting {

double signed_volume(const std::vector<Vec3>& vertices, std::span<const Triangle> triangles,
                     const Vec3& centre);

/// Shells that enclose negative volume are voids when they lie inside a body, else bodies that face the wrong
/// way and are turned. Returns how many were.
std::size_t turn_inverted(Surface& s, const std::vector<Contact>& contacts);

/// Shells that cut a larger one of nearly the same volume, in nearly the same place: a second scan or an
/// export laid over the first.
std::vector<bool> near_copies(const Surface& s, const std::vector<Contact>& contacts);
TriangleSoup without(const Surface& s, const std::vector<bool>& shells);

/// Shells that touch or cut each other.
std::size_t bodies_in(const Surface& s, const std::vector<Contact>& contacts);

}  // namespace pourwright::uniting

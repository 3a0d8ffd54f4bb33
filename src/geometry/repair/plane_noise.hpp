// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <vector>

namespace pourwright::mending {

/// Standard deviation of vertices about the plane faces that they stand for; nothing when those are plane, or
/// too few to tell.
std::optional<double> noise_of_planes(const std::vector<Vec3>& points, const std::vector<Triangle>& triangles,
                                      double reach);

}  // namespace pourwright::mending

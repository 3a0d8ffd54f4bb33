// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

namespace pourwright::uniting {

/// Volume of what is wrapped at least once: length of material over a regular grid of n × n vertical lines,
/// times the cell. `box` holds all triangles.
double wrapped_volume(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                      const Box& box, int n);

}  // namespace pourwright::uniting

// SPDX-License-Identifier: GPL-3.0-or-later
// The scale of a mesh that has none, from one size that was measured on the real thing.
#pragma once

#include <pourwright/mesh.hpp>

#include <string_view>

namespace pourwright {

struct KnownSize {
  enum class Kind : std::uint8_t { x, y, z, longest, between, capacity };
  Kind kind = Kind::x;
  double size = 0;                          ///< mm, or mm³ for a capacity
  double doubt = 0;                         ///< relative half width: half a unit of the last digit given
  Vec3 p = Vec3::Zero(), q = Vec3::Zero();  ///< for `between`, in the file's own lengths
};

/// "x=118mm", "longest=4.5in", "0,0,0,12,5,3=42mm" (two points of the file), "capacity=186ml" (a water fill).
Expected<KnownSize> parse_known_size(std::string_view text);

/// Factor for all lengths, given what the mesh says the size is now. Precondition: now > 0.
double scale_for(const KnownSize& known, double now);

/// What the mesh says: an extent of its box, or the distance of two points. Not for capacities.
double size_now(const KnownSize& known, const Box& box);

}  // namespace pourwright

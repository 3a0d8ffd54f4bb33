// SPDX-License-Identifier: GPL-3.0-or-later
// Cutting a surface at a height: the part below it closed by a lid (the piece), or a lid put into a passage
// (the plug).
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <span>
#include <vector>

namespace pourwright {

/// The triangles numbered in `part`, cut off at height `level` and closed there. Faces are turned, so that
/// what the part held becomes a body. Vertices at the level belong below. Only used vertices remain.
TriangleSoup closed_below(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                          std::span<const Index> part, double level);

struct CutPart {
  std::span<const Index> triangles;
  double level = 0;
};
/// The same with several parts, each cut and closed at its own level. Edges between two parts must not pass
/// either level.
TriangleSoup closed_below(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                          std::span<const CutPart> parts);

struct Plugged {
  TriangleSoup mesh;  ///< the surface with a lid across the passage; its two sides have vertices of their own
  double section = 0;      ///< area of the lid, mm²
  double level = 0;        ///< its height
  Vec3 at = Vec3::Zero();  ///< its centre
};

/// Closes the passage whose section at height `level` contains `at` in plan. The lid is moved up as long as
/// the section stays within 5 % of the narrowest met, so that a straight drain is closed flush with the floor
/// above it.
std::optional<Plugged> plug_passage(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                    double level, const Vec3& at);

/// Closes the hole in a wall through which liquid leaves over `sill`, a vertex: by the smallest upright
/// section, closed all round within `reach`, of those through or beside the sill in sixteen directions that
/// pass a hair above it. A straight hole is closed flush with either end: both are returned, in no order.
/// `level` of the results means nothing.
std::vector<Plugged> plug_side_hole(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                    const Vec3& sill, double reach);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// The body cast in a cavity: its wetted wall, closed at the level; on request without the air that stays.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/level_cut.hpp"
#include "geometry/cavity/patches.hpp"
#include "geometry/cavity/pockets.hpp"

#include <algorithm>

namespace pourwright {

class PieceCaster {
 public:
  static TriangleSoup piece(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                            const Cavities& cavities, int id, Length level,
                            std::optional<bool> air_in_open = {});
};

TriangleSoup PieceCaster::piece(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                const Cavities& cavities, int id, Length level,
                                std::optional<bool> air_in_open) {
  const Cavities::Patches& patches = *cavities.patches_;
  std::vector<Vec3> points;
  points.reserve(vertices.size());
  for (const Vec3& p : vertices) points.push_back(patches.frame * p);
  const double top = in_millimetres(level);
  std::vector<CutPart> parts;
  std::vector<Index> rest(patches.wall(id).begin(), patches.wall(id).end());
  std::vector<Pocket> pockets;
  if (air_in_open) {
    pockets = find_pockets(points, triangles, split_surface(points, triangles, *air_in_open), *air_in_open,
                           patches.plateau);
    std::vector<bool> mine(triangles.size()), in_air(triangles.size());
    for (const Index t : rest) mine[t] = true;
    for (const Pocket& p : pockets) {
      if (!(p.lip < top - patches.plateau)) continue;
      // Of this cavity when its surface just above the lip is: that is where the liquid closes it.
      const auto lowest = [&](Index t) {
        return std::min(
            {points[triangles[t][0]].z(), points[triangles[t][1]].z(), points[triangles[t][2]].z()});
      };
      Index first = none;
      for (const Index t : p.triangles)
        if (patches.cavity_of[t] > 0 && (first == none || lowest(t) < lowest(first))) first = t;
      if (first == none || !mine[first]) continue;
      for (const Index t : p.triangles) in_air[t] = true;
      parts.push_back({p.triangles, p.lip});
    }
    std::erase_if(rest, [&](Index t) { return in_air[t]; });
  }
  parts.push_back({rest, top});
  TriangleSoup out = closed_below(points, triangles, parts);
  for (Vec3& p : out.vertices) p = patches.frame.transpose() * p;
  return out;
}

Expected<TriangleSoup> cast_piece(const ClosedBody& body, const Cavities& cavities, int id, Length level) {
  return PieceCaster::piece(body.vertices(), body.triangles(), cavities, id, level);
}

Expected<TriangleSoup> cast_piece(const OpenSurface& surface, const Cavities& cavities, int id,
                                  Length level) {
  return PieceCaster::piece(surface.vertices(), surface.triangles(), cavities, id, level);
}

Expected<TriangleSoup> cast_piece_without_air(const ClosedBody& body, const Cavities& cavities, int id,
                                              Length level) {
  return PieceCaster::piece(body.vertices(), body.triangles(), cavities, id, level, false);
}

Expected<TriangleSoup> cast_piece_without_air(const OpenSurface& surface, const Cavities& cavities, int id,
                                              Length level) {
  return PieceCaster::piece(surface.vertices(), surface.triangles(), cavities, id, level, true);
}

}  // namespace pourwright

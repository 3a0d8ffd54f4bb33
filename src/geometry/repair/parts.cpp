// SPDX-License-Identifier: GPL-3.0-or-later
// What a part of a surface weighs: area, the sum of its area vectors, and the volume by the divergence
// theorem about the middle of its own box, so that far coordinates cost no digits.
#include "geometry/repair/parts.hpp"

namespace pourwright::mending {

std::vector<Part> survey(const Workpiece& w, const std::vector<Index>& part_of, std::size_t count) {
  std::vector<Part> parts(count);
  for (std::size_t t = 0; t < w.triangles.size(); ++t)
    for (const Index v : w.triangles[t]) parts[part_of[t]].box.add(w.vertices[v]);
  for (std::size_t t = 0; t < w.triangles.size(); ++t) {
    Part& p = parts[part_of[t]];
    const Vec3 n = w.normal(t) / 2;
    ++p.triangles;
    p.area += n.norm();
    p.facing += n;
    p.volume += n.dot(w.vertices[w.triangles[t][0]] - p.box.centre()) / 3;
  }
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 1)
      parts[part_of[uses[0].half_edge / 3]].border += (w.vertices[v] - w.vertices[uses[0].other]).norm();
  });
  return parts;
}

}  // namespace pourwright::mending

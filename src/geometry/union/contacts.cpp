// SPDX-License-Identifier: GPL-3.0-or-later
// Which triangles touch or cross: pairs of boxes from CGAL's box intersection (A. Zomorodian, H.
// Edelsbrunner, Fast software for box intersections, 2000), decided by exact signs, in index order.
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/union/arrangement.hpp"

#include <CGAL/Box_intersection_d/Box_with_info_d.h>
#include <CGAL/box_intersection_d.h>

namespace pourwright::uniting {

std::optional<std::vector<Contact>> find_contacts(const std::vector<Vec3>& vertices,
                                                  const std::vector<Triangle>& triangles, std::size_t most) {
  using Boxed = CGAL::Box_intersection_d::Box_with_info_d<double, 3, Index>;
  std::vector<Boxed> boxes;
  boxes.reserve(triangles.size());
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    Box box;
    for (const Index v : triangles[t]) box.add(vertices[v]);
    boxes.emplace_back(
        CGAL::Bbox_3(box.low.x(), box.low.y(), box.low.z(), box.high.x(), box.high.y(), box.high.z()),
        static_cast<Index>(t));
  }
  std::vector<Contact> out;
  struct TooMany {};
  try {
    CGAL::box_self_intersection_d(boxes.begin(), boxes.end(), [&](const Boxed& a, const Boxed& b) {
      if (!triangles_overlap(vertices, triangles[a.info()], triangles[b.info()])) return;
      out.emplace_back(std::min(a.info(), b.info()), std::max(a.info(), b.info()));
      if (out.size() > most) throw TooMany();
    });
  } catch (const TooMany&) {
    return std::nullopt;
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace pourwright::uniting

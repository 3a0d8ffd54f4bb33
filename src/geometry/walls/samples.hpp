// SPDX-License-Identifier: GPL-3.0-or-later
// Places on a surface, spread evenly by area, the same every time.
#pragma once

#include "geometry/walls/skin.hpp"

#include <vector>

namespace pourwright::thickness {

struct Place {
  Vec3 at = Vec3::Zero();
  Index triangle = none;
};

struct Places {
  std::vector<Place> list;
  double area = 0;  ///< of the whole surface; each place stands for an equal share
};

/// `count` places, one in each `count`-th of the area taken in the order of the triangles. O(n + count).
Places spread_places(const Skin& skin, std::size_t count);

}  // namespace pourwright::thickness

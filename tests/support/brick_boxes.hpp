// SPDX-License-Identifier: GPL-3.0-or-later
// Boxes built of bricks with cells left empty inside: whether liquid could run out through a joint shows as
// whether the empty cells are still voids once the bricks are united.
#pragma once

#include "support/shapes.hpp"

#include <cmath>
#include <set>

namespace shapes {

struct Bricks {
  std::vector<double> xs, ys, zs;              ///< where bricks end
  std::set<std::array<std::size_t, 3>> empty;  ///< cells without a brick
  double gap = 0;                              ///< between neighbours
};

/// Every cell that is not empty as a body of its own.
inline std::vector<TriangleSoup> bodies_of(const Bricks& b) {
  std::vector<TriangleSoup> out;
  const double g = b.gap / 2;
  for (std::size_t i = 0; i + 1 < b.xs.size(); ++i)
    for (std::size_t j = 0; j + 1 < b.ys.size(); ++j)
      for (std::size_t k = 0; k + 1 < b.zs.size(); ++k)
        if (!b.empty.contains({i, j, k}))
          out.push_back(box({b.xs[i] + g, b.ys[j] + g, b.zs[k] + g},
                            {b.xs[i + 1] - g, b.ys[j + 1] - g, b.zs[k + 1] - g}));
  return out;
}

/// How coordinates are written down.
enum class Written { doubles, single, three_decimals };

/// Turned about a slanted axis, put elsewhere and written down; bodies keep their own vertices.
inline std::vector<TriangleSoup> placed(std::vector<TriangleSoup> bodies, double degrees, Written how) {
  const Eigen::Matrix3d turn =
      Eigen::AngleAxisd(degrees * pi / 180, Vec3(1, 2, 5).normalized()).toRotationMatrix();
  for (TriangleSoup& s : bodies)
    s = moved(s, [&](const Vec3& p) {
      const Vec3 q = degrees == 0 ? p : Vec3(turn * p + Vec3(3.7, -12.1, 40.3));
      if (how == Written::single) return Vec3(q.cast<float>().cast<double>());
      if (how == Written::three_decimals) return Vec3((1000 * q).array().round().matrix() / 1000);
      return q;
    });
  return bodies;
}

}  // namespace shapes

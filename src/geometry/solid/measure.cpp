// SPDX-License-Identifier: GPL-3.0-or-later
// Volume, area and centroid by the divergence theorem. Blocks of fixed size in index order, added with
// compensation, about the middle of the box: the same bits every time, with a bound on the rounding.
#include <pourwright/solid.hpp>

#include "geometry/mesh/sums.hpp"

namespace pourwright {

Measures measure(const std::vector<Vec3>& vertices, std::span<const Triangle> triangles, const Vec3& centre) {
  // Plain sums inside a block are short enough to be accurate; the blocks are added with compensation, in
  // order.
  constexpr std::size_t block = 512;
  Sum six_volume, size, twice_area, mx, my, mz;
  for (std::size_t begin = 0; begin < triangles.size(); begin += block) {
    const std::size_t end = std::min(begin + block, triangles.size());
    double v = 0, magnitude = 0, a = 0;
    Vec3 m = Vec3::Zero();
    for (std::size_t i = begin; i < end; ++i) {
      const Triangle& t = triangles[i];
      const Vec3 p = vertices[t[0]] - centre, q = vertices[t[1]] - centre, r = vertices[t[2]] - centre;
      const Vec3 n = (q - p).cross(r - p);
      const double six = p.dot(n);
      v += six;
      magnitude += std::abs(six);
      a += n.norm();
      m += six * (p + q + r);
    }
    six_volume.add(v);
    size.add(magnitude);
    twice_area.add(a);
    mx.add(m.x());
    my.add(m.y());
    mz.add(m.z());
  }
  Measures out;
  out.volume = six_volume.value() / 6;
  out.area = twice_area.value() / 2;
  // Each term carries at most about 16 roundings of 2^-53 relative to its magnitude, the block sums `block`
  // more at worst; in practice errors cancel and stay far below.
  out.volume_error = size.value() / 6 * (16 + std::sqrt(static_cast<double>(block))) * 1.2e-16;
  if (out.volume != 0) out.centroid = centre + Vec3(mx.value(), my.value(), mz.value()) / (24 * out.volume);
  return out;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Noise of a body so coarse that hardly a vertex lies within a face: pairs of triangles that all but share a
// plane tell it.
#include "geometry/noise/pairs.hpp"

#include "geometry/mesh/median.hpp"
#include "geometry/noise/sizes.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::scatter {
namespace {

constexpr std::size_t fewest_pairs = 40;  // pairs that must tell

/// Of p over the plane of t, in standard deviations.
double off_plane(const FacetList& facets, Index t, const Vec3& p) {
  const Triangle& corner = facets.triangles[t];
  const Vec3 &a = facets.points[corner[0]], &b = facets.points[corner[1]], &c = facets.points[corner[2]];
  const Vec3& n = facets.across[t];
  const double length = facets.size[t], nn = length * length;
  const double wa = n.dot((b - p).cross(c - p)) / nn, wb = n.dot((c - p).cross(a - p)) / nn, wc = 1 - wa - wb;
  return n.dot(p - a) / length / std::sqrt(1 + wa * wa + wb * wb + wc * wc);
}

}  // namespace

double noise_of_pairs(const FacetList& facets, const SharedEdges& edges) {
  std::vector<double> size, of(facets.triangles.size(), 0);
  double with = 0, own = 0;
  std::size_t pairs = 0, above = 0, bent = 0;
  for (const auto& [a, b] : edges) {
    const Index t = a / 3, u = b / 3;
    const double together = facets.across[t].dot(facets.across[u]) / (facets.size[t] * facets.size[u]);
    bent += together > 0.998 && together <= 0.9995 ? 1 : 0;  // 1.8° to 3.6°
    if (!(together > 0.9995)) continue;
    const double height = off_plane(facets, t, facets.points[facets.triangles[u][(b + 2) % 3]]);
    size.push_back(std::abs(height));
    above += height > 0 ? 1 : 0;
    for (const Index side : {t, u}) {
      if (of[side] != 0) {
        with += of[side] * height;
        own += (of[side] * of[side] + height * height) / 2;
        ++pairs;
      }
      of[side] = height;
    }
  }
  const double share =
      static_cast<double>(above) / static_cast<double>(std::max<std::size_t>(size.size(), 1));
  if (bent * 7 > size.size()) return 0;  // it bends a little everywhere: not made of planes
  // A surface that bends is bent alike on either side of a triangle.
  if (size.size() < fewest_pairs || std::abs(share - 0.5) > 0.15 ||
      (pairs >= fewest_pairs && with > 0.2 * own))
    return 0;
  return random_sizes(size) ? median(size) / 0.674 : 0;
}

}  // namespace pourwright::scatter

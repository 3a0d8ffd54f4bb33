// SPDX-License-Identifier: GPL-3.0-or-later
// A smooth surface bends gradually: how far a vertex stands out from its neighbours changes little from one
// to the next. Noise makes it change sign. Twice the difference to the neighbours takes the bending out.
#include "geometry/noise/rings.hpp"

#include "geometry/mesh/median.hpp"
#include "geometry/noise/sizes.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>

namespace pourwright::scatter {
namespace {

constexpr std::size_t fewest_vertices = 40;  // vertices that must tell

class Rings {
 public:
  explicit Rings(const FacetList& facets) : facets_(facets) {}

  /// From the flattest places first; zero when these bend gradually, or do not tell.
  double spread() {
    lay_out();
    const std::vector<double> twice = less_neighbours(stand_out());
    for (const double flat : {0.9995, 0.995, 0.95}) {
      choose(flat);
      if (const auto s = judge(twice)) return *s;
    }
    return 0;
  }

 private:
  /// Nothing when these vertices cannot tell.
  std::optional<double> judge(const std::vector<double>& twice) const {
    std::vector<double> size;
    for (std::size_t v = 0; v < facets_.points.size(); ++v)
      if (inner_[v]) size.push_back(std::abs(twice[v]));
    if (size.size() < fewest_vertices) return std::nullopt;
    const double typical = median(size);
    if (!(typical > 1e-9 * facets_.reach)) return 0;
    // Correlation with the neighbors: near +1 where the surface bends gradually, below −0.2 for noise.
    double with = 0, own = 0;
    const auto counts = [&](Index v) { return inner_[v] && std::abs(twice[v]) <= 5 * typical; };
    for (const Triangle& t : facets_.triangles)
      for (std::size_t k = 0; k < 3; ++k) {
        const Index v = t[k], w = t[(k + 1) % 3];
        if (!counts(v) || !counts(w)) continue;
        with += twice[v] * twice[w];
        own += (twice[v] * twice[v] + twice[w] * twice[w]) / 2;
      }
    if (with > 0.2 * own) return 0;
    if (with > -0.1 * own || !random_sizes(size)) return std::nullopt;
    // Of independent heights about a vertex with six neighbors, twice the difference has 1.36 times their
    // standard deviation; the median of a normal distribution's size is 0.674 of it.
    return typical / 0.674 / 1.36;
  }

  void lay_out() {
    const std::size_t n = facets_.points.size();
    valence_.assign(n, 0);
    flat_.assign(n, 0);
    normal_.assign(n, Vec3::Zero());
    std::vector<double> area(n, 0);
    std::vector<Index> ring(n, 0);
    for (std::size_t i = 0; i < facets_.triangles.size(); ++i) {
      const Triangle& t = facets_.triangles[i];
      for (std::size_t k = 0; k < 3; ++k) {
        const Index v = t[k];
        normal_[v] += facets_.across[i];
        area[v] += facets_.size[i];
        ++valence_[v];
        ring[v] ^= t[(k + 1) % 3] ^ t[(k + 2) % 3];  // zero once the ring is closed
      }
    }
    for (std::size_t v = 0; v < n; ++v) {
      const double size = normal_[v].norm();
      if (!(size > 0)) continue;
      if (ring[v] == 0 && valence_[v] > 3) flat_[v] = size / area[v];
      normal_[v] /= size;
    }
  }

  /// Vertices flat enough, with neighbors that all are so too.
  void choose(double flat) {
    inner_.assign(flat_.size(), 1);
    for (const Triangle& t : facets_.triangles)
      if (!(std::min({flat_[t[0]], flat_[t[1]], flat_[t[2]]}) >= flat))
        for (const Index v : t) inner_[v] = 0;
  }

  /// Height over the mean of the neighbors, along the normal.
  std::vector<double> stand_out() {
    std::vector<double> out(facets_.points.size(), 0);
    for (const Triangle& t : facets_.triangles)
      for (std::size_t k = 0; k < 3; ++k) {
        const Index v = t[k];
        const Vec3 d = facets_.points[t[(k + 1) % 3]] - facets_.points[v],
                   e = facets_.points[t[(k + 2) % 3]] - facets_.points[v];
        out[v] -= normal_[v].dot(d + e) / 2 / valence_[v];
      }
    return out;
  }

  std::vector<double> less_neighbours(const std::vector<double>& x) const {
    std::vector<double> out = x;
    for (const Triangle& t : facets_.triangles)
      for (std::size_t k = 0; k < 3; ++k)
        out[t[k]] -= (x[t[(k + 1) % 3]] + x[t[(k + 2) % 3]]) / 2 / valence_[t[k]];
    return out;
  }

  const FacetList& facets_;
  std::vector<Vec3> normal_;
  std::vector<double> flat_;  ///< length of the sum of the normals round it, of all; 0 where the ring is open
  std::vector<std::uint32_t> valence_;
  std::vector<char> inner_;
};

}  // namespace

double noise_of_rings(const FacetList& facets) {
  return Rings(facets).spread();
}

}  // namespace pourwright::scatter

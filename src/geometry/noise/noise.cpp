// SPDX-License-Identifier: GPL-3.0-or-later
// A smooth surface bends gradually: how far a vertex stands out from its neighbors changes little from one to
// the next. Noise makes it change sign. Twice the difference to the neighbors takes the bending out.
#include <pourwright/noise.hpp>

#include "geometry/noise/plane_noise.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>

namespace pourwright {
namespace {

constexpr std::size_t most_looked_at = 65'536;          // triangles
constexpr std::size_t fewest = 40;                      // vertices or edges that must tell
constexpr std::size_t most_looked_at_closely = 20'000;  // triangles

/// The triangles that are looked at: all of a small mesh, stretches of a large one.
std::vector<Triangle> sample(const std::vector<Triangle>& all) {
  if (all.size() <= most_looked_at) return all;
  constexpr std::size_t stretches = 8, length = most_looked_at / stretches;
  std::vector<Triangle> out;
  out.reserve(most_looked_at);
  for (std::size_t k = 0; k < stretches; ++k) {
    const auto from = all.begin() + static_cast<std::ptrdiff_t>(k * (all.size() - length) / (stretches - 1));
    out.insert(out.end(), from, from + static_cast<std::ptrdiff_t>(length));
  }
  return out;
}

/// The vertices in use; the triangles' corners become numbers among them.
std::vector<Vec3> compact(std::vector<Triangle>& triangles, const std::vector<Vec3>& vertices) {
  std::vector<Index> number(vertices.size(), 0);
  std::vector<Vec3> used;
  for (const Triangle& t : triangles)
    for (const Index v : t) number[v] = 1;
  for (std::size_t v = 0; v < vertices.size(); ++v)
    if (number[v] != 0) {
      number[v] = static_cast<Index>(used.size());
      used.push_back(vertices[v]);
    }
  for (Triangle& t : triangles)
    for (Index& v : t) v = number[v];
  return used;
}

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

/// FacetList of a drawn curve stand out in turns as well, but by the same few heights again and again,
/// whereas noise repeats nothing and is spread like a normal distribution.
bool random_sizes(const std::vector<double>& all) {
  constexpr std::size_t enough = 500;
  std::vector<double> v;
  for (std::size_t i = 0; i < std::min(enough, all.size()); ++i)
    v.push_back(all[i * all.size() / std::min(enough, all.size())]);
  std::sort(v.begin(), v.end());
  const double quarter = v[v.size() / 4], half = v[v.size() / 2], most = v[v.size() * 9 / 10];
  std::size_t repeated = 0;
  for (std::size_t i = 1; i < v.size(); ++i) repeated += v[i] - v[i - 1] < 1e-4 * half ? 1 : 0;
  return repeated * 4 < v.size() && quarter > 0.2 * half && quarter < 0.75 * half && most > 1.6 * half &&
         most < 6 * half;
}

class Rings {
 public:
  explicit Rings(scatter::FacetList facets) : facets_(std::move(facets)) {}

  /// Plane faces show it undisturbed, but may be cut or drawn where the rest is not. Else from the flattest
  /// places first.
  double spread() {
    lay_out();
    const bool closely = facets_.triangles.size() <= most_looked_at_closely;
    const scatter::SharedEdges edges = closely ? scatter::shared_edges(facets_) : scatter::SharedEdges();
    const double of_planes = closely ? scatter::noise_of_planes(facets_, edges).value_or(0) : 0;
    const std::vector<double> twice = less_neighbors(stand_out());
    for (const double flat : {0.9995, 0.995, 0.95}) {
      choose(flat);
      if (const auto s = judge(twice)) {
        if (*s > 0) return std::max(*s, of_planes);
        break;
      }
    }
    return closely ? std::max(of_planes, spread_of_pairs(edges)) : 0;
  }

 private:
  /// Nothing when these vertices cannot tell.
  std::optional<double> judge(const std::vector<double>& twice) const {
    std::vector<double> size;
    for (std::size_t v = 0; v < facets_.points.size(); ++v)
      if (inner_[v]) size.push_back(std::abs(twice[v]));
    if (size.size() < fewest) return std::nullopt;
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

  /// Corners of plane faces may all lie at their edges, so that no vertex is flat all round. Then the fourth
  /// corner of two triangles that all but share a plane tells: of independent heights it stands off the plane
  /// of the other three by √(1 + Σw²) standard deviations, w being its weights in them.
  double spread_of_pairs(const scatter::SharedEdges& edges) const {
    std::vector<double> size, of(facets_.triangles.size(), 0);
    double with = 0, own = 0;
    std::size_t pairs = 0, above = 0, bent = 0;
    for (const auto& [a, b] : edges) {
      const Index t = a / 3, u = b / 3;
      const double together = facets_.across[t].dot(facets_.across[u]) / (facets_.size[t] * facets_.size[u]);
      bent += together > 0.998 && together <= 0.9995 ? 1 : 0;  // 1.8° to 3.6°
      if (!(together > 0.9995)) continue;
      const double height = off_plane(t, facets_.points[facets_.triangles[u][(b + 2) % 3]]);
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
    if (size.size() < fewest || std::abs(share - 0.5) > 0.15 || (pairs >= fewest && with > 0.2 * own))
      return 0;
    return random_sizes(size) ? median(size) / 0.674 : 0;
  }

  /// Of p over the plane of t, in standard deviations.
  double off_plane(Index t, const Vec3& p) const {
    const Triangle& corner = facets_.triangles[t];
    const Vec3 &a = facets_.points[corner[0]], &b = facets_.points[corner[1]], &c = facets_.points[corner[2]];
    const Vec3& n = facets_.across[t];
    const double length = facets_.size[t], nn = length * length;
    const double wa = n.dot((b - p).cross(c - p)) / nn, wb = n.dot((c - p).cross(a - p)) / nn,
                 wc = 1 - wa - wb;
    return n.dot(p - a) / length / std::sqrt(1 + wa * wa + wb * wb + wc * wc);
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

  std::vector<double> less_neighbors(const std::vector<double>& x) const {
    std::vector<double> out = x;
    for (const Triangle& t : facets_.triangles)
      for (std::size_t k = 0; k < 3; ++k)
        out[t[k]] -= (x[t[(k + 1) % 3]] + x[t[(k + 2) % 3]]) / 2 / valence_[t[k]];
    return out;
  }

  scatter::FacetList facets_;
  std::vector<Vec3> normal_;
  std::vector<double> flat_;  ///< length of the sum of the normals round it, of all; 0 where the ring is open
  std::vector<std::uint32_t> valence_;
  std::vector<char> inner_;
};

}  // namespace

Noise find_noise(const Surface& surface) {
  if (surface.triangles.size() < 2 * fewest) return {};
  std::vector<Triangle> looked_at = sample(surface.triangles);
  std::vector<Vec3> corners = compact(looked_at, surface.vertices);
  const double spread = Rings({std::move(corners), std::move(looked_at)}).spread();
  const double size = surface.box.size().norm();
  const double farthest =
      std::max(surface.box.low.cwiseAbs().maxCoeff(), surface.box.high.cwiseAbs().maxCoeff());
  // Below this it is what single precision leaves of any coordinate.
  if (!(spread > std::max(3e-7 * size, 2.4e-7 * farthest))) return {};
  // The volume changes by a vertex's shift times the area that it carries, a third of its triangles'. Four
  // standard deviations, for the spread itself is an estimate.
  std::vector<Vec3> carried(surface.vertices.size(), Vec3::Zero());
  for (const Triangle& t : surface.triangles) {
    const Vec3 a = (surface.vertices[t[1]] - surface.vertices[t[0]])
                       .cross(surface.vertices[t[2]] - surface.vertices[t[0]]) /
                   6;
    for (const Index v : t) carried[v] += a;
  }
  double squares = 0;
  for (const Vec3& a : carried) squares += a.squaredNorm();
  return {millimetres(spread), cubic_millimetres(4 * spread * std::sqrt(squares))};
}

}  // namespace pourwright

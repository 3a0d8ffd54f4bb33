// SPDX-License-Identifier: GPL-3.0-or-later
// A smooth surface bends gradually: how far a vertex stands out from its neighbors changes little from one to
// the next. Noise makes it change sign. Twice the difference to the neighbors takes the bending out.
#include <pourwright/repair.hpp>

#include "geometry/repair/plane_noise.hpp"

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

/// Corners renumbered to 0 … n−1 in rising order; returns the numbers they had, of `vertices`.
std::vector<Index> compact(std::vector<Triangle>& triangles, std::size_t vertices) {
  std::vector<Index> number(vertices, 0), used;
  for (const Triangle& t : triangles)
    for (const Index v : t) number[v] = 1;
  for (std::size_t v = 0; v < vertices; ++v)
    if (number[v] != 0) {
      number[v] = static_cast<Index>(used.size());
      used.push_back(static_cast<Index>(v));
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

/// Facets of a drawn curve stand out in turns as well, but by the same few heights again and again, whereas
/// noise repeats nothing and is spread like a normal distribution.
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
  Rings(const std::vector<Vec3>& vertices, std::vector<Triangle> triangles)
      : triangles_(std::move(triangles)) {
    for (const Index v : compact(triangles_, vertices.size())) points_.push_back(vertices[v]);
  }

  /// Plane faces show it undisturbed, but may be cut or drawn where the rest is not. Else from the flattest
  /// places first.
  double spread() {
    lay_out();
    const bool closely = triangles_.size() <= most_looked_at_closely;
    const double of_planes = closely ? mending::noise_of_planes(points_, triangles_, reach_).value_or(0) : 0;
    const std::vector<double> twice = less_neighbors(stand_out());
    for (const double flat : {0.9995, 0.995, 0.95}) {
      choose(flat);
      if (const auto s = judge(twice)) {
        if (*s > 0) return std::max(*s, of_planes);
        break;
      }
    }
    return closely ? std::max(of_planes, spread_of_pairs()) : 0;
  }

 private:
  /// Nothing when these vertices cannot tell.
  std::optional<double> judge(const std::vector<double>& twice) const {
    std::vector<double> size;
    for (std::size_t v = 0; v < points_.size(); ++v)
      if (inner_[v]) size.push_back(std::abs(twice[v]));
    if (size.size() < fewest) return std::nullopt;
    const double typical = median(size);
    if (!(typical > 1e-9 * reach_)) return 0;
    // Correlation with the neighbors: near +1 where the surface bends gradually, below −0.2 for noise.
    double with = 0, own = 0;
    const auto counts = [&](Index v) { return inner_[v] && std::abs(twice[v]) <= 5 * typical; };
    for (const Triangle& t : triangles_)
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
  double spread_of_pairs() const {
    struct Side {
      std::uint64_t edge;
      Index triangle, corner;
    };
    std::vector<Side> sides;
    for (std::size_t t = 0; t < triangles_.size(); ++t)
      for (Index k = 0; k < 3; ++k) {
        const std::uint64_t a = triangles_[t][k], b = triangles_[t][(k + 1) % 3];
        sides.push_back({std::min(a, b) << 32 | std::max(a, b), static_cast<Index>(t), k});
      }
    std::sort(sides.begin(), sides.end(), [](const Side& x, const Side& y) { return x.edge < y.edge; });
    std::vector<double> size, of(triangles_.size(), 0);
    double with = 0, own = 0;
    std::size_t pairs = 0, above = 0, bent = 0;
    for (std::size_t i = 0; i + 1 < sides.size(); ++i) {
      if (sides[i].edge != sides[i + 1].edge) continue;
      const Triangle &t = triangles_[sides[i].triangle], &u = triangles_[sides[i + 1].triangle];
      const double together = facing(t).dot(facing(u));
      bent += together > 0.998 && together <= 0.9995 ? 1 : 0;  // 1.8° to 3.6°
      if (!(together > 0.9995)) continue;
      const double height = off_plane(t, points_[u[(sides[i + 1].corner + 2) % 3]]);
      size.push_back(std::abs(height));
      above += height > 0 ? 1 : 0;
      for (const Index side : {sides[i].triangle, sides[i + 1].triangle}) {
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
  double off_plane(const Triangle& t, const Vec3& p) const {
    const Vec3 &a = points_[t[0]], &b = points_[t[1]], &c = points_[t[2]];
    const Vec3 n = (b - a).cross(c - a);
    const double nn = n.squaredNorm();
    const double wa = n.dot((b - p).cross(c - p)) / nn, wb = n.dot((c - p).cross(a - p)) / nn,
                 wc = 1 - wa - wb;
    return n.dot(p - a) / std::sqrt(nn) / std::sqrt(1 + wa * wa + wb * wb + wc * wc);
  }

  Vec3 facing(const Triangle& t) const {
    return (points_[t[1]] - points_[t[0]]).cross(points_[t[2]] - points_[t[0]]).normalized();
  }

  void lay_out() {
    const std::size_t n = points_.size();
    valence_.assign(n, 0);
    whole_.assign(n, 0);
    flat_.assign(n, 0);
    normal_.assign(n, Vec3::Zero());
    area_.assign(n, 0);
    std::vector<Index> ring(n);
    for (const Triangle& t : triangles_) {
      const Vec3 a = (points_[t[1]] - points_[t[0]]).cross(points_[t[2]] - points_[t[0]]);
      const double size = a.norm();
      for (std::size_t k = 0; k < 3; ++k) {
        const Index v = t[k];
        normal_[v] += a;
        area_[v] += size;
        ++valence_[v];
        ring[v] ^= t[(k + 1) % 3] ^ t[(k + 2) % 3];  // zero once the ring is closed
      }
    }
    for (std::size_t v = 0; v < n; ++v) {
      const double size = normal_[v].norm();
      whole_[v] = ring[v] == 0 && valence_[v] > 3;
      flat_[v] = area_[v] > 0 ? size / area_[v] : 0;
      if (size > 0) normal_[v] /= size;
      reach_ = std::max(reach_, points_[v].cwiseAbs().maxCoeff());
    }
  }

  /// Vertices flat enough, with neighbors that all are so too.
  void choose(double flat) {
    inner_ = whole_;
    for (const Triangle& t : triangles_) {
      const bool ok = std::all_of(t.begin(), t.end(), [&](Index v) { return whole_[v] && flat_[v] >= flat; });
      if (!ok)
        for (const Index v : t) inner_[v] = 0;
    }
  }

  /// Height over the mean of the neighbors, along the normal.
  std::vector<double> stand_out() {
    std::vector<double> out(points_.size(), 0);
    for (const Triangle& t : triangles_)
      for (std::size_t k = 0; k < 3; ++k) {
        const Index v = t[k];
        const Vec3 d = points_[t[(k + 1) % 3]] - points_[v], e = points_[t[(k + 2) % 3]] - points_[v];
        out[v] -= normal_[v].dot(d + e) / 2 / valence_[v];
      }
    return out;
  }

  std::vector<double> less_neighbors(const std::vector<double>& x) const {
    std::vector<double> out = x;
    for (const Triangle& t : triangles_)
      for (std::size_t k = 0; k < 3; ++k)
        out[t[k]] -= (x[t[(k + 1) % 3]] + x[t[(k + 2) % 3]]) / 2 / valence_[t[k]];
    return out;
  }

  std::vector<Triangle> triangles_;
  std::vector<Vec3> points_, normal_;
  std::vector<double> area_, flat_;
  double reach_ = 0;
  std::vector<std::uint32_t> valence_;
  std::vector<char> whole_, inner_;
};

}  // namespace

Noise find_noise(const Surface& surface) {
  if (surface.triangles.size() < 2 * fewest) return {};
  const double spread = Rings(surface.vertices, sample(surface.triangles)).spread();
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

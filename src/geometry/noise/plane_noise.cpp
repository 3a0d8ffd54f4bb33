// SPDX-License-Identifier: GPL-3.0-or-later
// A noisy plane face and a curved one both stand off their plane. A quadric tells them apart: it follows the
// curved face and leaves the noise as it was.
#include "geometry/noise/plane_noise.hpp"

#include "geometry/mesh/edges.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <Eigen/Cholesky>

namespace pourwright::scatter {
namespace {

constexpr std::size_t fewest_corners = 12;  // vertices of a face
constexpr double least_freedom = 40;
/// Cosine of what a triangle may lean against the face it belongs to: 15°, for noise that leans as much as
/// the limit would show cut short.
constexpr double most_lean = 0.966;

class PlaneNoise {
 public:
  PlaneNoise(const FacetList& facets, const SharedEdges& edges)
      : facets_(facets),
        floor_(3e-7 * facets.reach),
        beside_(facets.triangles.size(), {none, none, none}),
        place_(facets.points.size()),
        seen_(facets.points.size(), none),
        taken_(facets.triangles.size(), 0) {
    for (const auto& [a, b] : edges) {
      beside_[a / 3][a % 3] = b / 3;
      beside_[b / 3][b % 3] = a / 3;
    }
  }

  std::optional<double> spread() {
    double squares = 0, with = 0, all_own = 0;  // of all noisy faces
    double freedom = 0, all = 0;
    std::vector<double> sizes;
    auto left = static_cast<double>(facets_.triangles.size());
    // The largest first; seldom all of them are asked for.
    std::vector<std::pair<double, Index>> seeds;
    seeds.reserve(facets_.triangles.size());
    for (Index t = 0; t < facets_.triangles.size(); ++t) seeds.emplace_back(facets_.size[t], none - t);
    std::make_heap(seeds.begin(), seeds.end());
    for (auto end = seeds.end(); end != seeds.begin(); --end) {
      std::pop_heap(seeds.begin(), end);
      const auto& [size, number] = end[-1];
      const Index seed = none - number;
      if (taken_[seed] != 0 || !(size > 0)) continue;
      // A face has at most two corners more than triangles: what is left can no longer make up for what was
      // found.
      if (4 * freedom + 3 * left < all) return std::nullopt;
      const std::vector<Index> face = grow(seed);
      left -= static_cast<double>(face.size());
      const std::vector<Index> corners = corners_of(face);
      if (corners.size() < fewest_corners) continue;
      const double own = static_cast<double>(corners.size()) - 3;
      const Fit fit = look_at(face, corners);
      if (fit.squares < own * floor_ * floor_) continue;  // clean; the others may be noisy all the same
      all += own;
      if (fit.with < 0.2 * fit.own && gain(fit) < 4) {
        squares += fit.squares;
        with += fit.with;
        all_own += fit.own;
        freedom += own;
        for (const double e : fit.off) sizes.push_back(std::abs(e));
      }
    }
    if (freedom < least_freedom || 4 * freedom < all || !random(sizes)) return std::nullopt;
    // What passes one face at a time by chance does not pass for all.
    if (with > 0.05 * all_own) return std::nullopt;
    return std::sqrt(squares / freedom);
  }

 private:
  struct Fit {
    std::vector<Vec3> place;  // in the plane, and height over it, before it is fitted
    std::vector<double> off;  // height over the fitted plane
    double squares = 0;
    double with = 0, own = 0;  // products of what neighbors stand off, and of each with itself
  };

  std::vector<Index> grow(Index seed) {
    std::vector<Index> face{seed};
    taken_[seed] = 1;
    Vec3 sum = facets_.across[seed];
    double length = sum.norm();
    for (std::size_t i = 0; i < face.size(); ++i)
      for (const Index u : beside_[face[i]]) {
        if (u == none || taken_[u] != 0) continue;
        if (!(facets_.across[u].dot(sum) > most_lean * facets_.size[u] * length)) continue;
        taken_[u] = 1;
        sum += facets_.across[u];
        length = sum.norm();
        face.push_back(u);
      }
    return face;
  }

  /// Notes the place of each.
  std::vector<Index> corners_of(const std::vector<Index>& face) {
    std::vector<Index> out;
    for (const Index t : face)
      for (const Index v : facets_.triangles[t])
        if (seen_[v] != face[0]) {
          seen_[v] = face[0];
          place_[v] = static_cast<Index>(out.size());
          out.push_back(v);
        }
    return out;
  }

  /// Heights as a sum of terms of the place.
  template <class Terms>
  static auto least_squares(const std::vector<Vec3>& places, const Terms& terms) {
    using Row = decltype(terms(places[0]));
    Eigen::Matrix<double, Row::RowsAtCompileTime, Row::RowsAtCompileTime> products;
    products.setZero();
    Row with_height = Row::Zero();
    for (const Vec3& p : places) {
      const Row t = terms(p);
      products += t * t.transpose();
      with_height += p.z() * t;
    }
    return Row(products.ldlt().solve(with_height));
  }

  Fit look_at(const std::vector<Index>& face, const std::vector<Index>& corners) const {
    Vec3 up = Vec3::Zero(), middle = Vec3::Zero();
    for (const Index t : face) up += facets_.across[t];
    up.normalize();
    for (const Index v : corners) middle += facets_.points[v];
    middle /= static_cast<double>(corners.size());
    Fit fit;
    fit.place.reserve(corners.size());
    fit.off.reserve(corners.size());
    const Vec3 e1 = up.unitOrthogonal(), e2 = up.cross(e1);
    for (const Index v : corners) {
      const Vec3 d = facets_.points[v] - middle;
      fit.place.emplace_back(d.dot(e1), d.dot(e2), d.dot(up));
    }
    const auto terms = [](const Vec3& p) { return Vec3(1, p.x(), p.y()); };
    const Vec3 plane = least_squares(fit.place, terms);
    for (const Vec3& p : fit.place) {
      fit.off.push_back(p.z() - terms(p).dot(plane));
      fit.squares += fit.off.back() * fit.off.back();
    }
    for (const Index t : face)
      for (std::size_t k = 0; k < 3; ++k) {
        const Triangle& c = facets_.triangles[t];
        const double a = fit.off[place_[c[k]]], b = fit.off[place_[c[(k + 1) % 3]]];
        fit.with += a * b;
        fit.own += (a * a + b * b) / 2;
      }
    return fit;
  }

  /// F of the three more terms of a quadric: about 1 of noise, and above 4 in few faces.
  static double gain(const Fit& fit) {
    double extent = 0;
    for (const Vec3& p : fit.place) extent = std::max(extent, p.squaredNorm());
    extent = std::sqrt(extent);
    const auto terms = [extent](const Vec3& p) {
      const double x = p.x() / extent, y = p.y() / extent;
      return Eigen::Matrix<double, 6, 1>{1, x, y, x * x, x * y, y * y};
    };
    const auto quadric = least_squares(fit.place, terms);
    double rest = 0;
    for (const Vec3& p : fit.place) rest += std::pow(p.z() - terms(p).dot(quadric), 2);
    return (fit.squares - rest) / 3 / (rest / (static_cast<double>(fit.place.size()) - 6));
  }

  /// What is drawn repeats its heights; noise repeats nothing.
  static bool random(std::vector<double> sizes) {
    std::sort(sizes.begin(), sizes.end());
    const double typical = sizes[sizes.size() / 2];
    // Among many, neighbors are near by chance.
    const double hair = std::min(1e-4, 0.01 / static_cast<double>(sizes.size())) * typical;
    std::size_t repeated = 0;
    for (std::size_t i = 1; i < sizes.size(); ++i) repeated += sizes[i] - sizes[i - 1] < hair ? 1 : 0;
    return repeated * 4 < sizes.size();
  }

  const FacetList& facets_;
  double floor_;
  std::vector<std::array<Index, 3>> beside_;
  std::vector<Index> place_, seen_;  ///< per vertex: its place among a face's corners; first triangle of it
  std::vector<char> taken_;
};

}  // namespace

FacetList::FacetList(std::vector<Vec3> at, std::vector<Triangle> of)
    : points(std::move(at)), triangles(std::move(of)) {
  across.reserve(triangles.size());
  size.reserve(triangles.size());
  for (const Triangle& t : triangles) {
    across.push_back((points[t[1]] - points[t[0]]).cross(points[t[2]] - points[t[0]]));
    size.push_back(across.back().norm());
  }
  for (const Vec3& p : points) reach = std::max(reach, p.cwiseAbs().maxCoeff());
}

SharedEdges shared_edges(const FacetList& facets) {
  SharedEdges out;
  out.reserve(facets.triangles.size() * 3 / 2);
  for_each_edge(facets.triangles, facets.points.size(), [&](Index, std::span<const EdgeUse> uses) {
    if (uses.size() == 2) out.push_back({uses[0].half_edge, uses[1].half_edge});
  });
  return out;
}

std::optional<double> noise_of_planes(const FacetList& facets, const SharedEdges& edges) {
  return PlaneNoise(facets, edges).spread();
}

}  // namespace pourwright::scatter

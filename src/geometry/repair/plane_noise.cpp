// SPDX-License-Identifier: GPL-3.0-or-later
// A noisy plane face and a curved one both stand off their plane. A quadric tells them apart: it follows the
// curved face and leaves the noise as it was.
#include "geometry/repair/plane_noise.hpp"

#include "geometry/mesh/edges.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <Eigen/Cholesky>

namespace pourwright::mending {
namespace {

constexpr std::size_t fewest_corners = 12;  // vertices of a face
constexpr double least_freedom = 40;
/// Cosine of what a triangle may lean against the face it belongs to: 15°, for noise that leans as much as
/// the limit would show cut short.
constexpr double most_lean = 0.966;

class PlaneNoise {
 public:
  PlaneNoise(const std::vector<Vec3>& points, const std::vector<Triangle>& triangles, double floor)
      : points_(points),
        triangles_(triangles),
        floor_(floor),
        beside_(triangles.size()),
        mark_(points.size(), none),
        taken_(triangles.size(), 0) {
    for (const auto& t : triangles_) {
      normal_.push_back((points_[t[1]] - points_[t[0]]).cross(points_[t[2]] - points_[t[0]]));
      length_.push_back(normal_.back().norm());
    }
    for (auto& b : beside_) b = {none, none, none};
    for_each_edge(triangles_, points_.size(), [&](Index, std::span<const EdgeUse> uses) {
      if (uses.size() != 2) return;
      const HalfEdge a = uses[0].half_edge, b = uses[1].half_edge;
      beside_[a / 3][a % 3] = b / 3;
      beside_[b / 3][b % 3] = a / 3;
    });
    largest_first_.reserve(triangles_.size());
    for (Index t = 0; t < triangles_.size(); ++t) largest_first_.emplace_back(-length_[t], t);
    std::sort(largest_first_.begin(), largest_first_.end());
  }

  std::optional<double> spread() {
    double squares = 0, with = 0, all_own = 0;  // of all noisy faces
    double freedom = 0, exact = 0, all = 0;
    std::vector<double> sizes;
    auto left = static_cast<double>(triangles_.size());
    for (const auto& [size, seed] : largest_first_) {
      if (taken_[seed] != 0 || !(size < 0)) continue;
      // A face has at most two corners more than triangles: what is left can no longer make up for what was
      // found.
      if (exact > freedom + left || 4 * freedom + 3 * left < all) return std::nullopt;
      const std::vector<Index> face = grow(seed);
      left -= static_cast<double>(face.size());
      const std::vector<Index> corners = corners_of(face);
      if (corners.size() < fewest_corners) continue;
      const double own = static_cast<double>(corners.size()) - 3;
      all += own;
      const Fit fit = look_at(face, corners);
      if (fit.squares < own * floor_ * floor_) {
        exact += own;
      } else if (fit.gain(own) < 4 && fit.with < 0.2 * fit.own) {
        squares += fit.squares;
        with += fit.with;
        all_own += fit.own;
        freedom += own;
        for (const double e : fit.off) sizes.push_back(std::abs(e));
      }
    }
    if (freedom < least_freedom || exact > freedom || 4 * freedom < all || !random(sizes))
      return std::nullopt;
    // What passes one face at a time by chance does not pass for all.
    if (with > 0.05 * all_own) return std::nullopt;
    return std::sqrt(squares / freedom);
  }

 private:
  struct Fit {
    double squares = 0, gained = 0;  // off the plane, and how much less off a quadric
    double with = 0, own = 0;        // products of what neighbors stand off, and of each with itself
    std::vector<double> off;

    /// F of the quadric's three more terms: about 1 of noise, and above 4 in few faces.
    double gain(double freedom) const { return gained / 3 / ((squares - gained) / (freedom - 3)); }
  };

  std::vector<Index> grow(Index seed) {
    std::vector<Index> face{seed};
    taken_[seed] = 1;
    Vec3 sum = normal_[seed];
    for (std::size_t i = 0; i < face.size(); ++i)
      for (const Index u : beside_[face[i]]) {
        if (u == none || taken_[u] != 0 || !(normal_[u].dot(sum) > most_lean * length_[u] * sum.norm()))
          continue;
        taken_[u] = 1;
        sum += normal_[u];
        face.push_back(u);
      }
    return face;
  }

  /// Marks each with its place.
  std::vector<Index> corners_of(const std::vector<Index>& face) {
    std::vector<Index> out;
    for (const Index t : face) out.insert(out.end(), triangles_[t].begin(), triangles_[t].end());
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    for (std::size_t i = 0; i < out.size(); ++i) mark_[out[i]] = static_cast<Index>(i);
    return out;
  }

  Fit look_at(const std::vector<Index>& face, const std::vector<Index>& corners) const {
    Vec3 up = Vec3::Zero(), middle = Vec3::Zero();
    for (const Index t : face) up += normal_[t];
    up.normalize();
    for (const Index v : corners) middle += points_[v];
    middle /= static_cast<double>(corners.size());
    const Vec3 e1 = up.unitOrthogonal(), e2 = up.cross(e1);
    const auto n = static_cast<Eigen::Index>(corners.size());
    Eigen::MatrixXd terms(n, 6);
    Eigen::VectorXd height(n);
    double extent = 0;
    for (const Index v : corners) extent = std::max(extent, (points_[v] - middle).norm());
    for (Eigen::Index i = 0; i < n; ++i) {
      const Vec3 d = (points_[corners[static_cast<std::size_t>(i)]] - middle) / extent;
      const double x = d.dot(e1), y = d.dot(e2);
      terms.row(i) << 1, x, y, x * x, x * y, y * y;
      height(i) = d.dot(up) * extent;
    }
    const auto rest = [&](Eigen::Index columns) {
      const auto a = terms.leftCols(columns);
      const Eigen::VectorXd c = (a.transpose() * a).ldlt().solve(a.transpose() * height);
      return Eigen::VectorXd(height - a * c);
    };
    const Eigen::VectorXd off = rest(3);
    Fit fit;
    fit.squares = off.squaredNorm();
    fit.gained = fit.squares - rest(6).squaredNorm();
    for (const Index t : face)
      for (std::size_t k = 0; k < 3; ++k) {
        const double a = off(mark_[triangles_[t][k]]), b = off(mark_[triangles_[t][(k + 1) % 3]]);
        fit.with += a * b;
        fit.own += (a * a + b * b) / 2;
      }
    fit.off.assign(off.begin(), off.end());
    return fit;
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

  const std::vector<Vec3>& points_;
  const std::vector<Triangle>& triangles_;
  double floor_;
  std::vector<std::array<Index, 3>> beside_;
  std::vector<Index> mark_;
  std::vector<char> taken_;
  std::vector<std::pair<double, Index>> largest_first_;
  std::vector<Vec3> normal_;
  std::vector<double> length_;
};

}  // namespace

std::optional<double> noise_of_planes(const std::vector<Vec3>& points, const std::vector<Triangle>& triangles,
                                      double reach) {
  return PlaneNoise(points, triangles, 3e-7 * reach).spread();
}

}  // namespace pourwright::mending

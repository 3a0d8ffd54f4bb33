// SPDX-License-Identifier: GPL-3.0-or-later
// Thickness of a rough surface: a plane through what neighbouring places found, by iterated weights. Law: a
// place says no more than its neighbours bear out, and noise that all of them share is counted as doubt. J.
// W. Tukey's biweight: A. E. Beaton, J. W. Tukey, Technometrics 16, 1974.
#include "geometry/walls/agreement.hpp"

#include "geometry/mesh/median.hpp"
#include "geometry/mesh/point_grid.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::thickness {
namespace {

/// Fewer places than this agree on nothing.
constexpr std::size_t fewest_witnesses = 8;
/// More are not asked: beyond that it is the mesh's vertices that are too few.
constexpr std::size_t most_witnesses = 64;

/// Thickness as a plane over the tangent plane of one place: coefficients (ball, slope along u, along v).
struct Fit {
  Vec3 u, v;
  Vec3 plane;
  Eigen::Matrix3d doubt;  ///< covariance of the coefficients

  double at(const Vec3& x) const { return plane.dot(x); }
  double doubt_at(const Vec3& x) const { return std::sqrt(std::max(x.dot(doubt * x), 0.0)); }
};

class Fitter {
 public:
  Fitter(const RayScene& scene, const std::vector<WallSample>& places, double spacing,
         const Roughness& roughness)
      : scene_(scene),
        places_(places),
        points_(points(places)),
        radius_(std::max(2.5 * spacing, 3.5 * roughness.edge)),
        spacing_(spacing),
        edge_(roughness.edge),
        sigma_(roughness.sigma),
        grid_(points_, radius_) {}

  std::optional<Fit> fit(Index i) const;
  double radius() const { return radius_; }
  /// How far the sheet goes on from the place downhill; other places lie nearer to its end than an edge.
  double to_the_end(const WallSample& from, const Vec3& downhill) const;

 private:
  static std::vector<Vec3> points(const std::vector<WallSample>& places) {
    std::vector<Vec3> out;
    for (const WallSample& s : places) out.push_back(s.at);
    return out;
  }

  const RayScene& scene_;
  const std::vector<WallSample>& places_;
  const std::vector<Vec3> points_;
  double radius_, spacing_, edge_, sigma_;
  PointGrid grid_;
};

std::optional<Fit> Fitter::fit(Index i) const {
  const WallSample& s = places_[i];
  Fit f;
  f.u = s.normal.unitOrthogonal();
  f.v = s.normal.cross(f.u);
  std::vector<Index> around;
  std::size_t all = 0;
  grid_.around(s.at, radius_, [&](Index j) {
    const WallSample& o = places_[j];
    const Vec3 d = o.at - s.at;
    if (o.normal.dot(s.normal) < 0.75 || std::abs(d.dot(s.normal)) > 0.4 * d.norm()) return;
    ++all;
    if (!o.own) return;
    around.push_back(j);
  });
  if (around.size() < fewest_witnesses || 2 * around.size() < all) return {};
  std::vector<Vec3> x;
  std::vector<double> ball;
  const std::size_t stride = (around.size() + most_witnesses - 1) / most_witnesses;
  for (std::size_t k = 0; k < around.size(); k += stride) {
    const WallSample& o = places_[around[k]];
    const Vec3 d = o.at - s.at;
    x.emplace_back(1, d.dot(f.u), d.dot(f.v));
    ball.push_back(o.ball);
  }
  f.plane = {median(ball), 0, 0};
  double scale = 0, kept = 0;
  std::vector<double> off;
  Eigen::Matrix3d normal;
  for (int turn = 0; turn < 8; ++turn) {
    off.clear();
    for (std::size_t k = 0; k < x.size(); ++k) off.push_back(std::abs(ball[k] - f.at(x[k])));
    scale = std::max(1.4826 * median(off), 1e-6 * f.plane[0]);
    normal.setZero();
    Vec3 right = Vec3::Zero();
    kept = 0;
    for (std::size_t k = 0; k < x.size(); ++k) {
      const double z = off[k] / (4.685 * scale);
      if (z >= 1) continue;
      const double w = (1 - z * z) * (1 - z * z);
      normal += w * x[k] * x[k].transpose();
      right += w * ball[k] * x[k];
      kept += w;
    }
    // Slopes that the places do not tell of are taken for none.
    normal.diagonal().tail<2>().array() += 1e-3 * radius_ * radius_;
    f.plane = normal.ldlt().solve(right);
  }
  if (2 * kept < static_cast<double>(x.size()) || !(f.plane[0] > 0) || scale > 0.12 * f.plane[0]) return {};
  // Places on the same few triangles repeat each other.
  const double area = static_cast<double>(around.size()) * spacing_ * spacing_;
  const double witnesses = std::clamp(area / (2 * edge_ * edge_), 1.0, kept);
  // Neighbours share their noise, which a plane through them follows: no better than the vertices of both
  // sides allow.
  const double vertices = std::max(area / (edge_ * edge_), 1.0);
  const double variance = std::max(scale * scale / witnesses, 2 * sigma_ * sigma_ / vertices);
  f.doubt = variance * kept * normal.inverse();
  return f;
}

double Fitter::to_the_end(const WallSample& from, const Vec3& downhill) const {
  const double most = std::max(spacing_, edge_);
  double end = 0;
  constexpr int steps = 8;
  for (int i = 1; i <= steps; ++i) {
    const double way = most * i / steps;
    const auto near = scene_.nearest(from.at + way * downhill, 0.4 * most);
    if (!near || scene_.normal(near->triangle).dot(from.normal) < 0.75) break;
    // Past the end the nearest point stays there.
    const double reached = downhill.dot(near->at - from.at);
    if (reached < end + 0.3 * most / steps) break;
    end = reached;
  }
  return end;
}

/// What a place and its neighbours agree on where their sheet ends.
struct Candidate {
  Index place;
  double ball, doubt;
  Vec3 at;
};

}  // namespace

Agreement agreement_of(const RayScene& scene, const std::vector<WallSample>& places, double spacing,
                       const Roughness& roughness) {
  const Fitter fitter(scene, places, spacing, roughness);
  Agreement out;
  out.ball.resize(places.size());
  std::vector<Candidate> candidates;
  for (Index i = 0; i < places.size(); ++i) {
    if (!places[i].own) continue;
    const auto f = fitter.fit(i);
    if (!f) continue;
    out.ball[i] = f->plane[0];
    Candidate c{i, 0, 0, places[i].at};
    Vec3 at(1, 0, 0);
    const double slope = f->plane.tail<2>().norm();
    const Eigen::Vector2d down =
        slope > 0 ? Eigen::Vector2d(-f->plane.tail<2>() / slope) : Eigen::Vector2d::Zero();
    // Among thousands of places some slope by chance, by three or four standard errors.
    if (slope > 5 * f->doubt_at({0, down.x(), down.y()})) {
      const Vec3 along = down.x() * f->u + down.y() * f->v;
      const double way = fitter.to_the_end(places[i], along);
      at.tail<2>() = way * down;
      c.at += way * along;
    }
    c.doubt = f->doubt_at(at);
    c.ball = f->at(at);
    if (c.ball > 0) candidates.push_back(c);
  }
  if (candidates.empty()) return out;
  // The third lowest: a thin place has neighbours that say the same, a corner where few bear each other out
  // has none.
  const auto least = candidates.begin() + std::min<std::ptrdiff_t>(2, std::ssize(candidates) - 1);
  std::nth_element(candidates.begin(), least, candidates.end(), [](const Candidate& x, const Candidate& y) {
    return x.ball + 2 * x.doubt < y.ball + 2 * y.doubt;
  });
  // Of as many neighbourhoods as could as well have been the lowest, noise has moved the lowest down by so
  // many standard errors (the mean of the smallest of as many normal deviates, to 0.1).
  std::size_t rivals = 0;
  for (const Candidate& c : candidates)
    rivals += c.ball - least->ball < 4 * std::hypot(c.doubt, least->doubt) ? 1 : 0;
  const double neighbourhood = fitter.radius() * fitter.radius();
  const double count = std::max(static_cast<double>(rivals) * spacing * spacing / neighbourhood, 1.0);
  const double moved = std::max(std::sqrt(2 * std::log(count)) - 0.55, 0.0);
  WallSample s = places[least->place];
  s.at = least->at;
  s.ball = least->ball + moved * least->doubt;
  out.least = s;
  return out;
}

}  // namespace pourwright::thickness

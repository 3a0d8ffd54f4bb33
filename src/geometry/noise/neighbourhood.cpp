// SPDX-License-Identifier: GPL-3.0-or-later
// Neighbourhoods of a vertex and polynomials through them. The polynomial follows what the shape does; what
// it leaves is noise, or shape that is finer than the neighbourhood.
#include "geometry/noise/neighbourhood.hpp"

#include "geometry/mesh/median.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/QR>

namespace pourwright::scatter {
namespace {

/// A neighbourhood ends where the shape has an edge: where a triangle leans by more than noise makes it lean.
/// 15° at least, for the sake of what is curved; at 45° the polynomial no longer is a height.
constexpr double least_limit = 0.45, most_limit = 0.8;  // radians
/// Three times what a triangle leans as a rule: beyond that lies one in a hundred, of a normal distribution.
constexpr double leans = 3;
/// Vertices beyond the coefficients, so that the spread is known to a quarter of itself.
constexpr Eigen::Index least_left_over = 8;

}  // namespace

Neighbourhoods::Neighbourhoods(std::span<const Vec3> points, std::span<const Triangle> triangles)
    : points_(points),
      triangles_(triangles),
      fans_(points.size(), triangles),
      seen_(points.size(), 0),
      ring_(points.size(), 0),
      place_(points.size(), 0) {
  normal_.reserve(triangles.size());
  for (const Triangle& t : triangles) {
    const Vec3 across = (points[t[1]] - points[t[0]]).cross(points[t[2]] - points[t[0]]);
    const double length = across.norm();
    normal_.push_back((length > 0 ? Vec3(across / length) : Vec3(Vec3::Zero())).cast<float>());
  }
  most_lean_ = static_cast<float>(std::cos(std::clamp(leans * typical_lean(), least_limit, most_limit)));
}

/// By how much a triangle leans against those round it. A part of the body may be clean: of the quarter that
/// leans most, the least.
double Neighbourhoods::typical_lean() const {
  constexpr std::size_t enough = 4000;
  std::vector<float> agree;
  for (std::size_t t = 0; t < triangles_.size(); t += 1 + triangles_.size() / enough) {
    Eigen::Vector3f sum = Eigen::Vector3f::Zero();
    for (const Index v : triangles_[t])
      for (const Index u : fans_.at(v)) sum += normal_[u];
    if (const float length = sum.norm(); length > 0) agree.push_back(normal_[t].dot(sum) / length);
  }
  if (agree.empty()) return 0;
  const auto quarter = agree.begin() + static_cast<std::ptrdiff_t>(agree.size() / 4);
  std::nth_element(agree.begin(), quarter, agree.end());
  return std::acos(std::clamp(static_cast<double>(*quarter), -1.0, 1.0));
}

Vec3 Neighbourhoods::normal_at(Index v) const {
  Eigen::Vector3f sum = Eigen::Vector3f::Zero();
  for (const Index u : fans_.at(v)) sum += normal_[u];
  return sum.cast<double>().normalized();
}

bool Neighbourhoods::smooth_at(Index middle) const {
  const Eigen::Vector3f up = normal_at(middle).cast<float>();
  const auto round = fans_.at(middle);
  return std::all_of(round.begin(), round.end(), [&](Index u) { return normal_[u].dot(up) >= most_lean_; });
}

double Neighbourhoods::drawn_at(Index middle) const {
  constexpr float one_plane = 1 - 1.2e-7f;  // two units in the last place: 5e-4 of a radian
  std::size_t edges = 0, drawn = 0;
  const auto count = [&](Index v) {
    const auto round = fans_.at(v);
    for (std::size_t i = 0; i < round.size(); ++i)
      for (std::size_t j = i + 1; j < round.size(); ++j) {
        const Triangle &a = triangles_[round[i]], &b = triangles_[round[j]];
        const auto shared = std::count_if(
            a.begin(), a.end(), [&](Index w) { return std::find(b.begin(), b.end(), w) != b.end(); });
        if (shared != 2) continue;
        ++edges;
        drawn += normal_[round[i]].dot(normal_[round[j]]) >= one_plane;
      }
  };
  count(middle);
  for (const Index t : fans_.at(middle))
    for (const Index w : triangles_[t])
      if (w != middle) count(w);
  return edges > 0 ? static_cast<double>(drawn) / static_cast<double>(edges) : 0;
}

const std::vector<Index>& Neighbourhoods::grow(Index middle, int rings) {
  ++growth_;
  up_ = normal_at(middle);
  const Eigen::Vector3f up = up_.cast<float>();
  grown_.assign(1, middle);
  seen_[middle] = growth_;
  ring_[middle] = 0;
  place_[middle] = 0;
  for (std::size_t i = 0; i < grown_.size() && ring_[grown_[i]] < rings; ++i)
    for (const Index u : fans_.at(grown_[i])) {
      if (normal_[u].dot(up) < most_lean_) continue;
      for (const Index w : triangles_[u]) {
        if (seen_[w] == growth_) continue;
        seen_[w] = growth_;
        ring_[w] = static_cast<std::uint8_t>(ring_[grown_[i]] + 1);
        place_[w] = static_cast<Index>(grown_.size());
        grown_.push_back(w);
      }
    }
  return grown_;
}

std::optional<Residuals> Neighbourhoods::residuals(const Reach& reach) const {
  Eigen::Index n = 0;
  for (const Index v : grown_) n += ring_[v] <= reach.rings ? 1 : 0;
  const Eigen::Index terms = (reach.degree + 1) * (reach.degree + 2) / 2;
  if (n < terms + least_left_over) return std::nullopt;
  Vec3 middle = Vec3::Zero();
  for (Eigen::Index i = 0; i < n; ++i) middle += points_[grown_[static_cast<std::size_t>(i)]];
  middle /= static_cast<double>(n);
  const Vec3 e1 = up_.unitOrthogonal(), e2 = up_.cross(e1);
  Eigen::MatrixX2d at(n, 2);
  Eigen::VectorXd height(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Vec3 d = points_[grown_[static_cast<std::size_t>(i)]] - middle;
    at.row(i) << d.dot(e1), d.dot(e2);
    height[i] = d.dot(up_);
  }
  const double extent = at.rowwise().norm().maxCoeff();
  if (!(extent > 0)) return std::nullopt;
  at /= extent;
  Eigen::MatrixXd rows(n, terms);
  Eigen::Index column = 0;
  rows.col(column++).setOnes();
  // Each degree from the one before: times x, and the last once more times y.
  for (int d = 1; d <= reach.degree; ++d) {
    for (int k = 0; k < d; ++k, ++column) rows.col(column) = rows.col(column - d).cwiseProduct(at.col(0));
    rows.col(column) = rows.col(column - d - 1).cwiseProduct(at.col(1));
    ++column;
  }
  Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(rows);
  qr.setThreshold(1e-9);  // vertices in rows leave some terms undetermined
  const Eigen::Index freedom = n - qr.rank();
  if (freedom < least_left_over) return std::nullopt;
  const Eigen::VectorXd off = height - rows * qr.solve(height);
  const double squares = off.squaredNorm();
  Residuals out;
  out.spread = std::sqrt(squares / static_cast<double>(freedom));
  if (squares > 0)
    out.kurtosis = off.array().square().square().sum() * static_cast<double>(n) / (squares * squares);
  double with = 0, own = 0;
  for (Eigen::Index i = 0; i < n; ++i) {
    const Index v = grown_[static_cast<std::size_t>(i)];
    for (const Index u : fans_.at(v)) {
      const Triangle& t = triangles_[u];
      const Index w = t[0] == v ? t[1] : t[1] == v ? t[2] : t[0];
      if (seen_[w] != growth_ || place_[w] >= n) continue;
      with += off[i] * off[place_[w]];
      own += (off[i] * off[i] + off[place_[w]] * off[place_[w]]) / 2;
    }
  }
  if (own > 0) out.together = with / own;
  return out;
}

double Neighbourhoods::edge() const {
  std::vector<double> lengths;
  for (const Index v : grown_)
    for (const Index u : fans_.at(v)) {
      const Triangle& t = triangles_[u];
      for (std::size_t k = 0; k < 3; ++k)
        if (t[k] == v) lengths.push_back((points_[t[(k + 1) % 3]] - points_[v]).norm());
    }
  return median(std::move(lengths));
}

}  // namespace pourwright::scatter

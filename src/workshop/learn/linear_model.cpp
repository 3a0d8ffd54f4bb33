// SPDX-License-Identifier: GPL-3.0-or-later
// Least squares with a prior, by Cholesky factors; small and dense.
#include "workshop/learn/linear_model.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pourwright::learn {
namespace {

/// Of a symmetric positive definite n×n matrix, in place; the upper triangle is left as it is.
void cholesky(std::vector<double>& a, std::size_t n) {
  for (std::size_t j = 0; j < n; ++j)
    for (std::size_t i = j; i < n; ++i) {
      double sum = a[i * n + j];
      for (std::size_t k = 0; k < j; ++k) sum -= a[i * n + k] * a[j * n + k];
      // The prior keeps every pivot positive; rounding must not turn that around.
      a[i * n + j] = i == j ? std::sqrt(std::max(sum, 1e-300)) : sum / a[j * n + j];
    }
}
/// L z = b
std::vector<double> forward(const std::vector<double>& l, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) b[i] -= l[i * n + k] * b[k];
    b[i] /= l[i * n + i];
  }
  return b;
}
/// Lᵀ z = b
std::vector<double> backward(const std::vector<double>& l, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t k = i + 1; k < n; ++k) b[i] -= l[k * n + i] * b[k];
    b[i] /= l[i * n + i];
  }
  return b;
}
double dot(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

/// Chance of a standard normal above z, exact far out as well.
double normal_above(double z) {
  return std::erfc(z / std::numbers::sqrt2) / 2;
}

constexpr double widest = 3.2;  // standard deviations of log s to each side

}  // namespace

double Prediction::mean() const {
  double m = 0;
  for (const Piece& p : pieces) m += p.weight * p.mean;
  return m;
}
double Prediction::sd() const {
  const double m = mean();
  double v = 0;
  for (const Piece& p : pieces) v += p.weight * (p.sd * p.sd + (p.mean - m) * (p.mean - m));
  return std::sqrt(v);
}
double Prediction::above(double value) const {
  double chance = 0;
  for (const Piece& p : pieces) chance += p.weight * normal_above((value - p.mean) / p.sd);
  return chance;
}
double Prediction::quantile_above(double chance) const {
  double low = mean(), high = low, reach = std::max(sd(), 1e-300);
  while (above(low) < chance) low -= reach, reach *= 2;
  reach = std::max(sd(), 1e-300);
  while (above(high) > chance) high += reach, reach *= 2;
  for (int i = 0; i < 100 && high - low > 1e-9 * (std::abs(low) + std::abs(high)); ++i) {
    const double middle = (low + high) / 2;
    (above(middle) > chance ? low : high) = middle;
  }
  return high;
}

LinearModel::LinearModel(std::vector<double> prior_sd, double log_sd,
                         const std::vector<Observation>& observations)
    : n_(prior_sd.size()) {
  std::vector<double> a(n_ * n_), c(n_);
  double q = 0;
  for (const Observation& o : observations) {
    const double weight = 1 / (o.w * o.w);
    for (std::size_t i = 0; i < n_; ++i) {
      if (o.x[i] == 0) continue;
      c[i] += weight * o.x[i] * o.y;
      for (std::size_t k = 0; k <= i; ++k) a[i * n_ + k] += weight * o.x[i] * o.x[k];
    }
    q += weight * o.y * o.y;
  }
  // Neighbours on the grid differ by about a tenth, less than 20 pours can tell apart.
  const int points = 2 * std::max(1, static_cast<int>(std::ceil(widest * log_sd / 0.11))) + 1;
  double best = -HUGE_VAL;
  for (int p = 0; p < points; ++p) {
    const double z = widest * (2.0 * p / (points - 1) - 1);
    At at{std::exp(log_sd * z), 0, a, c};
    const double s2 = at.s * at.s;
    for (double& v : at.factor) v /= s2;
    for (double& v : at.mean) v /= s2;
    for (std::size_t i = 0; i < n_; ++i) at.factor[i * n_ + i] += 1 / (prior_sd[i] * prior_sd[i]);
    cholesky(at.factor, n_);
    const std::vector<double> half = forward(at.factor, at.mean);
    double log_pivots = 0;
    for (std::size_t i = 0; i < n_; ++i) log_pivots += std::log(at.factor[i * n_ + i]);
    at.mean = backward(at.factor, half);
    // Marginal likelihood of the observations given s, times the prior of s, both up to a constant.
    at.weight = -static_cast<double>(observations.size()) * std::log(at.s) - log_pivots -
                (q / s2 - dot(half, half)) / 2 - z * z / 2;
    best = std::max(best, at.weight);
    grid_.push_back(std::move(at));
  }
  double sum = 0;
  for (At& at : grid_) sum += at.weight = std::exp(at.weight - best);
  for (At& at : grid_) at.weight /= sum;
}

Prediction LinearModel::predict(const std::vector<double>& x, double w) const {
  Prediction out;
  for (const At& at : grid_) {
    const std::vector<double> half = forward(at.factor, x);
    out.pieces.push_back({at.weight, dot(x, at.mean), std::sqrt(dot(half, half) + at.s * at.s * w * w)});
  }
  return out;
}

double LinearModel::mean_s() const {
  double m = 0;
  for (const At& at : grid_) m += at.weight * at.s;
  return m;
}

}  // namespace pourwright::learn

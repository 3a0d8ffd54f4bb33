// SPDX-License-Identifier: GPL-3.0-or-later
// Reading by reading: each grid point of s is updated by itself and weighed by how well it foresaw the
// reading. An odd reading, and one that is only known from below, leave a mixture or a cut normal, of which
// mean and variance are kept. Both are exact but for that.
#include "workshop/learn/beliefs.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace pourwright::learn {
namespace {

double dot(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

/// Chance of a standard normal above z, exact far out as well.
double normal_above(double z) {
  return std::erfc(z / std::numbers::sqrt2) / 2;
}

constexpr double widest = 3;     // standard deviations of log s to each side
constexpr double spacing = 0.2;  // of log s: what twenty readings tell apart

/// Three normals with mean and variance of a flat distribution within ±1, and its 1 % tails within a
/// twentieth.
struct Third {
  double mean, sd;
};
constexpr std::array<Third, 3> thirds{Third{-0.667, 0.19}, Third{0, 0.19}, Third{0.667, 0.19}};

}  // namespace

Truncated truncated(double mean, double sd, double least) {
  const double z = (least - mean) / sd;
  if (z > 30) return {least + sd / z, sd * sd / (z * z), -z * z / 2 - std::log(z)};
  const double tail = normal_above(z);
  const double rate = std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi) / tail;
  return {mean + sd * rate, sd * sd * std::max(1 + z * rate - rate * rate, 1e-6), std::log(tail)};
}

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

Beliefs::Beliefs(const std::vector<double>& prior_sd, double log_sd, double odd, double flat)
    : n_(prior_sd.size()), odd_(odd) {
  const int points = 2 * std::max(1, static_cast<int>(std::ceil(widest * log_sd / spacing))) + 1;
  std::vector<double> log_prior;
  for (int p = 0; p < points; ++p) {
    const double z = widest * (2.0 * p / (points - 1) - 1);
    for (const Third& third : thirds) {
      if (flat == 0 && third.mean != 0) continue;
      At at{std::exp(log_sd * z), 1, std::vector<double>(n_), std::vector<double>(n_ * n_)};
      for (std::size_t i = 0; i < n_; ++i) at.cov[i * n_ + i] = prior_sd[i] * prior_sd[i];
      at.mean[0] = third.mean * flat;
      at.cov[0] += third.sd * third.sd * flat * flat;
      grid_.push_back(std::move(at));
      log_prior.push_back(-z * z / 2);
    }
  }
  settle_weights(log_prior);
}

void Beliefs::settle_weights(const std::vector<double>& log_likelihood) {
  std::vector<double> log(grid_.size());
  for (std::size_t i = 0; i < grid_.size(); ++i)
    log[i] = std::log(std::max(grid_[i].weight, 1e-300)) + log_likelihood[i];
  const double best = *std::max_element(log.begin(), log.end());
  double sum = 0;
  for (std::size_t i = 0; i < grid_.size(); ++i) sum += grid_[i].weight = std::exp(log[i] - best);
  for (At& at : grid_) at.weight /= sum;
}

std::vector<double> Beliefs::times(const At& at, const std::vector<double>& x) const {
  std::vector<double> out(n_);
  for (std::size_t k = 0; k < n_; ++k) {
    if (x[k] == 0) continue;
    for (std::size_t i = 0; i < n_; ++i) out[i] += at.cov[k * n_ + i] * x[k];
  }
  return out;
}

void Beliefs::shift(At& at, const std::vector<double>& px, double a, double b) const {
  for (std::size_t i = 0; i < n_; ++i) {
    if (px[i] == 0) continue;
    at.mean[i] += px[i] * a;
    for (std::size_t k = 0; k < n_; ++k) at.cov[i * n_ + k] -= px[i] * px[k] * b;
  }
}

void Beliefs::stray(std::size_t term, double sd) {
  for (At& at : grid_) at.cov[term * n_ + term] += sd * sd;
}

void Beliefs::observe(const Observation& o) {
  std::vector<double> log_likelihood;
  for (At& at : grid_) {
    const std::vector<double> px = times(at, o.x);
    const double mean = dot(o.x, at.mean);
    const double variance = dot(o.x, px) + at.s * at.s * o.w * o.w + o.own * o.own;
    // Usual or odd: chance, where the step goes, and what it takes off the variance.
    std::array<double, 2> log{}, a{}, b{};
    const std::size_t kinds = o.odd_by != 0 && odd_ > 0 ? 2 : 1;
    for (std::size_t k = 0; k < kinds; ++k) {
      const double expected = mean + (k == 1 ? o.odd_by : 0);
      log[k] = kinds == 1 ? 0 : std::log(k == 1 ? odd_ : 1 - odd_);
      if (o.at_least) {
        const Truncated t = truncated(expected, std::sqrt(variance), o.y);
        log[k] += t.log_chance;
        a[k] = (t.mean - expected) / variance;
        b[k] = (1 - t.variance / variance) / variance;
      } else {
        const double off = o.y - expected;
        log[k] -= (off * off / variance + std::log(variance)) / 2;
        a[k] = off / variance;
        b[k] = 1 / variance;
      }
    }
    const double best = kinds == 1 ? log[0] : std::max(log[0], log[1]);
    double sum = 0, step = 0, less = 0, square = 0;
    for (std::size_t k = 0; k < kinds; ++k) sum += std::exp(log[k] - best);
    for (std::size_t k = 0; k < kinds; ++k) {
      const double chance = std::exp(log[k] - best) / sum;
      step += chance * a[k];
      square += chance * a[k] * a[k];
      less += chance * b[k];
    }
    shift(at, px, step, less - (square - step * step));
    log_likelihood.push_back(best + std::log(sum));
  }
  settle_weights(log_likelihood);
}

void Beliefs::keep_above(std::size_t term, double least) {
  std::vector<double> x(n_), log_likelihood;
  x[term] = 1;
  for (At& at : grid_) {
    const double variance = at.cov[term * n_ + term];
    if (!(variance > 0)) {
      log_likelihood.push_back(0);
      continue;
    }
    const Truncated t = truncated(at.mean[term], std::sqrt(variance), least);
    shift(at, times(at, x), (t.mean - at.mean[term]) / variance, (1 - t.variance / variance) / variance);
    log_likelihood.push_back(t.log_chance);
  }
  settle_weights(log_likelihood);
}

Prediction Beliefs::predict(const Observation& next) const {
  Prediction out;
  for (const At& at : grid_) {
    const double mean = dot(next.x, at.mean);
    const double variance =
        dot(next.x, times(at, next.x)) + at.s * at.s * next.w * next.w + next.own * next.own;
    const double sd = std::sqrt(std::max(variance, 1e-300));
    if (next.odd_by != 0 && odd_ > 0) {
      out.pieces.push_back({at.weight * (1 - odd_), mean, sd});
      out.pieces.push_back({at.weight * odd_, mean + next.odd_by, sd});
    } else {
      out.pieces.push_back({at.weight, mean, sd});
    }
  }
  return out;
}

double Beliefs::mean_s() const {
  double m = 0;
  for (const At& at : grid_) m += at.weight * at.s;
  return m;
}

}  // namespace pourwright::learn

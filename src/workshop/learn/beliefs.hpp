// SPDX-License-Identifier: GPL-3.0-or-later
// What is believed of b and s in y = x·b + s·w·e, reading by reading: b normal, s log-normal on a grid, and
// now and then a reading that is odd. Kalman's filter, with mixtures put back to one normal by their first
// two moments (P. J. Harrison and C. F. Stevens, J. R. Statist. Soc. B 38, 1976, 205-247).
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

namespace pourwright::learn {

struct Observation {
  std::vector<double> x;
  double y = 0;           ///< measured from the prior mean of x·b
  double w = 0;           ///< standard deviation at s = 1
  double own = 0;         ///< standard deviation that s has no part in
  double odd_by = 0;      ///< how much more an odd one shows; 0: none is odd
  bool at_least = false;  ///< it was at least y
};

/// Normal for each s of the grid, with its weight.
struct Prediction {
  struct Piece {
    double weight, mean, sd;
  };
  std::vector<Piece> pieces;
  double mean() const;
  double sd() const;
  /// Chance of more than `value`.
  double above(double value) const;
  /// The value with `chance` above it; 0 < chance < 1.
  double quantile_above(double chance) const;
};

class Beliefs {
 public:
  /// `prior_sd` of each coefficient about 0; the first one may lie anywhere within `flat` of 0 beside that. s
  /// has median 1 and standard deviation `log_sd` of its logarithm. `odd`: the share of odd readings.
  Beliefs(const std::vector<double>& prior_sd, double log_sd, double odd = 0, double flat = 0);

  /// The coefficient may have strayed since the last reading, with this standard deviation.
  void stray(std::size_t term, double sd);
  void observe(const Observation& o);
  /// The coefficient is known to be at least `least`.
  void keep_above(std::size_t term, double least);

  /// Of a new observation; of x·b alone when w, own and odd_by are 0.
  Prediction predict(const Observation& next) const;
  double mean_s() const;

 private:
  struct At {  ///< one s of the grid
    double s, weight;
    std::vector<double> mean, cov;  ///< cov row by row
  };
  std::vector<double> times(const At& at, const std::vector<double>& x) const;  ///< cov·x
  /// Moves `at` along cov·x/S: by a, its variance less by b of cov·x·xᵀ·cov.
  void shift(At& at, const std::vector<double>& px, double a, double b) const;
  void settle_weights(const std::vector<double>& log_likelihood);

  std::size_t n_;
  double odd_;
  std::vector<At> grid_;
};

/// Mean and variance of a normal above `least`, and the logarithm of its chance to be there.
struct Truncated {
  double mean, variance, log_chance;
};
Truncated truncated(double mean, double sd, double least);

}  // namespace pourwright::learn

// SPDX-License-Identifier: GPL-3.0-or-later
// y = x·b + s·w·e with e normal: b has a normal prior, s a log-normal one that is integrated out on a grid.
#pragma once

#include <vector>

namespace pourwright::learn {

struct Observation {
  std::vector<double> x;
  double y = 0;  ///< measured from the prior mean of x·b
  double w = 1;  ///< standard deviation at s = 1
};

/// Normal for each s of the grid, with the weight of that s.
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

class LinearModel {
 public:
  /// `prior_sd` of each coefficient about 0; s has median 1 and standard deviation `log_sd` of its logarithm.
  LinearModel(std::vector<double> prior_sd, double log_sd, const std::vector<Observation>& observations);

  /// Of x·b alone (w = 0), or of a new observation.
  Prediction predict(const std::vector<double>& x, double w) const;
  double mean_s() const;

 private:
  struct At {  // one s of the grid
    double s, weight;
    std::vector<double> factor;  // lower Cholesky factor of the precision, row by row
    std::vector<double> mean;
  };
  std::size_t n_;
  std::vector<At> grid_;
};

}  // namespace pourwright::learn

// SPDX-License-Identifier: GPL-3.0-or-later
// Sums that do not lose their small terms.
#pragma once

#include <cmath>

namespace pourwright {

/// Compensated addition: A. Neumaier, Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen,
/// 1974.
class Sum {
 public:
  void add(double x) {
    const double t = sum_ + x;
    lost_ += std::abs(sum_) >= std::abs(x) ? (sum_ - t) + x : (x - t) + sum_;
    sum_ = t;
  }
  void add(const Sum& o) {
    add(o.sum_);
    lost_ += o.lost_;
  }
  double value() const { return sum_ + lost_; }

 private:
  double sum_ = 0, lost_ = 0;
};

}  // namespace pourwright

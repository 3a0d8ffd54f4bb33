// SPDX-License-Identifier: GPL-3.0-or-later
// The linear relaxation over patterns (P. C. Gilmore, R. E. Gomory, Oper. Res. 9 (1961) 849-859): how many
// bins would do if patterns could be used in fractions. Floating point steers it; what it proves, it proves
// in whole numbers.
#pragma once

#include "workshop/run/patterns.hpp"

#include <vector>

namespace pourwright::packing {

/// Every pattern is worth at most `best`, so worth·demand / best bins are needed at least.
struct Certificate {
  std::vector<std::int64_t> worth;  ///< by kind
  std::int64_t best = 1;
  int bins = 0;
};

class Relaxation {
 public:
  Relaxation(const Model& model, Patterns& patterns, Work& work);

  /// Moves to `demand`, from wherever it was, and improves until it is settled whether `allowed` bins may do.
  Certificate solve(const Counts& demand, int allowed);

  /// A pattern and how often the solution uses it.
  struct Share {
    const Pattern* pattern;
    double value;
  };
  std::vector<Share> shares() const;  ///< the largest first
  double total() const;               ///< patterns used, in fractions; an upper bound of the optimum

  /// Where the simplex method stands; the patterns found stay.
  struct State {
    std::vector<int> basis;       ///< by row: a column, or -1 - kind for what that kind is served too much
    std::vector<double> inverse;  ///< of the basis, row by row
    std::vector<double> value;    ///< of the basis
    std::vector<double> dual;     ///< by kind
  };
  const State& state() const { return s_; }
  void restore(const State& state) { s_ = state; }

 private:
  std::vector<double> direction(int id) const;
  double reduced_cost(int id) const;
  void pivot(std::size_t row, int id, const std::vector<double>& direction);
  bool primal_step(int id);
  void dual_phase();
  void refresh();
  void invert();
  std::vector<std::int64_t> whole_duals() const;
  int entering_surplus() const;
  Certificate certify(const Counts& demand, const std::vector<std::int64_t>& worth, std::int64_t best) const;
  template <class Use>
  void each_entry(int id, Use use) const;

  const Model& model_;
  Patterns& patterns_;
  Work& work_;
  std::size_t rows_;
  std::vector<Pattern> columns_;
  std::vector<double> demand_;
  State s_;
  int pivots_ = 0;
};

}  // namespace pourwright::packing

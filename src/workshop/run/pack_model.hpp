// SPDX-License-Identifier: GPL-3.0-or-later
// The packing problem in the form the solver works on, and its quick bounds and patterns.
#pragma once

#include <pourwright/run.hpp>

#include <algorithm>
#include <cstdint>
#include <vector>

namespace pourwright::packing {

using Counts = std::vector<int>;      ///< by kind: what is still to be packed
using Pattern = std::vector<Placed>;  ///< what one bin holds, by rising kind

/// Kinds by falling size, alike ones merged; resources that cannot bind are left out.
struct Model {
  Counts demand;
  Counts most;                                  ///< of one kind in one bin, by each limit alone
  std::vector<std::int64_t> capacity;           ///< of the resources that are left
  std::vector<std::vector<std::int64_t>> uses;  ///< [kind][resource]
  std::vector<std::vector<int>> origin;         ///< [kind] the kinds of the problem it stands for

  std::size_t kinds() const { return demand.size(); }
};
Expected<Model> make_model(const PackProblem& problem);
/// Bins of the model as bins of the problem.
std::vector<Pattern> translated(const Model& model, const PackProblem& problem,
                                const std::vector<Pattern>& bins);

/// The largest of the quick bounds. Per resource: the sum; L2 of Martello and Toth (1990); the dual-feasible
/// functions u(k) of Fekete and Schepers (2001). Per kind: its count over `most`.
int quick_lower_bound(const Model& model, const Counts& demand);

/// Pieces by falling size, each into the first bin that takes it, or into the fullest.
enum class Fit : std::uint8_t { first, best };
std::vector<Pattern> fit_decreasing(const Model& model, const Counts& demand, Fit fit);

/// Counts elementary steps; everything stops when they are used up.
class Work {
 public:
  explicit Work(std::int64_t limit) : limit_(limit), stop_(limit) {}
  void add(std::size_t steps) { done_ += static_cast<std::int64_t>(steps); }
  std::int64_t done() const { return done_; }
  bool exhausted() const { return done_ >= stop_; }
  /// Counts as exhausted after so many more steps, until the next call.
  void allow(std::int64_t steps) { stop_ = std::min(limit_, done_ + std::min(steps, limit_)); }
  void allow_all() { stop_ = limit_; }

 private:
  std::int64_t limit_, stop_, done_ = 0;
};

void take(Counts& demand, const Pattern& pattern);
int pieces_in(const Counts& demand);

}  // namespace pourwright::packing

// SPDX-License-Identifier: GPL-3.0-or-later
// What one bin can hold: the bounded integer knapsack, its best solution and all that are good enough.
#pragma once

#include "workshop/run/pack_model.hpp"

namespace pourwright::packing {

class Patterns {
 public:
  Patterns(const Model& model, Work& work) : model_(model), work_(work) {}

  struct Best {
    Pattern pattern;
    std::int64_t worth = 0;
    std::int64_t bound = 0;  ///< no pattern is worth more; above `worth` only when the search was cut short
  };
  /// The pattern worth most, of `demand` at most. Worths are not negative.
  Best best(const std::vector<std::int64_t>& worth, const Counts& demand);

  /// The same with at least one `seed` in it.
  Pattern fullest(const std::vector<std::int64_t>& worth, const Counts& demand, int seed);

  struct List {
    std::vector<Pattern> patterns;
    bool complete = true;
  };
  /// Patterns with at least one `seed` that are worth at least `least` and can take no further piece of
  /// `demand`; `limit` of them at most.
  List all(const std::vector<std::int64_t>& worth, const Counts& demand, int seed, std::int64_t least,
           std::size_t limit);

 private:
  friend class PatternSearch;
  friend class UnbeatenLists;
  void prepare(const std::vector<std::int64_t>& worth, const Counts& demand, int seed);
  void weigh(const Counts& demand);
  void tabulate();
  /// Extras stand in no table; with them it is a bound, and the search goes into depth.
  bool table_decides() const { return tabled_ && model_.extras.empty(); }
  /// Upper bound on what the positions from `position` on can add, extras left out.
  std::int64_t rest(std::size_t position, const std::vector<std::int64_t>& room) const;
  std::int64_t rest_of(std::size_t position, std::int64_t room) const;

  const Model& model_;
  Work& work_;
  std::vector<int> order_;           ///< kinds in the order in which they are decided
  std::vector<std::int64_t> worth_;  ///< by position, like the next two
  std::vector<int> bound_;
  std::vector<std::int64_t> weight_;                        ///< the resources rolled into one; a relaxation
  std::vector<std::int64_t> weight_before_, worth_before_;  ///< sums over the positions before
  std::vector<std::int64_t> scale_;                         ///< by resource: its part in `weight_`
  bool tabled_ = false;
  std::vector<std::int64_t> table_;  ///< [position][room] the exact rest, for one resource of few steps
};

}  // namespace pourwright::packing

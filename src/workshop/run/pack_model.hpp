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
  Counts most;                                         ///< of one kind in one bin, by each limit alone
  std::vector<std::int64_t> capacity;                  ///< of the resources that are left
  std::vector<std::vector<std::int64_t>> uses;         ///< [kind][resource]
  std::vector<std::vector<int>> origin;                ///< [kind] the kinds of the problem it stands for
  std::vector<std::vector<int>> calls = {};            ///< [kind] extras; empty: nothing calls for any
  std::vector<std::vector<std::int64_t>> extras = {};  ///< [extra][resource]

  std::size_t kinds() const { return demand.size(); }
  /// Of a resource, what the extras of a kind use in a bin that has none of them yet.
  std::int64_t own_extras(std::size_t kind, std::size_t resource) const;
};

/// What is left of a bin while pieces go in and out. An extra is paid with the first piece that calls for it
/// and given back with the last, so that taking pieces out never makes a bin too small for the others.
class Room {
 public:
  Room() = default;
  explicit Room(const Model& model) : left_(model.capacity), callers_(model.extras.size(), 0) {}

  const std::vector<std::int64_t>& left() const { return left_; }
  /// Pieces of a kind that still go in, of `most` at most.
  int takes(const Model& m, std::size_t kind, int most) const {
    const std::vector<std::int64_t>& uses = m.uses[kind];
    const bool pays = !m.calls.empty() && !m.calls[kind].empty();
    for (std::size_t r = 0; r < left_.size(); ++r) {
      const std::int64_t room = pays ? left_[r] - unpaid(m, kind, r) : left_[r];
      if (room < 0) return 0;
      if (uses[r] > 0) most = static_cast<int>(std::min<std::int64_t>(most, room / uses[r]));
    }
    return most;
  }
  /// Negative counts take pieces out again.
  void put(const Model& m, std::size_t kind, int count) {
    const std::vector<std::int64_t>& uses = m.uses[kind];
    for (std::size_t r = 0; r < left_.size(); ++r) left_[r] -= count * uses[r];
    if (m.calls.empty() || count == 0) return;
    for (const int e : m.calls[kind]) {
      int& callers = callers_[static_cast<std::size_t>(e)];
      const bool was = callers > 0;
      callers += count;
      if (was == (callers > 0)) continue;
      const std::vector<std::int64_t>& extra = m.extras[static_cast<std::size_t>(e)];
      for (std::size_t r = 0; r < left_.size(); ++r) left_[r] += was ? extra[r] : -extra[r];
    }
  }

 private:
  std::int64_t unpaid(const Model& m, std::size_t kind, std::size_t r) const {
    std::int64_t sum = 0;
    for (const int e : m.calls[kind])
      if (callers_[static_cast<std::size_t>(e)] == 0) sum += m.extras[static_cast<std::size_t>(e)][r];
    return sum;
  }

  std::vector<std::int64_t> left_;
  std::vector<int> callers_;  ///< by extra: pieces in the bin that call for it
};
Expected<Model> make_model(const PackProblem& problem);
/// Bins of the model as bins of the problem.
std::vector<Pattern> translated(const Model& model, const PackProblem& problem,
                                const std::vector<Pattern>& bins);

/// The largest of the quick bounds. Per resource: the sum; L2 of Martello and Toth (1990); the dual-feasible
/// functions u(k) of Fekete and Schepers (2001). Per kind: its count over `most`. Extras are left out of all
/// but the last, which can only make it smaller.
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

// SPDX-License-Identifier: GPL-3.0-or-later
// An independent check of packings and the fewest bins by trying everything.
#pragma once

#include <pourwright/run.hpp>

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

namespace pourwright::testing {

inline PackProblem one_by_one(std::int64_t capacity, std::vector<std::int64_t> sizes) {
  PackProblem p;
  p.counts.assign(sizes.size(), 1);
  p.resources = {{capacity, std::move(sizes)}};
  return p;
}

/// What is wrong with a packing; empty when nothing is.
inline std::string complaint(const PackProblem& problem, const Packing& packing) {
  std::vector<int> packed(problem.counts.size(), 0);
  for (const auto& bin : packing.bins) {
    if (bin.empty()) return "an empty bin";
    std::vector<std::int64_t> used(problem.resources.size(), 0);
    int last = -1;
    for (const Placed& p : bin) {
      if (p.kind <= last || p.kind >= static_cast<int>(packed.size()) || p.count < 1)
        return "a kind twice, unknown or none of it";
      last = p.kind;
      packed[static_cast<std::size_t>(p.kind)] += p.count;
      for (std::size_t r = 0; r < used.size(); ++r)
        used[r] += p.count * problem.resources[r].uses[static_cast<std::size_t>(p.kind)];
    }
    for (std::size_t r = 0; r < used.size(); ++r)
      if (used[r] > problem.resources[r].capacity) return "a bin holds too much";
  }
  if (packed != problem.counts) return "not every piece is packed once";
  if (packing.lower_bound > static_cast<int>(packing.bins.size())) return "fewer bins than the lower bound";
  return {};
}

/// Piece by piece into every open bin and into a new one.
class FewestBins {
 public:
  explicit FewestBins(const PackProblem& problem) : problem_(problem) {
    for (std::size_t k = 0; k < problem.counts.size(); ++k)
      for (int i = 0; i < problem.counts[k]; ++i) pieces_.push_back(k);
    best_ = static_cast<int>(pieces_.size());
  }
  int count() {
    place(0);
    return best_;
  }

 private:
  void place(std::size_t i) {
    if (static_cast<int>(bins_.size()) >= best_) return;
    if (i == pieces_.size()) {
      best_ = static_cast<int>(bins_.size());
      return;
    }
    for (std::size_t b = 0; b <= bins_.size(); ++b) {
      const bool is_new = b == bins_.size();
      if (is_new) bins_.emplace_back(problem_.resources.size(), 0);
      if (add(bins_[b], pieces_[i], 1)) place(i + 1);
      add(bins_[b], pieces_[i], -1);
      if (is_new) {
        bins_.pop_back();
        break;
      }
    }
  }
  bool add(std::vector<std::int64_t>& bin, std::size_t kind, int n) {
    bool fits = true;
    for (std::size_t r = 0; r < bin.size(); ++r) {
      bin[r] += n * problem_.resources[r].uses[kind];
      fits &= bin[r] <= problem_.resources[r].capacity;
    }
    return fits;
  }

  const PackProblem& problem_;
  std::vector<std::size_t> pieces_;
  std::vector<std::vector<std::int64_t>> bins_;
  int best_ = 0;
};

}  // namespace pourwright::testing

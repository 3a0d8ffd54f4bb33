// SPDX-License-Identifier: GPL-3.0-or-later
// An independent check of packings and the fewest bins by trying everything.
#pragma once

#include <pourwright/run.hpp>

#include <algorithm>
#include <cstdint>
#include <set>
#include <string>
#include <vector>

namespace pourwright::testing {

inline PackProblem one_by_one(std::int64_t capacity, std::vector<std::int64_t> sizes) {
  PackProblem p;
  p.counts.assign(sizes.size(), 1);
  p.resources = {{capacity, std::move(sizes)}};
  return p;
}

/// What the extras that these kinds call for use of a resource, each once.
inline std::int64_t extras_used(const PackProblem& problem, const PackResource& r,
                                const std::vector<std::size_t>& kinds) {
  std::set<int> called;
  for (const std::size_t k : kinds)
    if (!problem.calls.empty()) called.insert(problem.calls[k].begin(), problem.calls[k].end());
  std::int64_t sum = 0;
  for (const int e : called)
    if (static_cast<std::size_t>(e) < r.extras.size()) sum += r.extras[static_cast<std::size_t>(e)];
  return sum;
}

/// What is wrong with a packing; empty when nothing is.
inline std::string complaint(const PackProblem& problem, const Packing& packing) {
  std::vector<int> packed(problem.counts.size(), 0);
  for (const auto& bin : packing.bins) {
    if (bin.empty()) return "an empty bin";
    std::vector<std::int64_t> used(problem.resources.size(), 0);
    std::vector<std::size_t> kinds;
    int last = -1;
    for (const Placed& p : bin) {
      if (p.kind <= last || p.kind >= static_cast<int>(packed.size()) || p.count < 1)
        return "a kind twice, unknown or none of it";
      last = p.kind;
      packed[static_cast<std::size_t>(p.kind)] += p.count;
      kinds.push_back(static_cast<std::size_t>(p.kind));
      for (std::size_t r = 0; r < used.size(); ++r)
        used[r] += p.count * problem.resources[r].uses[static_cast<std::size_t>(p.kind)];
    }
    for (std::size_t r = 0; r < used.size(); ++r)
      if (used[r] + extras_used(problem, problem.resources[r], kinds) > problem.resources[r].capacity)
        return "a bin holds too much";
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
      if (is_new) bins_.emplace_back();
      bins_[b].push_back(pieces_[i]);
      if (fits(bins_[b])) place(i + 1);
      bins_[b].pop_back();
      if (is_new) {
        bins_.pop_back();
        break;
      }
    }
  }
  bool fits(const std::vector<std::size_t>& bin) const {
    for (const PackResource& r : problem_.resources) {
      std::int64_t used = extras_used(problem_, r, bin);
      for (const std::size_t k : bin) used += r.uses[k];
      if (used > r.capacity) return false;
    }
    return true;
  }

  const PackProblem& problem_;
  std::vector<std::size_t> pieces_;
  std::vector<std::vector<std::size_t>> bins_;
  int best_ = 0;
};

}  // namespace pourwright::testing

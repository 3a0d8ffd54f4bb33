// SPDX-License-Identifier: GPL-3.0-or-later
// Depth-first search over patterns, guided by the relaxation. The law: what it could not finish it does not
// call proven.
#include "workshop/run/tree_search.hpp"

#include <algorithm>

namespace pourwright::packing {
namespace {

__extension__ using Wide = __int128;

constexpr std::size_t most_children = 400;
constexpr int unlimited = 1 << 29;

class Tree {
 public:
  Tree(const Model& model, Patterns& patterns, Relaxation& relaxation, Work& work)
      : model_(model), patterns_(patterns), relaxation_(relaxation), work_(work) {}

  /// Follows the relaxation's advice but for `discrepancies` of the choices: the n-th best costs n of them.
  bool descend(const Counts& demand, int left, int discrepancies) {
    const int pieces = pieces_in(demand);
    if (pieces == 0) return true;
    if (work_.exhausted()) return give_up();
    if (left == 0 || quick_lower_bound(model_, demand) > left) return false;
    if (finish(demand, left)) return true;
    work_.add(static_cast<std::size_t>(pieces * left));
    const Certificate proof = relaxation_.solve(demand, left);
    if (proof.bins > left) return false;
    const std::vector<Pattern> children = ordered_children(demand, left, proof);
    const Relaxation::State state = relaxation_.state();
    for (std::size_t i = 0; i < children.size(); ++i) {
      const int cost = static_cast<int>(i);
      if (cost > discrepancies) return give_up();
      if (i > 0) relaxation_.restore(state);
      Counts rest = demand;
      take(rest, children[i]);
      bins_.push_back(children[i]);
      if (descend(rest, left - 1, discrepancies - cost)) return true;
      bins_.pop_back();
      if (work_.exhausted()) return give_up();
    }
    return false;
  }

  bool cut() const { return cut_; }
  std::vector<Pattern> take_bins() { return std::move(bins_); }

 private:
  bool give_up() {
    cut_ = true;
    return false;
  }

  bool finish(const Counts& demand, int left) {
    std::vector<Pattern> rest = fit_decreasing(model_, demand, Fit::best);
    if (static_cast<int>(rest.size()) > left) return false;
    bins_.insert(bins_.end(), rest.begin(), rest.end());
    return true;
  }

  /// As much of a pattern as is still to be packed.
  static Pattern clipped(const Pattern& pattern, const Counts& demand) {
    Pattern out;
    for (const Placed& p : pattern)
      if (const int n = std::min(p.count, demand[static_cast<std::size_t>(p.kind)]); n > 0)
        out.push_back({p.kind, n});
    return out;
  }

  static bool contains(const Pattern& big, const Pattern& small) {
    auto it = big.begin();
    for (const Placed& p : small) {
      while (it != big.end() && it->kind < p.kind) ++it;
      if (it == big.end() || it->kind != p.kind || it->count < p.count) return false;
    }
    return true;
  }

  std::vector<Pattern> ordered_children(const Counts& demand, int left, const Certificate& proof) {
    std::vector<std::pair<Pattern, double>> advice;
    for (const Relaxation::Share& share : relaxation_.shares())
      if (Pattern f = clipped(*share.pattern, demand); !f.empty())
        advice.emplace_back(std::move(f), share.value);
    // The largest piece of the pattern that is used most; without advice the largest of all.
    int seed = 0;
    while (demand[static_cast<std::size_t>(seed)] == 0) ++seed;
    if (!advice.empty()) seed = advice.front().first.front().kind;
    // A pattern worth less leaves more than the bins left can be proven to hold.
    Wide all = 0;
    for (std::size_t k = 0; k < demand.size(); ++k) all += Wide{proof.worth[k]} * demand[k];
    const Wide least = all - Wide{left - 1} * proof.best;
    auto list = patterns_.all(proof.worth, demand, seed, static_cast<std::int64_t>(std::max<Wide>(0, least)),
                              most_children);
    if (!list.complete) cut_ = true;
    return sorted(std::move(list.patterns), advice, proof);
  }

  std::vector<Pattern> sorted(std::vector<Pattern> patterns,
                              const std::vector<std::pair<Pattern, double>>& advice,
                              const Certificate& proof) {
    struct Ranked {
      double share;
      std::int64_t worth;
      std::size_t index;
    };
    std::vector<Ranked> ranked;
    for (std::size_t i = 0; i < patterns.size(); ++i) {
      Ranked r{0, 0, i};
      for (const auto& [pattern, value] : advice)
        if (value > r.share && contains(patterns[i], pattern)) r.share = value;
      for (const Placed& p : patterns[i]) r.worth += proof.worth[static_cast<std::size_t>(p.kind)] * p.count;
      ranked.push_back(r);
    }
    work_.add(patterns.size() * advice.size());
    std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
      return a.share != b.share ? a.share > b.share : a.worth > b.worth;
    });
    std::vector<Pattern> out;
    for (const Ranked& r : ranked) out.push_back(std::move(patterns[r.index]));
    return out;
  }

  const Model& model_;
  Patterns& patterns_;
  Relaxation& relaxation_;
  Work& work_;
  std::vector<Pattern> bins_;
  bool cut_ = false;
};

}  // namespace

TreeResult tree_search(const Model& model, Patterns& patterns, Relaxation& relaxation, int target,
                       Work& work) {
  for (int discrepancies = 0;; discrepancies = discrepancies == 0   ? 1
                                               : discrepancies > 64 ? unlimited
                                                                    : 2 * discrepancies) {
    Tree tree(model, patterns, relaxation, work);
    if (tree.descend(model.demand, target, discrepancies)) return {tree.take_bins(), false};
    if (!tree.cut()) return {std::nullopt, true};
    if (work.exhausted() || discrepancies == unlimited) return {std::nullopt, false};
  }
}

}  // namespace pourwright::packing

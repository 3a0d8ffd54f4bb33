// SPDX-License-Identifier: GPL-3.0-or-later
// Pieces into the fewest bins: a quick solution, lower bounds, then search until both meet. The law: `proven`
// only when a bound confirmed in whole numbers equals the bins used.
#include "workshop/run/reshuffle.hpp"
#include "workshop/run/tree_search.hpp"

#include <algorithm>

namespace pourwright {
namespace packing {
namespace {

constexpr std::size_t most_kinds_for_relaxation = 400;
constexpr std::size_t few_kinds = 40;
constexpr std::int64_t first_reshuffle = 30'000'000, second_reshuffle = 150'000'000, first_search = 2'000'000;

/// Bin after bin the fullest pattern around the largest piece left: MBS' of Fleszar and Hindi (2002).
std::vector<Pattern> fill_decreasing(const Model& model, Patterns& patterns) {
  std::vector<std::int64_t> size(model.kinds(), 1);
  for (std::size_t k = 0; k < model.kinds(); ++k)
    for (std::size_t r = 0; r < model.capacity.size(); ++r)
      size[k] = std::max(size[k], model.uses[k][r] * 1'000'000 / model.capacity[r]);
  std::vector<Pattern> bins;
  Counts demand = model.demand;
  for (std::size_t k = 0; k < model.kinds();) {
    if (demand[k] == 0) {
      ++k;
      continue;
    }
    bins.push_back(patterns.fullest(size, demand, static_cast<int>(k)));
    take(demand, bins.back());
  }
  return bins;
}

class Solver {
 public:
  Solver(const Model& model, Work& work) : model_(model), work_(work), patterns_(model, work) {}

  void run() {
    lower_ = quick_lower_bound(model_, model_.demand);
    offer(fit_decreasing(model_, model_.demand, Fit::first));
    offer(fit_decreasing(model_, model_.demand, Fit::best));
    if (done() || model_.kinds() > most_kinds_for_relaxation) return;
    offer(fill_decreasing(model_, patterns_));
    if (done()) return;
    // Of few kinds the relaxation is quick, and its advice better than luck.
    if (model_.kinds() > few_kinds) reshuffle(first_reshuffle);
    if (done()) return;
    Relaxation relaxation(model_, patterns_, work_);
    lower_ = std::max(lower_, relaxation.solve(model_.demand, lower_).bins);
    work_.allow(first_search);
    search(relaxation);
    work_.allow_all();
    reshuffle(second_reshuffle);
    search(relaxation);
  }

  bool done() const { return static_cast<int>(bins_.size()) <= lower_; }
  int lower() const { return lower_; }
  const std::vector<Pattern>& bins() const { return bins_; }

 private:
  void reshuffle(std::int64_t steps) {
    while (!done()) {
      auto fewer = one_bin_fewer(model_, bins_, ++seed_, steps, work_);
      if (!fewer) return;
      offer(std::move(*fewer));
    }
  }

  void search(Relaxation& relaxation) {
    while (!done() && !work_.exhausted()) {
      TreeResult r = tree_search(model_, patterns_, relaxation, lower_, work_);
      if (r.bins)
        offer(std::move(*r.bins));
      else if (r.none)
        ++lower_;
      else
        return;
    }
  }

  void offer(std::vector<Pattern> bins) {
    if (bins_.empty() || bins.size() < bins_.size()) bins_ = std::move(bins);
  }

  const Model& model_;
  Work& work_;
  Patterns patterns_;
  std::vector<Pattern> bins_;
  int lower_ = 0;
  std::uint64_t seed_ = 0;
};

}  // namespace
}  // namespace packing

Expected<Packing> pack(const PackProblem& problem, const PackOptions& options) {
  const auto model = packing::make_model(problem);
  if (!model) return model.error();
  packing::Work work(options.work_limit);
  packing::Solver solver(*model, work);
  solver.run();
  return Packing{packing::translated(*model, problem, solver.bins()), solver.lower(), work.done()};
}

}  // namespace pourwright

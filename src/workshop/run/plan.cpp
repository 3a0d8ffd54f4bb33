// SPDX-License-Identifier: GPL-3.0-or-later
// Batches, their order and their hours for an order of pieces, class by class of base colour.
#include "workshop/run/shop.hpp"

#include <algorithm>

namespace pourwright {
namespace running {
namespace {

struct Packed {
  std::vector<Class> classes;
  std::vector<std::vector<Pattern>> bins;  ///< by class
  int count = 0, lower_bound = 0;
};

Expected<Packed> pack_all(const RunOrder& order, const PackOptions& options) {
  auto classes = classes_of(order);
  if (!classes) return classes.error();
  Packed out{std::move(*classes), {}, 0, 0};
  for (const Class& c : out.classes) {
    const auto packing = pack(c.problem, options);
    if (!packing) return packing.error();
    out.count += static_cast<int>(packing->bins.size());
    out.lower_bound += packing->lower_bound;
    auto& bins = out.bins.emplace_back();
    for (const auto& bin : packing->bins) {
      Pattern& pattern = bins.emplace_back();
      for (const Placed& p : bin) pattern.push_back({c.pours[static_cast<std::size_t>(p.kind)], p.count});
    }
  }
  return out;
}

/// No plan with so many batches leaves less: every cup of a class is split off in at least as many batches as
/// the pieces that need it fill by themselves.
std::int64_t least_residue(const RunOrder& order, const Packed& packed, const PackOptions& options) {
  std::int64_t sum = packed.count * order.limits.bucket_residue.in_micrograms();
  if (order.limits.cup_residue == Mass{}) return sum;
  for (const Class& c : packed.classes)
    for (const std::string& cup : c.cups) {
      PackProblem part = c.problem;
      for (std::size_t k = 0; k < part.counts.size(); ++k) {
        const auto& cups = order.pours[static_cast<std::size_t>(c.pours[k])].cups;
        if (std::find(cups.begin(), cups.end(), cup) == cups.end()) part.counts[k] = 0;
      }
      if (const auto p = pack(part, options))
        sum += p->lower_bound * order.limits.cup_residue.in_micrograms();
    }
  return sum;
}

/// Nobody is done sooner, whatever shares a batch: the hands' own work, and after the last pour its setting,
/// of which nights and breaks may take a part.
std::int64_t soonest_finish(const RunOrder& order, const std::vector<RunBatch>& batches) {
  const RunLimits& l = order.limits;
  const auto count = static_cast<std::int64_t>(batches.size());
  std::int64_t pouring = count * (whole_seconds(l.weigh) + whole_seconds(l.mix)), taking_out = 0,
               setting = -1;
  // With as little residue, as many cups are split off; when cups leave none, there might be fewer.
  if (l.cup_residue > Mass{})
    for (const RunBatch& b : batches)
      pouring += whole_seconds(l.split) * static_cast<std::int64_t>(b.cups.size());
  for (const RunPour& p : order.pours) {
    if (p.count == 0) continue;
    pouring += p.count * whole_seconds(p.pour);
    std::int64_t own = 0;
    if (p.mold >= 0) {
      const RunMold& m = order.molds[static_cast<std::size_t>(p.mold)];
      const std::int64_t after = whole_seconds(m.handling) + whole_seconds(p.finishing);
      taking_out += p.count * after;
      own = whole_seconds(m.demold) + after;
    }
    setting = setting < 0 ? own : std::min(setting, own);
  }
  const std::int64_t before_last =
      pouring + (count - 1) * std::min(whole_seconds(l.rinse), whole_seconds(l.wash));
  const std::int64_t hands = before_last + whole_seconds(l.wash) + taking_out;
  return l.day > Duration() ? hands : std::max(hands, before_last + std::max<std::int64_t>(0, setting));
}

void add_hours(const RunOrder& order, RunPlan& plan) {
  Hands hands(order);
  for (std::size_t i = 0; i < plan.batches.size(); ++i)
    hands.pour(plan.batches[i], static_cast<int>(i), &plan.tasks);
  const std::int64_t finish = hands.finish(&plan.tasks);
  plan.finish = Duration(static_cast<double>(finish));
  const std::int64_t day = whole_seconds(order.limits.day);
  plan.days = day > 0 ? static_cast<int>(std::max<std::int64_t>(1, (finish + day - 1) / day)) : 1;
}

struct Gain {
  int batches = 0;
  Duration time;
  int days = 0;
  bool worth_saying(const RunPlan& plan) const {
    return batches > 0 ||
           (batches == 0 && (days > 0 || time.base() >= std::max(1.0, 0.1 * plan.finish.base())));
  }
};

Gain gain(const RunOrder& changed, const RunPlan& plan, const RunOptions& options) {
  RunOptions quick = options;
  quick.advise = false;
  quick.search = options.search / 10;
  quick.pack.work_limit = options.pack.work_limit / 10;
  const auto other = plan_run(changed, quick);
  if (!other) return {};
  return {static_cast<int>(plan.batches.size() - other->batches.size()), plan.finish - other->finish,
          plan.days - other->days};
}

/// One more copy, two, or as many as take one round off the pours of this mold. None when every pour has one.
std::vector<int> more_copies(const RunOrder& order, std::size_t mold, int wanted) {
  const int copies = order.molds[mold].copies, rounds = (wanted + copies - 1) / copies;
  if (wanted <= copies) return {};
  std::vector<int> out{1, 2};
  if (rounds > 1) out.push_back(std::max(1, (wanted + rounds - 2) / (rounds - 1) - copies));
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

void advise_on_molds(const RunOrder& order, const RunOptions& options, RunPlan& plan) {
  std::vector<int> wanted(order.molds.size(), 0);
  for (const RunPour& p : order.pours)
    if (p.mold >= 0) wanted[static_cast<std::size_t>(p.mold)] += p.count;
  for (std::size_t m = 0; m < order.molds.size() && m < 24; ++m)
    for (const int more : more_copies(order, m, wanted[m])) {
      RunOrder changed = order;
      changed.molds[m].copies += more;
      const Gain g = gain(changed, plan, options);
      if (!g.worth_saying(plan)) continue;
      plan.advice.push_back({"molds", static_cast<int>(m), more, g.batches, g.time, g.days});
      break;
    }
}

/// Each limit by itself twice as large.
void advise(const RunOrder& order, const RunOptions& options, RunPlan& plan) {
  const auto try_limit = [&](std::string_view name, auto change) {
    RunOrder changed = order;
    change(changed);
    const Gain g = gain(changed, plan, options);
    if (g.worth_saying(plan)) plan.advice.push_back({std::string(name), -1, 0, g.batches, g.time, g.days});
  };
  const RunLimits& l = order.limits;
  const bool scale_first = l.scale > Mass{} && l.scale < l.bucket;
  if (!scale_first)
    try_limit("bucket", [](RunOrder& o) { o.limits.bucket = o.limits.bucket * 2; });
  else
    try_limit("scale", [](RunOrder& o) { o.limits.scale = o.limits.scale * 2; });
  if (std::any_of(order.bases.begin(), order.bases.end(),
                  [](const RunBase& b) { return b.working_time > Duration(); }))
    try_limit("working time", [](RunOrder& o) {
      for (RunBase& b : o.bases) b.working_time = b.working_time * 2;
    });
  if (l.shelf > 0) try_limit("shelf", [](RunOrder& o) { o.limits.shelf *= 2; });
  if (l.never_lighter) try_limit("colour order", [](RunOrder& o) { o.limits.never_lighter = false; });
  advise_on_molds(order, options, plan);
}

}  // namespace
}  // namespace running

Expected<RunPlan> plan_run(const RunOrder& order, const RunOptions& options) {
  using namespace running;
  auto packed = pack_all(order, options.pack);
  if (!packed) return packed.error();
  Arranged arranged = arrange(order, packed->classes, packed->bins, options.search);
  RunPlan plan;
  plan.batches = std::move(arranged.batches);
  plan.lower_bound = packed->lower_bound;
  plan.batches_proven = packed->count == packed->lower_bound;
  plan.residue = Mass::micrograms(arranged.merit.residue);
  plan.waste_proven =
      plan.batches_proven &&
      (arranged.exhaustive || arranged.merit.residue <= least_residue(order, *packed, options.pack));
  if (takes_time(order)) add_hours(order, plan);
  plan.day_proven = plan.waste_proven &&
                    (arranged.exhaustive || arranged.merit.finish <= soonest_finish(order, plan.batches));
  if (options.advise && !plan.batches.empty()) advise(order, options, plan);
  return plan;
}

}  // namespace pourwright

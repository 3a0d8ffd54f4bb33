// SPDX-License-Identifier: GPL-3.0-or-later
// An independent check of plans, and the best plan by trying everything with a clock that ticks second by
// second.
#pragma once

#include <pourwright/run.hpp>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <string>
#include <tuple>
#include <vector>

namespace pourwright::testing {

inline std::int64_t seconds(Duration d) {
  return std::llround(d.base());
}

inline std::set<std::string> cups_of(const RunOrder& o, const std::vector<Placed>& pours) {
  std::set<std::string> out;
  for (const Placed& p : pours)
    for (const std::string& c : o.pours[static_cast<std::size_t>(p.kind)].cups) out.insert(c);
  return out;
}

/// What is wrong with one batch by itself; empty when nothing is. `reserved` cups of residue are kept free.
inline std::string batch_complaint(const RunOrder& o, const std::vector<Placed>& pours, int base) {
  Mass poured;
  std::int64_t pouring = 0;
  std::int64_t places = 0;
  std::vector<int> used(o.molds.size(), 0);
  for (const Placed& p : pours) {
    const RunPour& pour = o.pours[static_cast<std::size_t>(p.kind)];
    if (pour.base != base) return "two bases in a batch";
    poured += pour.mix * p.count;
    pouring += p.count * seconds(pour.pour);
    if (pour.mold < 0) continue;
    used[static_cast<std::size_t>(pour.mold)] += p.count;
    places += p.count * o.molds[static_cast<std::size_t>(pour.mold)].place;
  }
  std::vector<Placed> all_of_base;
  for (std::size_t i = 0; i < o.pours.size(); ++i)
    if (o.pours[i].base == base && o.pours[i].count > 0) all_of_base.push_back({static_cast<int>(i), 1});
  const auto reserved = static_cast<std::int64_t>(cups_of(o, all_of_base).size());
  const Mass in_bucket = poured + o.limits.bucket_residue + o.limits.cup_residue * reserved;
  if (in_bucket > o.limits.bucket) return "more than the bucket holds";
  if (o.limits.scale > Mass{} && in_bucket > o.limits.scale) return "more than the scale takes";
  const Duration working = o.bases[static_cast<std::size_t>(base)].working_time;
  if (working > Duration() &&
      seconds(o.limits.mix) + reserved * seconds(o.limits.split) + pouring > seconds(working))
    return "longer than the mix stays workable";
  for (std::size_t m = 0; m < used.size(); ++m)
    if (used[m] > o.molds[m].copies) return "more copies than there are";
  if (o.limits.shelf > 0 && places > o.limits.shelf) return "no place on the shelf";
  return {};
}

/// Follows the tasks with a stopwatch: one thing at a time, within the day, molds free and pieces hard when
/// touched.
inline std::string hours_complaint(const RunOrder& o, const RunPlan& plan) {
  const std::int64_t day = seconds(o.limits.day);
  std::int64_t now = 0;
  std::vector<int> free;
  for (const RunMold& m : o.molds) free.push_back(m.copies);
  std::int64_t places = o.limits.shelf > 0 ? o.limits.shelf : std::int64_t{1} << 60;
  std::vector<std::int64_t> poured_at(plan.batches.size(), -1), cleaned_for(plan.batches.size(), -1);
  std::vector<std::vector<int>> setting(plan.batches.size(), std::vector<int>(o.pours.size(), 0));
  int last_poured = -1;
  for (const RunTask& t : plan.tasks) {
    const std::int64_t from = seconds(t.from), to = seconds(t.to);
    if (from < now || to < from) return "two things at a time";
    if (day > 0 && from / day != (to - (to > from ? 1 : 0)) / day) return "work through the night";
    now = to;
    const auto b = static_cast<std::size_t>(t.batch);
    if (t.work == RunWork::weigh && t.batch != last_poured + 1) return "batches out of order";
    if (t.work == RunWork::pour) {
      if (t.batch > 0 && cleaned_for[b - 1] < 0 && seconds(o.limits.rinse) > 0 && seconds(o.limits.wash) > 0)
        return "a dirty bucket";
      for (const Placed& p : plan.batches[b].pours) {
        const RunPour& pour = o.pours[static_cast<std::size_t>(p.kind)];
        if (pour.mold < 0) continue;
        if ((free[static_cast<std::size_t>(pour.mold)] -= p.count) < 0) return "a mold that is not free";
        if ((places -= p.count * o.molds[static_cast<std::size_t>(pour.mold)].place) < 0)
          return "a place that is not free";
        setting[b][static_cast<std::size_t>(p.kind)] = p.count;
      }
      poured_at[b] = to;
      last_poured = t.batch;
    }
    if (t.work == RunWork::clean) {
      const bool lighter = b + 1 >= plan.batches.size() || plan.batches[b + 1].base < plan.batches[b].base;
      if (to - from != seconds(lighter ? o.limits.wash : o.limits.rinse)) return "the wrong cleaning";
      cleaned_for[b] = to;
    }
    if (t.work == RunWork::demold) {
      const RunPour& pour = o.pours[static_cast<std::size_t>(t.pour)];
      const RunMold& mold = o.molds[static_cast<std::size_t>(pour.mold)];
      const bool night = day > 0 && poured_at[b] > 0 && (poured_at[b] - 1) / day < from / day;
      if (poured_at[b] < 0 || (!night && from < poured_at[b] + seconds(mold.demold)))
        return "out before it is hard";
      if (to - from != t.count * seconds(mold.handling)) return "handled in the wrong time";
      if ((setting[b][static_cast<std::size_t>(t.pour)] -= t.count) < 0) return "a piece taken out twice";
      free[static_cast<std::size_t>(pour.mold)] += t.count;
      places += t.count * mold.place;
    }
  }
  for (const auto& row : setting)
    if (std::any_of(row.begin(), row.end(), [](int n) { return n != 0; })) return "a piece left in its mold";
  if (now != seconds(plan.finish)) return "the wrong end";
  return {};
}

inline std::string complaint(const RunOrder& o, const RunPlan& plan) {
  std::vector<int> made(o.pours.size(), 0);
  Mass residue;
  for (const RunBatch& b : plan.batches) {
    if (b.pours.empty()) return "an empty batch";
    if (std::string bad = batch_complaint(o, b.pours, b.base); !bad.empty()) return bad;
    Mass poured;
    for (const Placed& p : b.pours) {
      made[static_cast<std::size_t>(p.kind)] += p.count;
      poured += o.pours[static_cast<std::size_t>(p.kind)].mix * p.count;
    }
    const auto cups = cups_of(o, b.pours);
    if (poured != b.poured || cups != std::set<std::string>(b.cups.begin(), b.cups.end()))
      return "wrong sums";
    if (b.residue != o.limits.bucket_residue + o.limits.cup_residue * static_cast<std::int64_t>(cups.size()))
      return "wrong residue";
    residue += b.residue;
  }
  for (std::size_t i = 0; i < made.size(); ++i)
    if (made[i] != o.pours[i].count) return "not what was ordered";
  if (residue != plan.residue) return "residue does not add up";
  if (plan.lower_bound > static_cast<int>(plan.batches.size())) return "fewer than the lower bound";
  if (o.limits.never_lighter)
    for (std::size_t i = 1; i < plan.batches.size(); ++i)
      if (plan.batches[i].base < plan.batches[i - 1].base) return "back to a lighter base";
  return plan.tasks.empty() ? std::string() : hours_complaint(o, plan);
}

/// (batches, residue, finish, spread): less is better, in this order.
using Goodness = std::tuple<int, std::int64_t, std::int64_t, int>;

/// Second by second: the hands finish what they do; else they clean, pour the next batch, take something out,
/// or wait.
inline std::int64_t ticking_finish(const RunOrder& o, const std::vector<std::vector<Placed>>& batches,
                                   const std::vector<int>& bases) {
  const std::int64_t day = seconds(o.limits.day);
  struct Piece {
    std::int64_t ready;
    int mold;
    std::size_t made;
  };
  std::vector<Piece> setting;
  std::size_t next = 0, made = 0;
  std::int64_t t = 0;
  bool dirty = false;
  const auto left_today = [&] { return day > 0 ? day - t % day : std::int64_t{1} << 40; };
  const auto used = [&](int mold) {
    return std::count_if(setting.begin(), setting.end(), [&](const Piece& p) { return p.mold == mold; });
  };
  const auto spend = [&](std::int64_t n) {
    for (std::int64_t i = 0; i < n; ++i)
      if (++t; day > 0 && t % day == 0)
        for (Piece& p : setting) p.ready = std::min(p.ready, t);
  };
  while (true) {
    if (dirty) {
      const bool lighter = next == batches.size() || bases[next] < bases[next - 1];
      spend(seconds(lighter ? o.limits.wash : o.limits.rinse));
      dirty = false;
      continue;
    }
    std::vector<char> short_of(o.molds.size(), 0);
    bool may_pour = next < batches.size(), crowded = false;
    if (may_pour) {
      std::int64_t places = 0;
      for (const Piece& p : setting) places += o.molds[static_cast<std::size_t>(p.mold)].place;
      for (std::size_t m = 0; m < o.molds.size(); ++m) {
        int need = 0;
        for (const Placed& p : batches[next])
          if (o.pours[static_cast<std::size_t>(p.kind)].mold == static_cast<int>(m)) need += p.count;
        places += need * o.molds[m].place;
        short_of[m] = need + used(static_cast<int>(m)) > o.molds[m].copies;
        if (short_of[m] != 0) may_pour = false;
      }
      crowded = o.limits.shelf > 0 && places > o.limits.shelf;
      if (crowded) may_pour = false;
    }
    if (may_pour) {
      std::int64_t n = seconds(o.limits.weigh) + seconds(o.limits.mix) +
                       seconds(o.limits.split) * static_cast<std::int64_t>(cups_of(o, batches[next]).size());
      for (const Placed& p : batches[next])
        n += p.count * seconds(o.pours[static_cast<std::size_t>(p.kind)].pour);
      if (n + std::max(seconds(o.limits.rinse), seconds(o.limits.wash)) > left_today()) {
        spend(left_today());
        continue;
      }
      spend(n);
      for (const Placed& p : batches[next])
        for (int i = 0; i < p.count; ++i)
          if (const int mold = o.pours[static_cast<std::size_t>(p.kind)].mold; mold >= 0)
            setting.push_back({t + seconds(o.molds[static_cast<std::size_t>(mold)].demold), mold, made++});
      dirty = true;
      ++next;
      continue;
    }
    if (setting.empty()) return t;
    auto best = setting.end();
    const auto rank = [&](const Piece& p) {
      return std::tuple(!(crowded || short_of[static_cast<std::size_t>(p.mold)] != 0), p.ready, p.made);
    };
    for (auto it = setting.begin(); it != setting.end(); ++it)
      if (it->ready <= t && (best == setting.end() || rank(*it) < rank(*best))) best = it;
    if (best == setting.end()) {
      spend(1);
      continue;
    }
    const std::int64_t n = seconds(o.molds[static_cast<std::size_t>(best->mold)].handling);
    const Piece out = *best;
    if (n > left_today()) spend(left_today());
    setting.erase(best);
    spend(n);
    (void)out;
  }
}

class BestPlan {
 public:
  explicit BestPlan(const RunOrder& o) : o_(o) {
    for (std::size_t i = 0; i < o.pours.size(); ++i)
      for (int n = 0; n < o.pours[i].count; ++n) pieces_.push_back(static_cast<int>(i));
  }
  Goodness best() {
    place(0);
    return best_;
  }

 private:
  void place(std::size_t i) {
    if (i == pieces_.size()) {
      orders();
      return;
    }
    for (std::size_t b = 0; b <= groups_.size(); ++b) {
      const bool is_new = b == groups_.size();
      if (is_new) groups_.emplace_back();
      groups_[b].push_back(pieces_[i]);
      if (batch_complaint(o_, placed(groups_[b]), o_.pours[static_cast<std::size_t>(pieces_[i])].base)
              .empty())
        place(i + 1);
      groups_[b].pop_back();
      if (is_new) {
        groups_.pop_back();
        break;
      }
    }
  }
  static std::vector<Placed> placed(const std::vector<int>& kinds) {
    std::vector<Placed> out;
    for (const int k : kinds) {
      const auto it = std::find_if(out.begin(), out.end(), [&](const Placed& p) { return p.kind == k; });
      if (it == out.end())
        out.push_back({k, 1});
      else
        ++it->count;
    }
    return out;
  }
  void orders() {
    const int count = static_cast<int>(groups_.size());
    if (count > std::get<0>(best_)) return;
    std::int64_t residue = 0;
    int spread = 0;
    std::vector<std::size_t> sequence(groups_.size());
    std::iota(sequence.begin(), sequence.end(), std::size_t{0});
    for (const auto& g : groups_) {
      residue += (o_.limits.bucket_residue +
                  o_.limits.cup_residue * static_cast<std::int64_t>(cups_of(o_, placed(g)).size()))
                     .in_micrograms();
      std::set<std::string> names;
      for (const int k : g)
        if (!o_.pours[static_cast<std::size_t>(k)].order.empty())
          names.insert(o_.pours[static_cast<std::size_t>(k)].order);
      spread += static_cast<int>(names.size());
    }
    do {
      std::vector<std::vector<Placed>> batches;
      std::vector<int> bases;
      for (const std::size_t i : sequence) {
        batches.push_back(placed(groups_[i]));
        bases.push_back(o_.pours[static_cast<std::size_t>(groups_[i][0])].base);
      }
      if (o_.limits.never_lighter && !std::is_sorted(bases.begin(), bases.end())) continue;
      best_ = std::min(best_, Goodness{count, residue, ticking_finish(o_, batches, bases), spread});
    } while (std::next_permutation(sequence.begin(), sequence.end()));
  }

  const RunOrder& o_;
  std::vector<int> pieces_;
  std::vector<std::vector<int>> groups_;
  Goodness best_{1 << 20, 0, 0, 0};
};

}  // namespace pourwright::testing

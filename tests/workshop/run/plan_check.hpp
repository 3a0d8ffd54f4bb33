// SPDX-License-Identifier: GPL-3.0-or-later
// An independent check of plans, and the best plan by trying everything with a clock that ticks second by
// second and goes on at night.
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

/// Seconds of a day in which nobody rests: a mark for each.
inline std::vector<char> working_seconds(const RunLimits& l) {
  std::vector<char> out(static_cast<std::size_t>(seconds(l.day)), 1);
  for (const RunBreak& b : l.breaks)
    for (std::int64_t t = seconds(b.from); t < seconds(b.to); ++t) out[static_cast<std::size_t>(t)] = 0;
  return out;
}

/// Seconds from t on until the hands rest, all days alike.
inline std::int64_t until_rest(const RunLimits& l, std::int64_t t) {
  const std::int64_t day = seconds(l.day);
  if (day == 0) return std::int64_t{1} << 40;
  const std::vector<char> working = working_seconds(l);
  std::int64_t n = 0;
  for (auto s = static_cast<std::size_t>(t % day); s < working.size() && working[s] != 0; ++s) ++n;
  return n;
}

inline std::int64_t longest_stretch(const RunLimits& l) {
  std::int64_t best = seconds(l.day) == 0 ? std::int64_t{1} << 40 : 0;
  for (std::int64_t t = 0; t < seconds(l.day); ++t) best = std::max(best, until_rest(l, t));
  return best;
}

/// By the clock on the wall, which goes on at night, `t` being on the given day.
inline std::int64_t on_the_wall(const RunLimits& l, std::int64_t t, std::int64_t day_of) {
  const std::int64_t day = seconds(l.day);
  return day == 0 ? t : t + day_of / day * seconds(l.night);
}

/// What is wrong with one batch by itself; empty when nothing is.
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
  const auto cups = static_cast<std::int64_t>(cups_of(o, pours).size());
  const Mass in_bucket = poured + o.limits.bucket_residue + o.limits.cup_residue * cups;
  if (in_bucket > o.limits.bucket) return "more than the bucket holds";
  if (o.limits.scale > Mass{} && in_bucket > o.limits.scale) return "more than the scale takes";
  const Duration working = o.bases[static_cast<std::size_t>(base)].working_time;
  const std::int64_t in_work = seconds(o.limits.mix) + cups * seconds(o.limits.split) + pouring;
  const std::int64_t kept = seconds(working) * o.limits.reserve.in_millionths() / 1'000'000;
  if (working > Duration() && in_work > seconds(working) - kept) return "longer than the mix stays workable";
  if (seconds(o.limits.weigh) + in_work + std::max(seconds(o.limits.rinse), seconds(o.limits.wash)) >
      longest_stretch(o.limits))
    return "longer than the hands work at a stretch";
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
  std::vector<std::vector<int>> out(plan.batches.size(), std::vector<int>(o.pours.size(), 0)), done = out;
  std::vector<std::vector<std::int64_t>> finishing(plan.batches.size(),
                                                   std::vector<std::int64_t>(o.pours.size(), 0));
  std::vector<std::vector<int>> setting(plan.batches.size(), std::vector<int>(o.pours.size(), 0));
  int last_poured = -1;
  for (const RunTask& t : plan.tasks) {
    const std::int64_t from = seconds(t.from), to = seconds(t.to);
    if (from < now || to < from) return "two things at a time";
    if (day > 0 && to - from > until_rest(o.limits, from)) return "work through a break or the night";
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
      poured_at[b] = on_the_wall(o.limits, to, from);
      last_poured = t.batch;
    }
    if (t.work == RunWork::clean) {
      const bool lighter = b + 1 >= plan.batches.size() || plan.batches[b + 1].base < plan.batches[b].base;
      if (to - from != seconds(lighter ? o.limits.wash : o.limits.rinse)) return "the wrong cleaning";
      cleaned_for[b] = to;
    }
    if (t.work == RunWork::finish) {
      const auto p = static_cast<std::size_t>(t.pour);
      finishing[b][p] += to - from;
      done[b][p] += t.count;
      if (finishing[b][p] > seconds(o.pours[p].finishing) * out[b][p]) return "finished in its mold";
      if (finishing[b][p] / seconds(o.pours[p].finishing) != done[b][p]) return "a piece finished too soon";
    }
    if (t.work == RunWork::demold) {
      const RunPour& pour = o.pours[static_cast<std::size_t>(t.pour)];
      const RunMold& mold = o.molds[static_cast<std::size_t>(pour.mold)];
      if (poured_at[b] < 0 || on_the_wall(o.limits, from, from) < poured_at[b] + seconds(mold.demold))
        return "out before it is hard";
      out[b][static_cast<std::size_t>(t.pour)] += t.count;
      if (to - from != t.count * seconds(mold.handling)) return "handled in the wrong time";
      if ((setting[b][static_cast<std::size_t>(t.pour)] -= t.count) < 0) return "a piece taken out twice";
      free[static_cast<std::size_t>(pour.mold)] += t.count;
      places += t.count * mold.place;
    }
  }
  for (std::size_t b = 0; b < out.size(); ++b)
    for (std::size_t p = 0; p < o.pours.size(); ++p) {
      const std::int64_t each = seconds(o.pours[p].finishing);
      if (finishing[b][p] != each * out[b][p] || (each > 0 && done[b][p] != out[b][p]))
        return "a piece not finished, or in the wrong time";
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

/// (batches, residue, finish, steps back to a lighter base, spread): less is better, in this order.
using Goodness = std::tuple<int, std::int64_t, std::int64_t, int, int>;

inline int steps_back(const std::vector<int>& bases) {
  int back = 0;
  for (std::size_t i = 1; i < bases.size(); ++i) back += bases[i] < bases[i - 1] ? 1 : 0;
  return back;
}

/// Second by second: the hands end what they do; else they clean, pour the next batch, take something out,
/// finish for a second, or wait for one.
inline std::int64_t ticking_finish(const RunOrder& o, const std::vector<std::vector<Placed>>& batches,
                                   const std::vector<int>& bases) {
  struct Piece {
    std::int64_t ready, known;  // by the clock on the wall; by that of the hands
    int mold, pour;
    std::size_t made;
  };
  std::vector<Piece> setting;
  std::vector<std::int64_t> finishing;
  std::size_t next = 0, made = 0;
  std::int64_t t = 0;
  bool dirty = false;
  const auto used = [&](int mold) {
    return std::count_if(setting.begin(), setting.end(), [&](const Piece& p) { return p.mold == mold; });
  };
  while (true) {
    if (dirty) {
      const bool lighter = next == batches.size() || bases[next] < bases[next - 1];
      t += seconds(lighter ? o.limits.wash : o.limits.rinse);
      dirty = false;
      continue;
    }
    if (next == batches.size() && setting.empty() && finishing.empty()) return t;
    if (until_rest(o.limits, t) == 0) {
      ++t;
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
      if (n + std::max(seconds(o.limits.rinse), seconds(o.limits.wash)) <= until_rest(o.limits, t)) {
        const std::int64_t poured = on_the_wall(o.limits, t + n, t);
        for (const Placed& p : batches[next])
          for (int i = 0; i < p.count; ++i)
            if (const int mold = o.pours[static_cast<std::size_t>(p.kind)].mold; mold >= 0) {
              const std::int64_t ready = poured + seconds(o.molds[static_cast<std::size_t>(mold)].demold);
              // What got hard in one night is all alike.
              std::int64_t known = t + n;
              while (on_the_wall(o.limits, known, known) < ready) ++known;
              setting.push_back({ready, known, mold, p.kind, made++});
            }
        t += n;
        dirty = true;
        ++next;
        continue;
      }
    }
    auto best = setting.end();
    const auto rank = [&](const Piece& p) {
      return std::tuple(!(crowded || short_of[static_cast<std::size_t>(p.mold)] != 0), p.known, p.made);
    };
    for (auto it = setting.begin(); it != setting.end(); ++it)
      if (it->ready <= on_the_wall(o.limits, t, t) && (best == setting.end() || rank(*it) < rank(*best)))
        best = it;
    if (best != setting.end()) {
      const std::int64_t n = seconds(o.molds[static_cast<std::size_t>(best->mold)].handling);
      if (n <= until_rest(o.limits, t)) {
        t += n;
        const std::int64_t finish = seconds(o.pours[static_cast<std::size_t>(best->pour)].finishing);
        if (finish > 0) finishing.push_back(finish);
        setting.erase(best);
        continue;
      }
    }
    ++t;
    if (!finishing.empty() && --finishing.front() == 0) finishing.erase(finishing.begin());
  }
}

/// (batches, residue) of the best way to fill batches, by trying every one; hours are not looked at.
class BestFilling {
 public:
  explicit BestFilling(const RunOrder& o) : o_(o) {
    for (std::size_t i = 0; i < o.pours.size(); ++i)
      for (int n = 0; n < o.pours[i].count; ++n) pieces_.push_back(static_cast<int>(i));
  }
  std::pair<int, std::int64_t> best() {
    place(0);
    return best_;
  }

 private:
  void place(std::size_t i) {
    if (static_cast<int>(batches_.size()) > best_.first) return;
    if (i == pieces_.size()) {
      std::int64_t residue = 0;
      for (const auto& b : batches_)
        residue += (o_.limits.bucket_residue +
                    o_.limits.cup_residue * static_cast<std::int64_t>(cups_of(o_, b).size()))
                       .in_micrograms();
      best_ = std::min(best_, std::pair(static_cast<int>(batches_.size()), residue));
      return;
    }
    const int kind = pieces_[i];
    for (std::size_t b = 0; b <= batches_.size(); ++b) {
      const bool is_new = b == batches_.size();
      if (is_new) batches_.emplace_back();
      auto& batch = batches_[b];
      if (!batch.empty() && batch.back().kind == kind)
        ++batch.back().count;
      else
        batch.push_back({kind, 1});
      if (batch_complaint(o_, batch, o_.pours[static_cast<std::size_t>(kind)].base).empty()) place(i + 1);
      if (--batches_[b].back().count == 0) batches_[b].pop_back();
      if (is_new) {
        batches_.pop_back();
        break;
      }
    }
  }

  const RunOrder& o_;
  std::vector<int> pieces_;
  std::vector<std::vector<Placed>> batches_;
  std::pair<int, std::int64_t> best_{1 << 20, 0};
};

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
      best_ = std::min(
          best_, Goodness{count, residue, ticking_finish(o_, batches, bases), steps_back(bases), spread});
    } while (std::next_permutation(sequence.begin(), sequence.end()));
  }

  const RunOrder& o_;
  std::vector<int> pieces_;
  std::vector<std::vector<int>> groups_;
  Goodness best_{1 << 20, 0, 0, 0, 0};
};

}  // namespace pourwright::testing

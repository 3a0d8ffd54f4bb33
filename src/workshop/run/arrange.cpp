// SPDX-License-Identifier: GPL-3.0-or-later
// Which pieces share a batch, as far as the number of batches leaves it open, and in which order batches are
// poured.
#include "workshop/run/shop.hpp"

#include <algorithm>
#include <functional>
#include <optional>

namespace pourwright::running {
namespace {

constexpr std::size_t most_arranged = 200;  // batches; more are poured from light to dark as they come

bool fits(const PackProblem& problem, const std::vector<int>& counts) {
  std::vector<int> called;
  for (std::size_t k = 0; k < counts.size(); ++k)
    if (counts[k] > 0) called.insert(called.end(), problem.calls[k].begin(), problem.calls[k].end());
  std::sort(called.begin(), called.end());
  called.erase(std::unique(called.begin(), called.end()), called.end());
  for (const PackResource& r : problem.resources) {
    std::int64_t used = 0;
    for (std::size_t k = 0; k < counts.size(); ++k) used += counts[k] * r.uses[k];
    if (!r.extras.empty())
      for (const int e : called) used += r.extras[static_cast<std::size_t>(e)];
    if (used > r.capacity) return false;
  }
  return true;
}

Pattern named(const Class& c, const std::vector<int>& counts) {
  Pattern out;
  for (std::size_t k = 0; k < counts.size(); ++k)
    if (counts[k] > 0) out.push_back({c.pours[k], counts[k]});
  return out;
}

/// Every way to pack a class into so many bins, each once. The first kind left lies in the next bin; bins
/// that begin alike come in falling order.
class EveryPacking {
 public:
  using Bins = std::vector<std::vector<int>>;
  EveryPacking(const Class& c, std::size_t bins, std::size_t limit)
      : problem_(c.problem), bins_(bins), limit_(limit) {
    next_bin(problem_.counts);
  }
  const std::vector<Bins>& all() const { return found_; }
  bool complete() const { return steps_ <= 50 * limit_ && found_.size() <= limit_; }

 private:
  void next_bin(const std::vector<int>& left) {
    if (!complete()) return;
    std::size_t first = 0;
    while (first < left.size() && left[first] == 0) ++first;
    if (first == left.size()) {
      if (open_.size() == bins_) found_.push_back(open_);
      return;
    }
    if (open_.size() == bins_) return;
    std::vector<int> bin(left.size(), 0);
    fill(left, bin, first, first);
  }

  void fill(const std::vector<int>& left, std::vector<int>& bin, std::size_t kind, std::size_t first) {
    if (++steps_ > 50 * limit_) return;
    if (kind == left.size()) {
      if (!open_.empty() && starts_alike(open_.back(), bin, first) && open_.back() < bin) return;
      std::vector<int> rest = left;
      for (std::size_t k = 0; k < rest.size(); ++k) rest[k] -= bin[k];
      open_.push_back(bin);
      next_bin(rest);
      open_.pop_back();
      return;
    }
    for (int n = left[kind]; n >= (kind == first ? 1 : 0); --n) {
      bin[kind] = n;
      if (fits(problem_, bin)) fill(left, bin, kind + 1, first);
    }
    bin[kind] = 0;
  }

  static bool starts_alike(const std::vector<int>& a, const std::vector<int>& b, std::size_t first) {
    for (std::size_t k = 0; k < first; ++k)
      if (a[k] > 0) return false;
    return a[first] > 0 && b[first] > 0;
  }

  const PackProblem& problem_;
  std::size_t bins_, limit_;
  Bins open_;
  std::vector<Bins> found_;
  std::size_t steps_ = 0;
};

/// All orders of a set of batches, the best kept; turns back where the hands alone would take too long.
class EveryOrder {
 public:
  EveryOrder(const RunOrder& order, int limit) : order_(order), left_(limit) {}

  void offer(std::vector<RunBatch> batches) {
    Merit merit{residue_of(order_, batches), 0, 0, spread_of(order_, batches)};
    if (best_ && merit.residue > best_->merit.residue) return;
    batches_ = std::move(batches);
    merit_ = merit;
    sequence_.clear();
    used_.assign(batches_.size(), 0);
    std::int64_t rest = 0;
    for (const RunBatch& b : batches_) rest += busy(order_, b);
    descend(Hands(order_), rest);
  }
  bool complete() const { return left_ > 0; }
  const std::optional<Arranged>& best() const { return best_; }

 private:
  void descend(const Hands& hands, std::int64_t rest) {
    if (--left_ <= 0) return;
    if (best_ && best_->merit.residue == merit_.residue && hands.now() + rest > best_->merit.finish) return;
    if (sequence_.size() == batches_.size()) {
      Hands end = hands;
      Arranged a{{}, {merit_.residue, end.finish(), steps_back(), merit_.spread}, true};
      if (best_ && best_->merit <= a.merit) return;
      for (const std::size_t i : sequence_) a.batches.push_back(batches_[i]);
      best_ = std::move(a);
      return;
    }
    for (std::size_t i = 0; i < batches_.size(); ++i) {
      if (used_[i] != 0 || twin_before(i)) continue;
      if (order_.limits.never_lighter && lighter_left(i)) continue;
      Hands next = hands;
      next.pour(batches_[i], static_cast<int>(sequence_.size()));
      used_[i] = 1;
      sequence_.push_back(i);
      descend(next, rest - busy(order_, batches_[i]));
      sequence_.pop_back();
      used_[i] = 0;
    }
  }

  int steps_back() const {
    int back = 0;
    for (std::size_t k = 1; k < sequence_.size(); ++k)
      back += batches_[sequence_[k]].base < batches_[sequence_[k - 1]].base ? 1 : 0;
    return back;
  }

  bool twin_before(std::size_t i) const {
    for (std::size_t j = 0; j < i; ++j)
      if (used_[j] == 0 && batches_[j].base == batches_[i].base && batches_[j].pours == batches_[i].pours)
        return true;
    return false;
  }
  bool lighter_left(std::size_t i) const {
    for (std::size_t j = 0; j < batches_.size(); ++j)
      if (used_[j] == 0 && batches_[j].base < batches_[i].base) return true;
    return false;
  }

  const RunOrder& order_;
  int left_;
  std::vector<RunBatch> batches_;
  std::vector<std::size_t> sequence_;
  std::vector<char> used_;
  Merit merit_;
  std::optional<Arranged> best_;
};

/// Nothing when there is too much to compare.
std::optional<Arranged> exhaustively(const RunOrder& order, const std::vector<Class>& classes,
                                     const std::vector<std::vector<Pattern>>& bins, int limit) {
  std::vector<EveryPacking> packings;
  std::size_t combinations = 1;
  for (std::size_t c = 0; c < classes.size(); ++c) {
    packings.emplace_back(classes[c], bins[c].size(), static_cast<std::size_t>(limit) / 10 + 1);
    combinations *= packings.back().all().size();
    if (!packings.back().complete() || combinations > static_cast<std::size_t>(limit)) return std::nullopt;
  }
  EveryOrder orders(order, limit);
  const std::function<void(std::size_t, std::vector<RunBatch>&)> combine =
      [&](std::size_t c, std::vector<RunBatch>& chosen) {
        if (!orders.complete()) return;
        if (c == classes.size()) {
          orders.offer(chosen);
          return;
        }
        for (const auto& packing : packings[c].all()) {
          const std::size_t before = chosen.size();
          for (const auto& bin : packing)
            chosen.push_back(batch_of(order, classes[c].base, named(classes[c], bin)));
          combine(c + 1, chosen);
          chosen.resize(before);
        }
      };
  std::vector<RunBatch> chosen;
  combine(0, chosen);
  if (!orders.complete()) return std::nullopt;
  return orders.best();
}

/// Batches in the order in which each could be done soonest.
std::vector<RunBatch> greedy_order(const RunOrder& order, std::vector<RunBatch> batches) {
  std::vector<RunBatch> out;
  Hands hands(order);
  while (!batches.empty()) {
    std::size_t best = 0;
    std::int64_t soonest = 0;
    for (std::size_t i = 0; i < batches.size(); ++i) {
      if (order.limits.never_lighter && batches[i].base != batches.front().base) break;
      Hands next = hands;
      next.pour(batches[i], static_cast<int>(out.size()));
      // What the hands gain by a short batch they lose later: count the waiting alone.
      const std::int64_t waited = next.now() - busy(order, batches[i]);
      if (i == 0 || waited < soonest) best = i, soonest = waited;
    }
    hands.pour(batches[best], static_cast<int>(out.size()));
    out.push_back(std::move(batches[best]));
    batches.erase(batches.begin() + static_cast<std::ptrdiff_t>(best));
  }
  return out;
}

/// First improvement over all neighbours, until there is none or the plans are used up.
class Improver {
 public:
  Improver(const RunOrder& order, const std::vector<Class>& classes, std::vector<RunBatch> start, int limit)
      : order_(order), left_(limit) {
    class_of_base_.assign(order.bases.size(), nullptr);
    for (const Class& c : classes) class_of_base_[static_cast<std::size_t>(c.base)] = &c;
    best_.batches = std::move(start);
    best_.merit = merit(best_.batches);
  }

  Arranged run() {
    while (left_ > 0 && (reorder() || exchange())) {
    }
    return std::move(best_);
  }

 private:
  Merit merit(const std::vector<RunBatch>& batches) {
    --left_;
    return merit_of(order_, batches);
  }

  bool accept(std::vector<RunBatch> candidate) {
    const Merit m = merit(candidate);
    if (m >= best_.merit) return false;
    best_.batches = std::move(candidate);
    best_.merit = m;
    return true;
  }

  bool in_order(const std::vector<RunBatch>& batches) const {
    return !order_.limits.never_lighter ||
           std::is_sorted(batches.begin(), batches.end(),
                          [](const RunBatch& a, const RunBatch& b) { return a.base < b.base; });
  }

  /// One batch to another place, or two exchanged.
  bool reorder() {
    const auto n = static_cast<std::ptrdiff_t>(best_.batches.size());
    bool any = false;
    for (std::ptrdiff_t i = 0; i < n && left_ > 0; ++i)
      for (std::ptrdiff_t j = 0; j < n && left_ > 0; ++j) {
        if (i == j) continue;
        std::vector<RunBatch> moved = best_.batches;
        RunBatch batch = std::move(moved[static_cast<std::size_t>(i)]);
        moved.erase(moved.begin() + i);
        moved.insert(moved.begin() + j, std::move(batch));
        if (in_order(moved) && accept(std::move(moved))) any = true;
        if (j <= i) continue;
        std::vector<RunBatch> swapped = best_.batches;
        std::swap(swapped[static_cast<std::size_t>(i)], swapped[static_cast<std::size_t>(j)]);
        if (in_order(swapped) && accept(std::move(swapped))) any = true;
      }
    return any;
  }

  /// One piece to another batch of its base, or two pieces exchanged.
  bool exchange() {
    const std::size_t n = best_.batches.size();
    for (std::size_t a = 0; a < n; ++a)
      for (std::size_t b = 0; b < n; ++b) {
        if (a == b || best_.batches[a].base != best_.batches[b].base) continue;
        const Pattern from = best_.batches[a].pours, to = best_.batches[b].pours;
        for (const Placed& p : from) {
          if (left_ <= 0) return false;
          if (move(a, b, p.kind, -1)) return true;
          if (a < b)
            for (const Placed& q : to)
              if (q.kind != p.kind && move(a, b, p.kind, q.kind)) return true;
        }
      }
    return false;
  }

  bool move(std::size_t a, std::size_t b, int there, int back) {
    std::vector<RunBatch> next = best_.batches;
    Pattern from = changed(changed(next[a].pours, there, -1), back, 1),
            to = changed(changed(next[b].pours, there, 1), back, -1);
    if (from.empty() || to.empty() || !holds(next[a].base, from) || !holds(next[b].base, to)) return false;
    next[a] = batch_of(order_, next[a].base, from);
    next[b] = batch_of(order_, next[b].base, to);
    return left_ > 0 && accept(std::move(next));
  }

  static Pattern changed(Pattern f, int kind, int by) {
    if (kind < 0) return f;
    const auto at = std::find_if(f.begin(), f.end(), [&](const Placed& p) { return p.kind >= kind; });
    if (at == f.end() || at->kind != kind)
      f.insert(at, {kind, by});
    else if ((at->count += by) == 0)
      f.erase(at);
    return f;
  }

  bool holds(int base, const Pattern& pattern) const {
    const Class& c = *class_of_base_[static_cast<std::size_t>(base)];
    std::vector<int> counts(c.pours.size(), 0);
    for (const Placed& p : pattern)
      counts[static_cast<std::size_t>(std::lower_bound(c.pours.begin(), c.pours.end(), p.kind) -
                                      c.pours.begin())] = p.count;
    return fits(c.problem, counts);
  }

  const RunOrder& order_;
  int left_;
  std::vector<const Class*> class_of_base_;
  Arranged best_;
};

}  // namespace

Arranged arrange(const RunOrder& order, const std::vector<Class>& classes,
                 const std::vector<std::vector<Pattern>>& bins, int limit) {
  std::vector<RunBatch> batches;
  for (std::size_t c = 0; c < classes.size(); ++c)
    for (const Pattern& bin : bins[c]) batches.push_back(batch_of(order, classes[c].base, bin));
  const auto as_they_come = [&] { return Arranged{batches, merit_of(order, batches), batches.size() < 2}; };
  const bool nothing_to_gain =
      !takes_time(order) && spread_of(order, batches) == 0 &&
      std::all_of(classes.begin(), classes.end(), [](const Class& c) { return c.cups.empty(); });
  if (nothing_to_gain || batches.size() < 2 || batches.size() > most_arranged || limit <= 0)
    return as_they_come();
  if (auto best = exhaustively(order, classes, bins, limit)) return std::move(*best);
  return Improver(order, classes, greedy_order(order, batches), limit).run();
}

}  // namespace pourwright::running

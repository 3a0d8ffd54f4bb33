// SPDX-License-Identifier: GPL-3.0-or-later
// What one bin can hold: kind after kind, the states that can be reached, and a bound on what the kinds left
// could add. The law: a result is called complete only when no state was cut away that could have been
// better.
#include "workshop/run/patterns.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright::packing {
namespace {

constexpr std::int64_t largest_table = 1'000'000;
constexpr std::size_t most_nodes = 300'000;  // of one search without a table
constexpr std::size_t steps_per_node = 60;
constexpr std::size_t steps_per_state = 20;
constexpr std::int64_t one = 1 << 20;  // a whole resource in the weights of several

__extension__ using Wide = __int128;

}  // namespace

/// The knapsack of one resource whose steps are too many for a table: after each position the list of what
/// can be reached and is not beaten in both weight and worth (G. L. Nemhauser, Z. Ullmann, Manage. Sci. 15
/// (1969) 494-505), less what cannot catch up with the best any more.
class UnbeatenLists {
 public:
  explicit UnbeatenLists(const Patterns& of) : f_(of), capacity_(of.model_.capacity[0]) {}

  Patterns::Best best() {
    greedy();
    std::vector<Reached> list{{0, 0, -1}};
    std::size_t i = 0;
    for (; i < f_.order_.size() && !list.empty() && steps_ < most_steps; ++i) {
      std::vector<Reached> more = list;
      for (int n = 0; n < f_.bound_[i]; ++n) {
        more = one_more(more, i);
        if (more.empty()) break;
        list = merged(list, more);
      }
      forget_the_hopeless(list, i + 1);
    }
    Patterns::Best out;
    out.worth = out.bound = best_.worth;
    for (const Reached& r : list) out.bound = std::max(out.bound, r.worth + rest(i, r.weight));
    std::vector<int> count(f_.order_.size(), 0);
    for (std::ptrdiff_t p = best_.path; p >= 0; p = path_[static_cast<std::size_t>(p)].before)
      ++count[path_[static_cast<std::size_t>(p)].position];
    for (std::size_t k = 0; k < count.size(); ++k)
      if (count[k] > 0) out.pattern.push_back({f_.order_[k], count[k]});
    std::sort(out.pattern.begin(), out.pattern.end(),
              [](const Placed& a, const Placed& b) { return a.kind < b.kind; });
    return out;
  }
  std::size_t steps() const { return steps_; }

 private:
  static constexpr std::size_t most_steps = 4'000'000;
  struct Reached {
    std::int64_t weight, worth;
    std::ptrdiff_t path;
  };
  struct Step {
    std::size_t position;
    std::ptrdiff_t before;
  };

  std::int64_t rest(std::size_t position, std::int64_t weight) const {
    return f_.rest_of(position, capacity_ - weight);
  }

  Reached extended(const Reached& r, std::size_t position) {
    path_.push_back({position, r.path});
    return {r.weight + f_.weight_[position], r.worth + f_.worth_[position],
            static_cast<std::ptrdiff_t>(path_.size()) - 1};
  }

  void greedy() {
    Reached r{0, 0, -1};
    for (std::size_t i = 0; i < f_.order_.size(); ++i)
      for (int n = 0; n < f_.bound_[i] && r.weight + f_.weight_[i] <= capacity_; ++n) r = extended(r, i);
    best_ = r;
  }

  std::vector<Reached> one_more(const std::vector<Reached>& list, std::size_t position) {
    std::vector<Reached> out;
    for (const Reached& r : list)
      if (r.weight + f_.weight_[position] <= capacity_) {
        out.push_back(extended(r, position));
        if (out.back().worth > best_.worth) best_ = out.back();
      }
    steps_ += list.size();
    return out;
  }

  static std::vector<Reached> merged(const std::vector<Reached>& a, const std::vector<Reached>& b) {
    std::vector<Reached> out;
    out.reserve(a.size() + b.size());
    auto i = a.begin(), j = b.begin();
    while (i != a.end() || j != b.end()) {
      const bool first =
          j == b.end() ||
          (i != a.end() && (i->weight < j->weight || (i->weight == j->weight && i->worth >= j->worth)));
      const Reached& r = first ? *i++ : *j++;
      if (out.empty() || r.worth > out.back().worth) out.push_back(r);
    }
    return out;
  }

  void forget_the_hopeless(std::vector<Reached>& list, std::size_t position) {
    std::erase_if(list, [&](const Reached& r) { return r.worth + rest(position, r.weight) <= best_.worth; });
    steps_ += list.size();
  }

  const Patterns& f_;
  std::int64_t capacity_;
  Reached best_{0, 0, -1};
  std::vector<Step> path_;
  std::size_t steps_ = 0;
};

/// Depth first over the positions, most pieces first.
class PatternSearch {
 public:
  explicit PatternSearch(Patterns& of) : f_(of), room_(of.model_) { count_.assign(f_.order_.size(), 0); }

  Patterns::Best best() {
    if (f_.table_decides()) return from_table();
    found_.bound = f_.rest(0, room_.left());
    climb(0, 0);
    if (!cut_) found_.bound = found_.worth;
    f_.work_.add(nodes_ * steps_per_node);
    return std::move(found_);
  }

  /// The first position holds the seed; one of it goes in before anything else is decided.
  Pattern around_seed() {
    change(0, 1);
    --f_.bound_[0];
    found_.worth = -1;
    if (f_.table_decides()) {
      f_.tabulate();
      from_table();
    } else {
      climb(0, 0);
    }
    count_.assign(count_.size(), 0);
    for (const Placed& p : found_.pattern)
      count_[static_cast<std::size_t>(std::find(f_.order_.begin(), f_.order_.end(), p.kind) -
                                      f_.order_.begin())] = p.count;
    ++count_[0];
    return pattern();
  }

  Patterns::List all(std::int64_t least, std::size_t limit) {
    limit_ = limit;
    // The seed stands first and is in every pattern.
    for (int n = allowed(0); n >= 1; --n) {
      change(0, n);
      count_[0] = n;
      collect(1, n * f_.worth_[0], least);
      change(0, -n);
    }
    f_.work_.add(nodes_ * steps_per_node);
    list_.complete = !cut_;
    return std::move(list_);
  }

 private:
  Patterns::Best from_table() {
    found_.worth = found_.bound = f_.rest(0, room_.left());
    for (std::size_t i = 0; i < count_.size(); ++i) {
      const std::int64_t wanted = f_.rest(i, room_.left());
      int n = allowed(i);
      change(i, n);
      for (; n > 0 && n * f_.worth_[i] + f_.rest(i + 1, room_.left()) < wanted; --n) change(i, -1);
      count_[i] = n;
    }
    found_.pattern = pattern();
    return found_;
  }

  int allowed(std::size_t position) const {
    return room_.takes(f_.model_, static_cast<std::size_t>(f_.order_[position]), f_.bound_[position]);
  }

  void change(std::size_t position, int n) {
    room_.put(f_.model_, static_cast<std::size_t>(f_.order_[position]), n);
  }

  Pattern pattern() const {
    Pattern out;
    for (std::size_t i = 0; i < count_.size(); ++i)
      if (count_[i] > 0) out.push_back({f_.order_[i], count_[i]});
    std::sort(out.begin(), out.end(), [](const Placed& a, const Placed& b) { return a.kind < b.kind; });
    return out;
  }

  void climb(std::size_t position, std::int64_t worth) {
    if (++nodes_ > most_nodes) cut_ = true;
    if (worth > found_.worth) {
      found_.worth = worth;
      for (std::size_t i = position; i < count_.size(); ++i) count_[i] = 0;
      found_.pattern = pattern();
    }
    for (; position < count_.size() && !cut_; ++position) {
      if (worth + f_.rest(position, room_.left()) <= found_.worth) return;
      ++nodes_;
      const int most = allowed(position);
      for (int n = most; n >= 1 && !cut_; --n) {
        change(position, n);
        count_[position] = n;
        climb(position + 1, worth + n * f_.worth_[position]);
        change(position, -n);
      }
      count_[position] = 0;
    }
  }

  void collect(std::size_t position, std::int64_t worth, std::int64_t least) {
    if (cut_ || ++nodes_ > most_nodes) {
      cut_ = true;
      return;
    }
    if (worth + f_.rest(position, room_.left()) < least) return;
    if (position == count_.size()) {
      if (!is_full()) return;
      if (list_.patterns.size() == limit_)
        cut_ = true;
      else
        list_.patterns.push_back(pattern());
      return;
    }
    for (int n = allowed(position); n >= 0; --n) {
      change(position, n);
      count_[position] = n;
      collect(position + 1, worth + n * f_.worth_[position], least);
      change(position, -n);
    }
    count_[position] = 0;
  }

  bool is_full() const {
    for (std::size_t i = 0; i < count_.size(); ++i)
      if (count_[i] < f_.bound_[i] && allowed(i) > 0) return false;
    return true;
  }

  Patterns& f_;
  Room room_;
  std::vector<int> count_;
  Patterns::Best found_;
  Patterns::List list_;
  std::size_t limit_ = 0, nodes_ = 0;
  bool cut_ = false;
};

// One resource weighs by itself. Several are added up, each in proportion to how scarce it is over the whole
// demand; whatever fits them singly fits the sum, so bounds on the sum hold.
void Patterns::weigh(const Counts& demand) {
  const std::size_t resources = model_.capacity.size();
  scale_.assign(resources, 1);
  if (resources < 2) return;
  std::vector<double> need(resources, 0);
  for (std::size_t r = 0; r < resources; ++r)
    for (std::size_t k = 0; k < model_.kinds(); ++k)
      need[r] += static_cast<double>(model_.uses[k][r]) * demand[k] / static_cast<double>(model_.capacity[r]);
  const double scarcest = std::max(1e-9, *std::max_element(need.begin(), need.end()));
  for (std::size_t r = 0; r < resources; ++r) {
    const double share = need[r] / scarcest;
    scale_[r] = static_cast<std::int64_t>(share * share * share * 16 + 0.5);
  }
}

void Patterns::prepare(const std::vector<std::int64_t>& worth, const Counts& demand, int seed) {
  weigh(demand);
  order_.clear();
  for (std::size_t k = 0; k < model_.kinds(); ++k)
    if (demand[k] > 0) order_.push_back(static_cast<int>(k));
  const auto weight_of = [&](int kind) {
    const auto& uses = model_.uses[static_cast<std::size_t>(kind)];
    if (uses.size() == 1) return uses[0];
    Wide sum = 0;
    for (std::size_t r = 0; r < uses.size(); ++r) sum += Wide{scale_[r]} * uses[r] * one / model_.capacity[r];
    return static_cast<std::int64_t>(sum);
  };
  std::int64_t cells = static_cast<std::int64_t>(order_.size());
  tabled_ = model_.capacity.size() == 1 && cells * (model_.capacity[0] + 1) <= largest_table;
  if (!table_decides()) {
    std::stable_sort(order_.begin(), order_.end(), [&](int a, int b) {
      return Wide{worth[static_cast<std::size_t>(a)]} * weight_of(b) >
             Wide{worth[static_cast<std::size_t>(b)]} * weight_of(a);
    });
  }
  if (seed >= 0) {
    const auto it = std::find(order_.begin(), order_.end(), seed);
    std::rotate(order_.begin(), it, it + 1);
  }
  worth_.clear();
  bound_.clear();
  weight_.clear();
  for (const int kind : order_) {
    const auto k = static_cast<std::size_t>(kind);
    worth_.push_back(worth[k]);
    bound_.push_back(std::min(demand[k], model_.most[k]));
    weight_.push_back(weight_of(kind));
  }
  if (tabled_) {
    tabulate();
    return;
  }
  weight_before_.assign(1, 0);
  worth_before_.assign(1, 0);
  for (std::size_t i = 0; i < order_.size(); ++i) {
    weight_before_.push_back(weight_before_.back() + weight_[i] * bound_[i]);
    worth_before_.push_back(worth_before_.back() + worth_[i] * bound_[i]);
  }
}

void Patterns::tabulate() {
  const auto width = static_cast<std::size_t>(model_.capacity[0]) + 1;
  const std::size_t n = order_.size();
  table_.assign((n + 1) * width, 0);
  for (std::size_t i = n; i-- > 0;) {
    const std::int64_t* after = &table_[(i + 1) * width];
    std::int64_t* here = &table_[i * width];
    const auto size = static_cast<std::size_t>(weight_[i]);
    std::copy(after, after + width, here);
    for (int c = 1; c <= bound_[i]; ++c) {
      const std::size_t from = size * static_cast<std::size_t>(c);
      if (from >= width) break;
      const std::int64_t gain = worth_[i] * c;
      for (std::size_t room = from; room < width; ++room)
        here[room] = std::max(here[room], after[room - from] + gain);
      work_.add(width - from);
    }
    work_.add(width / 2);
  }
}

// Dantzig's bound: by falling worth per weight, the last piece in part. The seed stands out of order at
// position 0, where nobody asks.
std::int64_t Patterns::rest(std::size_t position, const std::vector<std::int64_t>& room) const {
  if (tabled_) {
    const auto width = static_cast<std::size_t>(model_.capacity[0]) + 1;
    return table_[position * width + static_cast<std::size_t>(room[0])];
  }
  if (room.size() == 1) return rest_of(position, room[0]);
  std::int64_t left = 0;
  for (std::size_t r = 0; r < room.size(); ++r)
    left += static_cast<std::int64_t>((Wide{scale_[r]} * room[r] * one + model_.capacity[r] - 1) /
                                      model_.capacity[r]);
  return rest_of(position, left);
}

std::int64_t Patterns::rest_of(std::size_t position, std::int64_t room) const {
  const auto from = weight_before_.begin() + static_cast<std::ptrdiff_t>(position);
  const auto split = std::upper_bound(from + 1, weight_before_.end(), *from + room);
  const auto whole =
      static_cast<std::size_t>(split - weight_before_.begin()) - 1;  // positions below go in whole
  const std::int64_t sum = worth_before_[whole] - worth_before_[position];
  if (split == weight_before_.end()) return sum;
  return sum + static_cast<std::int64_t>(Wide{*from + room - weight_before_[whole]} * worth_[whole] /
                                         weight_[whole]);
}

Patterns::Best Patterns::best(const std::vector<std::int64_t>& worth, const Counts& demand) {
  prepare(worth, demand, -1);
  if (!tabled_ && model_.capacity.size() == 1 && model_.extras.empty()) {
    UnbeatenLists lists(*this);
    Best out = lists.best();
    work_.add(lists.steps() * steps_per_state);
    return out;
  }
  return PatternSearch(*this).best();
}

Pattern Patterns::fullest(const std::vector<std::int64_t>& worth, const Counts& demand, int seed) {
  prepare(worth, demand, seed);
  return PatternSearch(*this).around_seed();
}

Patterns::List Patterns::all(const std::vector<std::int64_t>& worth, const Counts& demand, int seed,
                             std::int64_t least, std::size_t limit) {
  prepare(worth, demand, seed);
  return PatternSearch(*this).all(least, limit);
}

}  // namespace pourwright::packing

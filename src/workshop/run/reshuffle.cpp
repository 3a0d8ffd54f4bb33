// SPDX-License-Identifier: GPL-3.0-or-later
// One bin fewer by large neighbourhood search: a few bins emptied and filled anew, until nothing lies beside
// them.
#include "workshop/run/reshuffle.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright::packing {
namespace {

constexpr int most_trials = 1500;  // of one bin's pattern
constexpr std::size_t steps_per_trial = 8, steps_per_round = 400;

/// Splitmix64 (S. Vigna): the same numbers on every machine.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::size_t below(std::size_t n) {
    std::uint64_t z = state_ += 0x9e3779b97f4a7c15;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
    z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
    return static_cast<std::size_t>((z ^ (z >> 31)) % n);
  }

 private:
  std::uint64_t state_;
};

using Pieces = std::vector<int>;  ///< their kinds

struct Bin {
  Pieces pieces;
  std::int64_t load = 0;
};

class Reshuffle {
 public:
  Reshuffle(const Model& model, const std::vector<Pattern>& bins, std::uint64_t seed, Work& work)
      : m_(model), work_(work), dice_(seed) {
    // What a piece weighs against others: the sum of its shares.
    for (std::size_t k = 0; k < m_.kinds(); ++k) {
      std::int64_t sum = 1;
      for (std::size_t r = 0; r < m_.capacity.size(); ++r)
        sum += m_.capacity.size() == 1 ? m_.uses[k][r] : m_.uses[k][r] * 1'000'000 / m_.capacity[r];
      size_.push_back(sum);
    }
    full_ = m_.capacity.size() == 1 ? m_.capacity[0] : 0;
    for (const Pattern& f : bins) {
      Bin& b = bins_.emplace_back();
      for (const Placed& p : f) b.pieces.insert(b.pieces.end(), static_cast<std::size_t>(p.count), p.kind);
      b.load = load_of(b.pieces);
    }
    const auto least = std::min_element(bins_.begin(), bins_.end(),
                                        [](const Bin& a, const Bin& b) { return a.load < b.load; });
    beside_ = std::move(least->pieces);
    bins_.erase(least);
  }

  std::optional<std::vector<Pattern>> run(std::int64_t steps) {
    const std::int64_t end = work_.done() + steps;
    while (!beside_.empty()) {
      if (work_.done() >= end || work_.exhausted() || bins_.empty()) return std::nullopt;
      round();
    }
    std::vector<Pattern> out;
    for (Bin& b : bins_) {
      if (b.pieces.empty()) continue;
      std::sort(b.pieces.begin(), b.pieces.end());
      Pattern& f = out.emplace_back();
      for (const int k : b.pieces) {
        if (f.empty() || f.back().kind != k) f.push_back({k, 0});
        ++f.back().count;
      }
    }
    return out;
  }

 private:
  std::int64_t load_of(const Pieces& pieces) const {
    std::int64_t sum = 0;
    for (const int k : pieces) sum += size_[static_cast<std::size_t>(k)];
    return sum;
  }

  /// Less lies beside; or as much, but the room left is in fewer bins.
  void round() {
    const std::size_t n = std::min(bins_.size(), 1 + dice_.below(4));
    std::vector<std::size_t> chosen;
    while (chosen.size() < n) {
      const std::size_t b = dice_.below(bins_.size());
      if (std::find(chosen.begin(), chosen.end(), b) == chosen.end()) chosen.push_back(b);
    }
    pool_ = beside_;
    std::int64_t squares = 0;
    for (const std::size_t b : chosen) {
      pool_.insert(pool_.end(), bins_[b].pieces.begin(), bins_[b].pieces.end());
      squares += square(bins_[b].load);
    }
    // Kinds stand by falling size.
    std::sort(pool_.begin(), pool_.end());
    std::vector<Bin> fresh;
    std::int64_t fresh_squares = 0;
    for (std::size_t i = 0; i < n; ++i) {
      fresh.push_back(fill());
      fresh_squares += square(fresh.back().load);
    }
    work_.add(steps_per_round + pool_.size() * 4);
    const std::int64_t before = load_of(beside_), after = load_of(pool_);
    const bool better = after < before || (after == before && fresh_squares >= squares);
    const std::int64_t tolerance = full_ > 0 ? full_ / 200 : 5'000;
    if (!better && !(after - before < tolerance && dice_.below(50) == 0)) return;
    beside_ = pool_;
    for (std::size_t i = 0; i < n; ++i) bins_[chosen[i]] = std::move(fresh[i]);
  }

  static std::int64_t square(std::int64_t load) { return (load >> 12) * (load >> 12); }

  /// The fullest bin around a piece drawn from the pool, which it leaves.
  Bin fill() {
    Bin out;
    if (pool_.empty()) return out;
    room_ = Room(m_);
    left_.assign(m_.most.begin(), m_.most.end());
    taken_.clear();
    best_.clear();
    best_load_ = -1;
    nodes_ = 0;
    const std::size_t seed = dice_.below(pool_.size());
    const int kind = pool_[seed];
    pool_.erase(pool_.begin() + static_cast<std::ptrdiff_t>(seed));
    put(kind, 1);
    rest_.assign(pool_.size() + 1, 0);
    for (std::size_t i = pool_.size(); i-- > 0;)
      rest_[i] = rest_[i + 1] + size_[static_cast<std::size_t>(pool_[i])];
    climb(0, size_[static_cast<std::size_t>(kind)]);
    work_.add(static_cast<std::size_t>(nodes_) * steps_per_trial);
    out.pieces.push_back(kind);
    for (std::size_t i = best_.size(); i-- > 0;) {
      out.pieces.push_back(pool_[best_[i]]);
      pool_.erase(pool_.begin() + static_cast<std::ptrdiff_t>(best_[i]));
    }
    out.load = load_of(out.pieces);
    return out;
  }

  bool fits(int kind) const {
    const auto k = static_cast<std::size_t>(kind);
    return left_[k] > 0 && room_.takes(m_, k, 1) > 0;
  }
  void put(int kind, int sign) {
    const auto k = static_cast<std::size_t>(kind);
    left_[k] -= sign;
    room_.put(m_, k, sign);
  }

  bool climb(std::size_t from, std::int64_t load) {
    if (load > best_load_) {
      best_load_ = load;
      best_ = taken_;
      if (room_.left().size() == 1 && room_.left()[0] == 0) return true;
    }
    for (std::size_t i = from; i < pool_.size(); ++i) {
      if (load + rest_[i] <= best_load_) return false;
      if (i > from && pool_[i] == pool_[i - 1]) continue;
      if (++nodes_ > most_trials) return true;
      if (!fits(pool_[i])) continue;
      put(pool_[i], 1);
      taken_.push_back(i);
      const bool done = climb(i + 1, load + size_[static_cast<std::size_t>(pool_[i])]);
      taken_.pop_back();
      put(pool_[i], -1);
      if (done) return true;
    }
    return false;
  }

  const Model& m_;
  Work& work_;
  std::vector<std::int64_t> size_;
  std::int64_t full_ = 0;
  std::vector<Bin> bins_;
  Pieces beside_, pool_;
  Dice dice_;
  // Of the bin that is being filled.
  Room room_;
  std::vector<std::int64_t> rest_;
  std::vector<int> left_;
  std::vector<std::size_t> taken_, best_;
  std::int64_t best_load_ = 0;
  int nodes_ = 0;
};

}  // namespace

std::optional<std::vector<Pattern>> one_bin_fewer(const Model& model, const std::vector<Pattern>& bins,
                                                  std::uint64_t seed, std::int64_t steps, Work& work) {
  return Reshuffle(model, bins, seed, work).run(steps);
}

}  // namespace pourwright::packing

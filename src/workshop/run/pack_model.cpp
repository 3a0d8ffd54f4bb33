// SPDX-License-Identifier: GPL-3.0-or-later
// The packing problem in whole numbers for the solver, and the bounds that need no search.
#include "workshop/run/pack_model.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <optional>

#include <fmt/format.h>

namespace pourwright::packing {
namespace {

__extension__ using Wide = __int128;

constexpr std::int64_t largest = 10'000'000'000'000;
constexpr std::int64_t most_pieces = 20'000;
constexpr int most_extras = 20'000;

std::int64_t extra_of(const PackResource& r, int extra) {
  const auto e = static_cast<std::size_t>(extra);
  return e < r.extras.size() ? r.extras[e] : 0;
}

/// Rising, each once.
std::vector<int> calls_of(const PackProblem& problem, std::size_t kind) {
  if (problem.calls.empty()) return {};
  std::vector<int> out = problem.calls[kind];
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

std::optional<Problem> check(const PackProblem& problem, const PackResource& r) {
  if (r.uses.size() != problem.counts.size())
    return fail(Code::internal, "a resource does not say what every kind uses");
  if (r.capacity < 0 || r.capacity > largest)
    return fail(Code::bad_number, "a capacity is negative or beyond all measure", "check its unit");
  for (const std::int64_t e : r.extras)
    if (e < 0 || e > largest)
      return fail(Code::bad_number, "an extra uses less than nothing or beyond all measure",
                  "check its size");
  for (std::size_t k = 0; k < r.uses.size(); ++k) {
    if (r.uses[k] < 0) return fail(Code::bad_number, "a piece uses less than nothing", "check its size");
    std::int64_t all = r.uses[k];
    for (const int e : calls_of(problem, k)) {
      if (e < 0 || e >= most_extras) return fail(Code::internal, "a kind calls for what there is not");
      all = std::min(largest + 1, all + extra_of(r, e));
    }
    if (all > r.capacity && problem.counts[k] > 0)
      return fail(Code::does_not_fit, fmt::format("piece {} does not fit into an empty batch", k + 1),
                  "a piece must fit by itself");
  }
  return std::nullopt;
}

std::optional<Problem> check(const PackProblem& problem) {
  std::int64_t pieces = 0;
  for (const int n : problem.counts) {
    if (n < 0) return fail(Code::bad_number, "a count of pieces is negative", "give whole numbers from 0 up");
    pieces += n;
  }
  if (pieces > most_pieces)
    return fail(Code::too_large, fmt::format("{} pieces are too many to plan at once", pieces),
                fmt::format("plan at most {} in one run", most_pieces));
  if (!problem.calls.empty() && problem.calls.size() != problem.counts.size())
    return fail(Code::internal, "it is not said of every kind what it calls for");
  for (const PackResource& r : problem.resources)
    if (auto p = check(problem, r)) return p;
  return std::nullopt;
}

/// Kinds that use the same of everything and call for the same, in order of their first appearance.
Model merged(const PackProblem& problem) {
  Model m;
  std::map<std::pair<std::vector<std::int64_t>, std::vector<int>>, std::size_t> seen;
  for (std::size_t k = 0; k < problem.counts.size(); ++k) {
    if (problem.counts[k] == 0) continue;
    std::vector<std::int64_t> uses;
    for (const PackResource& r : problem.resources) uses.push_back(r.uses[k]);
    std::vector<int> calls = calls_of(problem, k);
    const auto [it, is_new] = seen.emplace(std::pair(uses, calls), m.kinds());
    if (is_new) {
      m.demand.push_back(0);
      m.uses.push_back(std::move(uses));
      m.origin.emplace_back();
      if (!problem.calls.empty()) m.calls.push_back(std::move(calls));
    }
    m.demand[it->second] += problem.counts[k];
    m.origin[it->second].push_back(static_cast<int>(k));
  }
  for (const PackResource& r : problem.resources) m.capacity.push_back(r.capacity);
  int extras = 0;
  for (const auto& calls : m.calls)
    for (const int e : calls) extras = std::max(extras, e + 1);
  for (int e = 0; e < extras; ++e) {
    auto& extra = m.extras.emplace_back();
    for (const PackResource& r : problem.resources) extra.push_back(extra_of(r, e));
  }
  m.most = m.demand;
  const Room empty(m);
  for (std::size_t k = 0; k < m.kinds(); ++k) m.most[k] = empty.takes(m, k, m.demand[k]);
  return m;
}

/// A limit on one kind alone has gone into `most`; one that the largest pattern keeps anyway never binds.
bool can_bind(const Model& m, std::size_t r) {
  std::int64_t sum = 0;
  int users = 0;
  for (std::size_t k = 0; k < m.kinds(); ++k) {
    if (m.uses[k][r] == 0 && m.own_extras(k, r) == 0) continue;
    ++users;
    sum += m.uses[k][r] * m.most[k];
  }
  for (const auto& extra : m.extras) sum += extra[r];
  return users > 1 && sum > m.capacity[r];
}

void keep_binding_resources(Model& m) {
  std::vector<std::size_t> kept;
  for (std::size_t r = 0; r < m.capacity.size(); ++r)
    if (can_bind(m, r)) kept.push_back(r);
  std::vector<std::int64_t> capacity;
  std::vector<std::vector<std::int64_t>> uses(m.kinds()), extras(m.extras.size());
  for (const std::size_t r : kept) {
    std::int64_t divisor = 0;
    for (std::size_t k = 0; k < m.kinds(); ++k) divisor = std::gcd(divisor, m.uses[k][r]);
    for (const auto& extra : m.extras) divisor = std::gcd(divisor, extra[r]);
    capacity.push_back(m.capacity[r] / divisor);
    for (std::size_t k = 0; k < m.kinds(); ++k) uses[k].push_back(m.uses[k][r] / divisor);
    for (std::size_t e = 0; e < m.extras.size(); ++e) extras[e].push_back(m.extras[e][r] / divisor);
  }
  m.capacity = std::move(capacity);
  m.uses = std::move(uses);
  m.extras = std::move(extras);
}

/// Largest share of any resource first.
void sort_by_size(Model& m) {
  const auto share = [&](std::size_t k) {
    double s = 0;
    for (std::size_t r = 0; r < m.capacity.size(); ++r)
      s = std::max(
          s, static_cast<double>(m.uses[k][r] + m.own_extras(k, r)) / static_cast<double>(m.capacity[r]));
    return s;
  };
  std::vector<std::size_t> order(m.kinds());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return share(a) > share(b); });
  Model sorted;
  sorted.capacity = m.capacity;
  sorted.extras = m.extras;
  for (const std::size_t k : order) {
    sorted.demand.push_back(m.demand[k]);
    sorted.most.push_back(m.most[k]);
    sorted.uses.push_back(std::move(m.uses[k]));
    sorted.origin.push_back(std::move(m.origin[k]));
    if (!m.calls.empty()) sorted.calls.push_back(std::move(m.calls[k]));
  }
  m = std::move(sorted);
}

int ceiling(Wide a, Wide b) {
  return a <= 0 ? 0 : static_cast<int>((a + b - 1) / b);
}

struct Sized {
  std::int64_t size;
  std::int64_t count;
};

// For every threshold t: pieces over C - t are alone with anything of size t or more, those over C/2 are each
// in a bin of their own, and the pieces from t to C/2 fill what room the latter leave.
int l2(const std::vector<Sized>& items, std::int64_t capacity) {
  int best = 0;
  for (std::size_t i = 0; i <= items.size(); ++i) {
    const std::int64_t t = i < items.size() ? items[i].size : 0;
    if (2 * t > capacity) continue;
    std::int64_t large = 0, half = 0, half_sum = 0, small_sum = 0;
    for (const Sized& s : items) {
      if (s.size > capacity - t)
        large += s.count;
      else if (2 * s.size > capacity)
        half += s.count, half_sum += s.size * s.count;
      else if (s.size >= t)
        small_sum += s.size * s.count;
    }
    const int rest = ceiling(Wide{small_sum} - (Wide{half} * capacity - half_sum), capacity);
    best = std::max(best, static_cast<int>(large + half) + rest);
  }
  return best;
}

// u(k)(x) = x where (k+1)x is whole, else floor((k+1)x)/k; here times k·C.
int dual_feasible(const std::vector<Sized>& items, std::int64_t capacity) {
  int best = 0;
  for (std::int64_t k = 1; k <= 24; ++k) {
    Wide sum = 0;
    for (const Sized& s : items) {
      const Wide scaled = Wide{k + 1} * s.size;
      sum += s.count * (scaled % capacity == 0 ? Wide{k} * s.size : scaled / capacity * capacity);
    }
    best = std::max(best, ceiling(sum, Wide{k} * capacity));
  }
  return best;
}

struct OpenBin {
  Room room;
  Pattern pattern;
};

bool takes(const Model& m, const OpenBin& bin, std::size_t kind) {
  if (bin.room.takes(m, kind, 1) == 0) return false;
  const Placed* last = bin.pattern.empty() ? nullptr : &bin.pattern.back();
  return last == nullptr || last->kind != static_cast<int>(kind) || last->count < m.most[kind];
}

void put(const Model& m, OpenBin& bin, std::size_t kind) {
  bin.room.put(m, kind, 1);
  if (bin.pattern.empty() || bin.pattern.back().kind != static_cast<int>(kind))
    bin.pattern.push_back({static_cast<int>(kind), 0});
  ++bin.pattern.back().count;
}

}  // namespace

std::int64_t Model::own_extras(std::size_t kind, std::size_t resource) const {
  std::int64_t sum = 0;
  if (!calls.empty())
    for (const int e : calls[kind]) sum += extras[static_cast<std::size_t>(e)][resource];
  return sum;
}

Expected<Model> make_model(const PackProblem& problem) {
  if (auto p = check(problem)) return *p;
  Model m = merged(problem);
  keep_binding_resources(m);
  sort_by_size(m);
  return m;
}

std::vector<Pattern> translated(const Model& model, const PackProblem& problem,
                                const std::vector<Pattern>& bins) {
  Counts left = problem.counts;
  std::vector<Pattern> out;
  for (const Pattern& bin : bins) {
    Pattern& pattern = out.emplace_back();
    for (const Placed& placed : bin) {
      int wanted = placed.count;
      for (const int kind : model.origin[static_cast<std::size_t>(placed.kind)]) {
        int& have = left[static_cast<std::size_t>(kind)];
        const int n = std::min(wanted, have);
        if (n > 0) pattern.push_back({kind, n});
        have -= n;
        wanted -= n;
      }
    }
    std::sort(pattern.begin(), pattern.end(),
              [](const Placed& a, const Placed& b) { return a.kind < b.kind; });
  }
  return out;
}

int quick_lower_bound(const Model& model, const Counts& demand) {
  int best = 0;
  for (std::size_t k = 0; k < model.kinds(); ++k)
    best = std::max(best, ceiling(demand[k], std::max(1, model.most[k])));
  for (std::size_t r = 0; r < model.capacity.size(); ++r) {
    std::vector<Sized> items;
    for (std::size_t k = 0; k < model.kinds(); ++k)
      if (demand[k] > 0 && model.uses[k][r] > 0) items.push_back({model.uses[k][r], demand[k]});
    best = std::max({best, l2(items, model.capacity[r]), dual_feasible(items, model.capacity[r])});
  }
  return best;
}

std::vector<Pattern> fit_decreasing(const Model& model, const Counts& demand, Fit fit) {
  std::vector<OpenBin> bins;
  const auto tightness = [&](const OpenBin& bin) {
    double room = 0;
    const std::vector<std::int64_t>& left = bin.room.left();
    for (std::size_t r = 0; r < left.size(); ++r)
      room += static_cast<double>(left[r]) / static_cast<double>(model.capacity[r]);
    return room;
  };
  for (std::size_t kind = 0; kind < model.kinds(); ++kind)
    for (int i = 0; i < demand[kind]; ++i) {
      OpenBin* into = nullptr;
      double tightest = 0;
      for (OpenBin& bin : bins) {
        if (!takes(model, bin, kind)) continue;
        const double room = fit == Fit::best ? tightness(bin) : 0;
        if (into == nullptr || room < tightest) into = &bin, tightest = room;
        if (fit == Fit::first) break;
      }
      if (into == nullptr) into = &bins.emplace_back(OpenBin{Room(model), {}});
      put(model, *into, kind);
    }
  std::vector<Pattern> out;
  for (OpenBin& bin : bins) out.push_back(std::move(bin.pattern));
  return out;
}

void take(Counts& demand, const Pattern& pattern) {
  for (const Placed& p : pattern) demand[static_cast<std::size_t>(p.kind)] -= p.count;
}

int pieces_in(const Counts& demand) {
  return std::accumulate(demand.begin(), demand.end(), 0);
}

}  // namespace pourwright::packing

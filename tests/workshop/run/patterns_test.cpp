// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/run/patterns.hpp"

#include "workshop/run/pack_check.hpp"

#include <random>
#include <set>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::packing;

namespace {

struct Case {
  Model model;
  std::vector<std::int64_t> worth;
};

/// Resources of about `steps` steps: few make a table, many the lists of what is unbeaten, two a search in
/// depth.
Case random_case(std::uint64_t seed, int resources, std::int64_t steps) {
  std::mt19937_64 random(seed);
  Case c;
  const int kinds = 2 + static_cast<int>(random() % 5);
  c.model.capacity.assign(static_cast<std::size_t>(resources), steps);
  for (int k = 0; k < kinds; ++k) {
    c.model.demand.push_back(static_cast<int>(random() % 4));
    c.model.most.push_back(1 + static_cast<int>(random() % 4));
    auto& uses = c.model.uses.emplace_back();
    for (int r = 0; r < resources; ++r)
      uses.push_back(1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(steps)) / (1 + r));
    c.worth.push_back(static_cast<std::int64_t>(random() % 1000));
  }
  return c;
}

/// Every pattern that fits, by counting through all of them.
template <class Use>
void each_pattern(const Model& m, Use use, Pattern pattern = {}, std::size_t kind = 0) {
  if (kind == m.kinds()) {
    use(pattern);
    return;
  }
  for (int n = 0; n <= std::min(m.demand[kind], m.most[kind]); ++n) {
    Pattern next = pattern;
    if (n > 0) next.push_back({static_cast<int>(kind), n});
    bool fits = true;
    for (std::size_t r = 0; r < m.capacity.size(); ++r) {
      std::int64_t used = 0;
      for (const Placed& p : next) used += p.count * m.uses[static_cast<std::size_t>(p.kind)][r];
      fits &= used <= m.capacity[r];
    }
    if (fits) each_pattern(m, use, next, kind + 1);
  }
}

int count_of(const Pattern& f, std::size_t kind) {
  for (const Placed& p : f)
    if (p.kind == static_cast<int>(kind)) return p.count;
  return 0;
}

std::int64_t worth_of(const Case& c, const Pattern& f) {
  std::int64_t sum = 0;
  for (const Placed& p : f) sum += c.worth[static_cast<std::size_t>(p.kind)] * p.count;
  return sum;
}

bool is_full(const Model& m, const Pattern& f) {
  bool full = true;
  each_pattern(m, [&](const Pattern& g) {
    int more = 0;
    bool at_least = true;
    for (std::size_t k = 0; k < m.kinds(); ++k) {
      at_least &= count_of(g, k) >= count_of(f, k);
      more += count_of(g, k) - count_of(f, k);
    }
    if (at_least && more > 0) full = false;
  });
  return full;
}

std::string text(const Pattern& f) {
  std::string s;
  for (const Placed& p : f) s += std::to_string(p.kind) + "x" + std::to_string(p.count) + " ";
  return s;
}

}  // namespace

TEST_CASE("the pattern worth most, in a table, in lists and in depth") {
  for (const auto& [resources, steps] :
       {std::pair<int, std::int64_t>{1, 30}, {1, 5'000'000}, {2, 30}, {3, 5'000'000}})
    for (std::uint64_t seed = 0; seed < 300; ++seed) {
      const Case c = random_case(seed, resources, steps);
      Work work(1'000'000'000);
      Patterns patterns(c.model, work);
      const Patterns::Best best = patterns.best(c.worth, c.model.demand);
      std::int64_t most = 0;
      bool fits = false;
      each_pattern(c.model, [&](const Pattern& f) {
        most = std::max(most, worth_of(c, f));
        fits |= f == best.pattern;
      });
      CHECK(fits);
      CHECK_MESSAGE(best.worth == most, seed);
      CHECK(best.bound == most);
      CHECK(worth_of(c, best.pattern) == best.worth);
    }
}

TEST_CASE("all full patterns around a seed that are worth enough, none twice") {
  for (const auto& [resources, steps] : {std::pair<int, std::int64_t>{1, 30}, {1, 5'000'000}, {2, 30}})
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
      const Case c = random_case(seed, resources, steps);
      const int kind = static_cast<int>(seed % c.model.kinds());
      if (c.model.demand[static_cast<std::size_t>(kind)] == 0) continue;
      const std::int64_t least = static_cast<std::int64_t>(seed * 7 % 1500);
      Work work(1'000'000'000);
      Patterns patterns(c.model, work);
      const auto list = patterns.all(c.worth, c.model.demand, kind, least, 100'000);
      CHECK(list.complete);
      std::set<std::string> found, expected;
      for (const Pattern& f : list.patterns) CHECK(found.insert(text(f)).second);
      each_pattern(c.model, [&](const Pattern& f) {
        if (count_of(f, static_cast<std::size_t>(kind)) > 0 && worth_of(c, f) >= least && is_full(c.model, f))
          expected.insert(text(f));
      });
      CHECK_MESSAGE(found == expected, seed);
    }
}

TEST_CASE("a list that is cut says so") {
  const Case c = random_case(4, 1, 30);
  Work work(1'000'000);
  Patterns patterns(c.model, work);
  int kind = 0;
  while (c.model.demand[static_cast<std::size_t>(kind)] == 0) ++kind;
  const auto all = patterns.all(c.worth, c.model.demand, kind, 0, 100'000);
  REQUIRE(!all.patterns.empty());
  const auto some = patterns.all(c.worth, c.model.demand, kind, 0, all.patterns.size() - 1);
  CHECK(all.complete);
  CHECK(!some.complete);
  CHECK(some.patterns.size() == all.patterns.size() - 1);
}

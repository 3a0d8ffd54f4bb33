// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/run.hpp>

#include <functional>
#include <random>
#include <tuple>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const Currency eur{"EUR", 2};
Amount euro(std::string_view text) {
  return *parse_amount(text, eur);
}

using Score = std::tuple<Amount, Mass, std::int64_t>;

/// By counting up every size.
Score by_trying(Mass need, const std::vector<PackSize>& sizes) {
  std::optional<Score> best;
  const std::function<void(std::size_t, Score)> add = [&](std::size_t i, Score so_far) {
    if (std::get<1>(so_far) >= need) {
      if (!best || so_far < *best) best = so_far;
      return;
    }
    for (std::size_t s = i; s < sizes.size(); ++s)
      add(s, {std::get<0>(so_far) + *sizes[s].price, std::get<1>(so_far) + sizes[s].size,
              std::get<2>(so_far) + 1});
  };
  add(0, {});
  return *best;
}

}  // namespace

TEST_CASE("packs at the least cost, against trying everything") {
  std::mt19937_64 random(1);
  for (int i = 0; i < 300; ++i) {
    std::vector<PackSize> sizes;
    for (int s = 0; s < 3; ++s)
      sizes.push_back({Mass::grams(250.0 * static_cast<double>(1 + random() % 8)),
                       Amount::of(Money::minor(50 + static_cast<std::int64_t>(random() % 900)), eur)});
    const Mass need = Mass::grams(static_cast<double>(random() % 6000));
    const PackChoice choice = cheapest_packs(need, sizes);
    std::int64_t packs = 0;
    for (const std::int64_t n : choice.counts) packs += n;
    CHECK(choice.bought >= need);
    CHECK(Score{*choice.cost, choice.bought, packs} == by_trying(need, sizes));
  }
}

TEST_CASE("a larger pack can be cheaper than the sum of small ones, and too much of it too") {
  const std::vector<PackSize> sizes{{Mass::grams(1000), euro("4.20")},
                                    {Mass::grams(5000), euro("17.50")},
                                    {Mass::grams(25000), euro("61")}};
  CHECK(cheapest_packs(Mass::grams(4100), sizes).counts == std::vector<std::int64_t>{0, 1, 0});
  CHECK(cheapest_packs(Mass::grams(4000), sizes).counts == std::vector<std::int64_t>{4, 0, 0});
  CHECK(cheapest_packs(Mass::grams(17'000), sizes).counts == std::vector<std::int64_t>{2, 3, 0});
  CHECK(cheapest_packs(Mass::grams(19'000), sizes).counts == std::vector<std::int64_t>{0, 0, 1});
  CHECK(cheapest_packs(Mass::grams(0), sizes).counts == std::vector<std::int64_t>{0, 0, 0});
  CHECK(cheapest_packs(Mass::grams(1), {}).counts.empty());
}

TEST_CASE("without prices the least mass, then the fewest packs") {
  const std::vector<PackSize> sizes{{Mass::grams(1000), {}}, {Mass::grams(5000), {}}};
  const PackChoice c = cheapest_packs(Mass::grams(5600), sizes);
  CHECK(c.counts == std::vector<std::int64_t>{1, 1});
  CHECK(!c.cost);
}

TEST_CASE("tons in odd sizes come back in a moment") {
  const std::vector<PackSize> sizes{{Mass::micrograms(453'592'370), euro("2")},
                                    {Mass::grams(25'000), euro("60")}};
  const PackChoice c = cheapest_packs(Mass::grams(9e6), sizes);
  CHECK(c.bought >= Mass::grams(9e6));
  CHECK(c.bought < Mass::grams(9.05e6));
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/run.hpp>

#include "workshop/run/pack_check.hpp"
#include "workshop/run/pack_model.hpp"
#include "workshop/run/u120.hpp"

#include <algorithm>
#include <numeric>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::testing;

namespace {

using Sizes = std::vector<std::int64_t>;

/// Packs, checks the packing and expects a proof.
int proven_bins(const PackProblem& problem) {
  const auto p = pack(problem);
  REQUIRE(p.has_value());
  CHECK(complaint(problem, *p) == "");
  CHECK(p->proven());
  return static_cast<int>(p->bins.size());
}

int fit(std::int64_t capacity, const Sizes& sizes, packing::Fit how) {
  const auto model = packing::make_model(one_by_one(capacity, sizes));
  return static_cast<int>(packing::fit_decreasing(*model, model->demand, how).size());
}

std::int64_t between(std::mt19937_64& random, std::int64_t low, std::int64_t high) {
  return low + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(high - low + 1));
}

const Sizes& u120_00 = u120[0].sizes;

}  // namespace

TEST_CASE("u120_00: 48 bins, one fewer than first fit and best fit by falling size find") {
  CHECK(std::accumulate(u120_00.begin(), u120_00.end(), std::int64_t{0}) == 7078);
  CHECK(fit(150, u120_00, packing::Fit::first) == 49);
  CHECK(fit(150, u120_00, packing::Fit::best) == 49);
  CHECK(proven_bins(one_by_one(150, u120_00)) == 48);
}

TEST_CASE("first fit by falling size keeps its guarantee") {
  // At most 11/9 of the fewest and 6/9 of a bin more: Gy. Dósa, 2007.
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    std::mt19937_64 random(seed);
    Sizes sizes(static_cast<std::size_t>(between(random, 5, 40)));
    for (std::int64_t& s : sizes) s = between(random, 20, 160);
    CHECK(9 * fit(200, sizes, packing::Fit::first) <= 11 * proven_bins(one_by_one(200, sizes)) + 6);
  }
}

TEST_CASE("u120_00 to u120_19: the optimum that their source gives") {
  for (const Published& p : u120) {
    REQUIRE(p.sizes.size() == 120);
    CHECK(proven_bins(one_by_one(150, p.sizes)) == p.optimum);
  }
  // Sums, and what first fit by falling size makes of them, as they are told of two more.
  CHECK(std::accumulate(u120[2].sizes.begin(), u120[2].sizes.end(), std::int64_t{0}) == 6794);
  CHECK(fit(150, u120[2].sizes, packing::Fit::first) == 47);
  CHECK(std::accumulate(u120[19].sizes.begin(), u120[19].sizes.end(), std::int64_t{0}) == 7322);
  CHECK(fit(150, u120[19].sizes, packing::Fit::first) == 50);
}

TEST_CASE("first fit takes the pieces as they come") {
  // u120_00 again, unsorted, by the plainest code there is.
  std::vector<std::int64_t> left;
  for (const std::int64_t s : u120_00) {
    const auto bin = std::find_if(left.begin(), left.end(), [&](std::int64_t room) { return room >= s; });
    if (bin == left.end())
      left.push_back(150 - s);
    else
      *bin -= s;
  }
  CHECK(left.size() == 50);
}

TEST_CASE("small published instances") {
  // S. Martello, P. Toth, Knapsack Problems (1990), chapter 8: the sum alone says 3.
  CHECK(proven_bins(one_by_one(100, {70, 60, 50, 33, 33, 33, 11, 7, 3})) == 4);
  // Coffman, Garey and Johnson: with a larger bin, first fit decreasing needs one more.
  const Sizes anomaly{44, 24, 24, 22, 21, 17, 8, 8, 6, 6};
  CHECK(fit(60, anomaly, packing::Fit::first) == 3);
  CHECK(fit(61, anomaly, packing::Fit::first) == 4);
  CHECK(proven_bins(one_by_one(60, anomaly)) == 3);
  CHECK(proven_bins(one_by_one(61, anomaly)) == 3);
  // A textbook example of the bound by the sum being met: 29 in bins of 6.
  CHECK(proven_bins(one_by_one(6, {6, 5, 4, 3, 3, 3, 2, 2, 1})) == 5);
}

TEST_CASE("cutting stock: V. Chvátal, Linear Programming, chapter 13") {
  PackProblem p{{97, 610, 395, 211}, {{100, {45, 36, 31, 14}}}};
  CHECK(proven_bins(p) == 453);  // the relaxation says 452.25
}

TEST_CASE("cutting stock: 13 widths from rolls of 5600, 73 rolls") {
  PackProblem p{{22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20},
                {{5600, {1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200}}}};
  CHECK(proven_bins(p) == 73);
}

TEST_CASE("triplets by construction: every bin full to the brim with three pieces") {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    std::mt19937_64 random(seed);
    const int triples = seed <= 4 ? 20 : 40;
    Sizes sizes;
    while (static_cast<int>(sizes.size()) < 3 * triples) {
      const std::int64_t a = between(random, 380, 490), b = between(random, 250, (1000 - a) / 2),
                         c = 1000 - a - b;
      if (c < 500) sizes.insert(sizes.end(), {a, b, c});
    }
    std::shuffle(sizes.begin(), sizes.end(), random);
    CHECK(proven_bins(one_by_one(1000, sizes)) == triples);
  }
  // The coarse ones of the OR-Library's readme: bins of 100, sizes 25 to 50.
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    std::mt19937_64 random(seed);
    Sizes sizes;
    while (sizes.size() < 60) {
      const std::int64_t a = between(random, 38, 49), b = between(random, 25, (100 - a) / 2), c = 100 - a - b;
      if (c < 50) sizes.insert(sizes.end(), {a, b, c});
    }
    CHECK(proven_bins(one_by_one(100, sizes)) == 20);
  }
}

TEST_CASE("uniform pieces, a hundred and twenty and two hundred") {
  for (std::uint64_t seed = 1; seed <= 15; ++seed) {
    std::mt19937_64 random(seed);
    Sizes sizes(seed % 3 == 0 ? 200 : 120);
    for (std::int64_t& s : sizes) s = between(random, 20, 100);
    const int bins = proven_bins(one_by_one(150, sizes));
    CHECK(bins >= (std::accumulate(sizes.begin(), sizes.end(), std::int64_t{0}) + 149) / 150);
    CHECK(bins <= fit(150, sizes, packing::Fit::first));
  }
}

TEST_CASE("against trying everything: one resource") {
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    std::mt19937_64 random(seed);
    const std::int64_t capacity = between(random, 10, seed % 2 == 0 ? 30 : 3'000'000);
    Sizes sizes(static_cast<std::size_t>(between(random, 1, 10)));
    for (std::int64_t& s : sizes)
      s = between(random, 1, seed % 3 == 0 ? capacity : std::max<std::int64_t>(1, capacity / 2));
    const PackProblem p = one_by_one(capacity, sizes);
    CHECK_MESSAGE(proven_bins(p) == FewestBins(p).count(), seed);
  }
}

TEST_CASE("against trying everything: grams, seconds and copies of molds") {
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    std::mt19937_64 random(seed + 1000);
    const auto kinds = static_cast<std::size_t>(between(random, 1, 5));
    PackProblem p;
    int pieces = 0;
    for (std::size_t k = 0; k < kinds; ++k) {
      p.counts.push_back(static_cast<int>(between(random, 0, 3)));
      pieces += p.counts.back();
    }
    if (pieces > 9) continue;
    for (int r = 0; r < 3; ++r) {
      PackResource resource{between(random, 5, 40), {}};
      for (std::size_t k = 0; k < kinds; ++k)
        resource.uses.push_back(between(random, 0, resource.capacity / (r + 1)));
      p.resources.push_back(resource);
    }
    // Two kinds that share a mold of which there are two.
    PackResource mold{2, std::vector<std::int64_t>(kinds, 0)};
    mold.uses[0] = mold.uses[kinds - 1] = 1;
    p.resources.push_back(mold);
    CHECK_MESSAGE(proven_bins(p) == (pieces == 0 ? 0 : FewestBins(p).count()), seed);
  }
}

TEST_CASE("many alike: as many bins as copies ask for") {
  PackProblem p{{24, 8}, {{2400, {150, 300}}, {4, {1, 0}}, {2, {0, 1}}}};
  CHECK(proven_bins(p) == 6);
}

TEST_CASE("the same steps and the same bins every time") {
  const auto a = pack(one_by_one(150, u120_00)), b = pack(one_by_one(150, u120_00));
  CHECK(a->work == b->work);
  CHECK(a->bins == b->bins);
}

TEST_CASE("when the work runs out the bound is still a bound and the packing a packing") {
  std::mt19937_64 random(5);
  Sizes sizes(200);
  for (std::int64_t& s : sizes) s = between(random, 20'000, 35'000);
  const PackProblem p = one_by_one(100'000, sizes);
  const auto r = pack(p, {50'000'000});
  REQUIRE(r.has_value());
  CHECK(complaint(p, *r) == "");
  CHECK(r->work < 500'000'000);
  CHECK(r->lower_bound >= 55);
}

TEST_CASE("what cannot be packed is refused") {
  CHECK(pack(one_by_one(10, {11})).error().code == Code::does_not_fit);
  CHECK(pack(one_by_one(10, {-1})).error().code == Code::bad_number);
  CHECK(pack(PackProblem{{-1}, {{10, {1}}}}).error().code == Code::bad_number);
  CHECK(pack(PackProblem{{1}, {{10, {}}}}).error().code == Code::internal);
  CHECK(pack(PackProblem{{2'000'000'000}, {{10, {1}}}}).error().code == Code::too_large);
  CHECK(pack(PackProblem{{1}, {{INT64_MAX, {1}}}}).error().code == Code::bad_number);
  CHECK(proven_bins(PackProblem{}) == 0);
  CHECK(proven_bins(PackProblem{{0, 0}, {{10, {11, 3}}}}) == 0);
  CHECK(proven_bins(PackProblem{{7}, {{10, {0}}}}) == 1);
}

TEST_CASE("twenty thousand pieces come back in a moment, with a bound") {
  std::mt19937_64 random(3);
  PackProblem p{{}, {{2'400'000'000, {}}}};
  for (int k = 0; k < 20'000; ++k) {
    p.counts.push_back(1);
    p.resources[0].uses.push_back(between(random, 50'000'000, 900'000'000));
  }
  const auto r = pack(p);
  REQUIRE(r.has_value());
  CHECK(complaint(p, *r) == "");
  CHECK(static_cast<int>(r->bins.size()) <= r->lower_bound * 102 / 100);
}

namespace {

/// Bins beyond the lower bound.
int gap(const PackProblem& problem) {
  const auto p = pack(problem);
  REQUIRE(p.has_value());
  CHECK(complaint(problem, *p) == "");
  return static_cast<int>(p->bins.size()) - p->lower_bound;
}

Sizes drawn(std::uint64_t seed, std::int64_t low, std::int64_t high) {
  std::mt19937_64 random(seed);
  Sizes sizes;
  for (int i = 0; i < 200; ++i) sizes.push_back(between(random, low, high));
  return sizes;
}

}  // namespace

TEST_CASE("200 pieces of a fifth to a third of a bin, in steps of a thousandth of a percent" *
          doctest::test_suite("long")) {
  for (std::uint64_t seed = 100; seed < 103; ++seed)
    CHECK(gap(one_by_one(100'000, drawn(seed, 20'000, 35'000))) == 0);
}

TEST_CASE("200 pieces of any size up to four fifths of a bin") {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) CHECK(gap(one_by_one(1000, drawn(seed, 1, 800))) == 0);
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include <cmath>
#include <cstdint>
#include <numeric>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

using Seats = std::vector<std::int64_t>;

Seats seats(std::int64_t total, const Seats& votes) {
  return largest_remainder(total, votes);
}

std::int64_t sum(const Seats& s) {
  return std::accumulate(s.begin(), s.end(), std::int64_t{0});
}

}  // namespace

// Apportionment by Hamilton's method is the same arithmetic, and has published answers.
TEST_CASE("the 15 states of the 1790 census and 60 seats") {  // electowiki, "Hamilton method"
  const Seats population{630560, 475327, 432879, 353523, 331589, 278514, 236841, 206236,
                         179570, 141822, 85533,  70835,  68705,  68446,  55540};
  CHECK(sum(population) == 3615920);
  CHECK(seats(60, population) == Seats{11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1});
}

TEST_CASE("small worked examples") {
  // A dictionary entry on the method; the answer is derived from quotas 3.5, 2.1 and 1.4.
  CHECK(seats(7, {50, 30, 20}) == Seats{4, 2, 1});
  // A worked classroom answer, votes in thousands.
  CHECK(seats(42, {247, 185, 459, 400, 413}) == Seats{6, 5, 11, 10, 10});
  // An encyclopaedia's example with the Hare quota (from memory, re-computed).
  CHECK(seats(10, {47000, 16000, 15800, 12000, 6100, 3100}) == Seats{5, 2, 1, 1, 1, 0});
}

// A seat more in all, and one share loses one: why monotony of a share is not promised.
TEST_CASE("the Alabama paradox is reproduced, not repaired") {
  // Encyclopaedia article on the paradox.
  CHECK(seats(10, {6, 6, 2}) == Seats{4, 4, 2});
  CHECK(seats(11, {6, 6, 2}) == Seats{5, 5, 1});
  // A second encyclopaedia article.
  CHECK(seats(323, {5670, 3850, 420, 60}) == Seats{183, 124, 14, 2});
  CHECK(seats(324, {5670, 3850, 420, 60}) == Seats{184, 125, 13, 2});
  // COMAP, For All Practical Purposes, 10th edition, example 14.45.
  const Seats states{5576330, 1387342, 3334241, 7512860, 310968};
  CHECK(seats(89, states) == Seats{27, 7, 16, 37, 2});
  CHECK(seats(90, states) == Seats{28, 7, 17, 37, 1});
  CHECK(seats(91, states) == Seats{28, 7, 17, 38, 1});
  // Saari, "Apportionment methods and the House of Representatives", 1978, as discussed in 1982.
  CHECK(seats(49, {3, 7, 90}) == Seats{2, 3, 44});
  CHECK(seats(51, {3, 7, 90}) == Seats{1, 4, 46});
}

TEST_CASE("ties go to the earlier part, zero weights get nothing") {
  CHECK(seats(1, {1, 1}) == Seats{1, 0});
  CHECK(seats(3, {1, 1}) == Seats{2, 1});
  CHECK(seats(2, {1, 1, 1}) == Seats{1, 1, 0});
  CHECK(seats(5, {0, 1, 0}) == Seats{0, 5, 0});
  CHECK(seats(0, {3, 4}) == Seats{0, 0});
  CHECK(seats(INT64_MAX, {INT64_MAX, INT64_MAX}) == Seats{INT64_MAX / 2 + 1, INT64_MAX / 2});
}

TEST_CASE("random splits add up and stay within one step of the quota") {
  std::mt19937_64 random(4711);
  for (int i = 0; i < 20'000; ++i) {
    Seats weights(1 + random() % 12);
    for (auto& w : weights) w = static_cast<std::int64_t>(random() >> (24 + random() % 40));
    weights[random() % weights.size()] += 1;
    const auto total = static_cast<std::int64_t>(random() >> (14 + random() % 50));
    const Seats shares = seats(total, weights);
    REQUIRE(sum(shares) == total);
    const auto all = static_cast<long double>(sum(weights));
    for (std::size_t k = 0; k < weights.size(); ++k) {
      const long double quota = static_cast<long double>(total) * static_cast<long double>(weights[k]) / all;
      REQUIRE(std::abs(static_cast<long double>(shares[k]) - quota) < 1);
    }
  }
}

TEST_CASE("real weights give the same as whole ones, on whole steps") {
  std::mt19937_64 random(99);
  for (int i = 0; i < 5'000; ++i) {
    Seats whole(1 + random() % 8);
    for (auto& w : whole) w = static_cast<std::int64_t>(random() % 1'000'000 + 1);
    std::vector<double> real(whole.begin(), whole.end());
    for (double& w : real) w = std::ldexp(w, -30);
    const auto steps = static_cast<std::int64_t>(random() % 100'000);
    const Mass step = Mass::micrograms(static_cast<std::int64_t>(random() % 1'000'000 + 1));
    const Seats expected = seats(steps, whole);
    const std::vector<Mass> masses = largest_remainder(step * steps, real, step);
    REQUIRE(masses.size() == expected.size());
    for (std::size_t k = 0; k < masses.size(); ++k) REQUIRE(masses[k] == step * expected[k]);
  }
  CHECK(largest_remainder(Mass::grams(10), {1e-300, 1e-300}, Mass::grams(1))[0] == Mass::grams(5));
  CHECK(largest_remainder(Mass::grams(10), {1e300, 0, 1e300}, Mass::grams(1))[2] == Mass::grams(5));
}

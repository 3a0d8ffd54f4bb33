// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/split.hpp>

#include <algorithm>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

LeftoverMold mold(std::string name, double ml, int copies) {
  return {name, name, millilitres(ml), copies};
}
const Density mix = grams_per_millilitre(2);

}  // namespace

TEST_CASE("as much as fits into full molds, in as few as possible; the rest is chips") {
  const std::vector<LeftoverMold> molds{mold("coaster", 30, 2), mold("magnet", 5, 4)};  // 60 g and 10 g
  const auto p = fit_leftovers(Mass::grams(86), mix, molds);
  REQUIRE(p.fills.size() == 2);
  CHECK(p.fills[0].name == "coaster");
  CHECK(p.fills[0].count == 1);
  CHECK(p.fills[1].count == 2);
  CHECK(p.fills[1].each == Mass::grams(10));
  CHECK(p.chips == Mass::grams(6));
  // A coaster is too large for 55 g, and there are four magnets.
  CHECK(fit_leftovers(Mass::grams(55), mix, molds).chips == Mass::grams(15));
  // Filling best is not always largest first: 40 g is two of 20, not one of 30 and chips.
  const auto q = fit_leftovers(Mass::grams(40), mix, {mold("a", 15, 1), mold("b", 10, 2)});
  REQUIRE(q.fills.size() == 1);
  CHECK(q.fills[0].name == "b");
  CHECK(q.chips == Mass());
}

TEST_CASE("nothing fits, nothing left, no molds") {
  CHECK(fit_leftovers(Mass::grams(4), mix, {mold("magnet", 5, 4)}).fills.empty());
  CHECK(fit_leftovers(Mass::grams(4), mix, {mold("magnet", 5, 4)}).chips == Mass::grams(4));
  CHECK(fit_leftovers(Mass(), mix, {mold("magnet", 5, 4)}).chips == Mass());
  CHECK(fit_leftovers(Mass::grams(50), mix, {}).chips == Mass::grams(50));
}

TEST_CASE("random leftovers: never more than there is, and never worse than trying everything") {
  std::mt19937_64 random(99);
  for (int i = 0; i < 2'000; ++i) {
    std::vector<LeftoverMold> molds;
    for (auto k = 1 + random() % 3; k > 0; --k)
      molds.push_back(mold("m", static_cast<double>(1 + random() % 40), static_cast<int>(1 + random() % 4)));
    const Mass left = Mass::grams(static_cast<double>(random() % 300));
    const auto p = fit_leftovers(left, mix, molds);
    Mass used;
    for (const LeftoverFill& f : p.fills) {
      REQUIRE(f.count >= 1);
      used += f.each * f.count;
    }
    REQUIRE(used + p.chips == left);
    REQUIRE(p.chips >= Mass());
    Mass best;
    std::vector<int> n(3, 0);
    const auto copies = [&](std::size_t k) { return k < molds.size() ? molds[k].copies : 0; };
    for (n[0] = 0; n[0] <= copies(0); ++n[0])
      for (n[1] = 0; n[1] <= copies(1); ++n[1])
        for (n[2] = 0; n[2] <= copies(2); ++n[2]) {
          Mass sum;
          for (std::size_t k = 0; k < molds.size(); ++k) sum += molds[k].holds * mix * n[k];
          if (sum <= left) best = std::max(best, sum);
        }
    REQUIRE(used == best);
  }
}

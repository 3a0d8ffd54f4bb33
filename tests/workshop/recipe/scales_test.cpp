// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const std::vector<Scale> bench{{"one", "Scale one", Mass::grams(1), Mass::grams(5000)},
                               {"two", "Scale two", Mass::grams(0.01), Mass::grams(200)},
                               {"mid", "Scale mid", Mass::grams(0.1), Mass::grams(1000)}};
Mix house() {
  return support::demo_mix();
}
std::string batch(double grams, double cup = 0) {
  return scale_for_batch(bench, house(), Mass::grams(grams), Mass::grams(cup))->name;
}
std::string part(double grams) {
  return scale_for_part(bench, bench[0], Mass::grams(grams))->name;
}
bool noted(const Recipe& r, std::string_view code) {
  return std::any_of(r.notes.begin(), r.notes.end(), [&](const Note& n) { return n.code == code; });
}

}  // namespace

// A step reads 1 part in 50 from 50 steps up: half a step is then 1 %.
TEST_CASE("the batch goes on the coarsest scale that reads liquid and powder and carries the cup") {
  CHECK(batch(640) == "Scale one");      // 152 g of liquid
  CHECK(batch(200) == "Scale mid");      // 47.6 g of liquid want less than 1 g
  CHECK(batch(10) == "Scale two");       // 2.4 g want less than 0.1 g
  CHECK(batch(10, 212) == "Scale mid");  // the finest that carries the cup
  CHECK(batch(6000) == "Scale one");     // nothing carries it; the strongest, with a warning
  CHECK(scale_for_batch({}, house(), Mass::grams(1), Mass()) == nullptr);
}

TEST_CASE("a small part goes on the coarsest scale that reads it") {
  CHECK(part(100) == "Scale one");
  CHECK(part(49.9) == "Scale mid");
  CHECK(part(4.99) == "Scale two");
  CHECK(part(0.2) == "Scale two");  // none reads it to 1 in 50: the finest
}

TEST_CASE("every part is in whole steps of its own scale, and cup and mix are held against the capacity") {
  RecipeOptions o;
  o.scales = bench;
  o.scale = "Scale one";
  o.pigments = {{"Kelp", Ratio::percent(2)}, {"Chalk", Ratio::percent(0.05)}};
  const auto r = weigh_for_total(house(), Mass::grams(640), o);
  REQUIRE(r);
  CHECK(r->parts[0].scale == "Scale one");
  CHECK(r->parts[2].scale == "Scale mid");
  CHECK(r->parts[2].mass.in_micrograms() % 100'000 == 0);
  CHECK(r->parts[3].scale == "Scale two");
  CHECK(noted(*r, "step-too-coarse"));  // 0.32 g of Chalk on 0.01 g
  CHECK_FALSE(noted(*r, "scale-overloaded"));
  o.cup = Mass::grams(4400);
  CHECK(noted(*weigh_for_total(house(), Mass::grams(640), o), "scale-overloaded"));
  Mass sum;
  for (const Part& p : r->parts) sum += p.mass;
  CHECK(sum == r->mix);
}

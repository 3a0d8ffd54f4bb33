// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/pipeline_split.hpp>

#include "support/source_folder.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const std::filesystem::path tern = source_folder() / "docs/examples/tern";

SplitRequest request(std::vector<std::string> cups) {
  SplitRequest r;
  SplitStep step;
  step.name = "cups";
  for (const std::string& c : cups) step.cups.push_back(*parse_cup(c));
  r.plan.steps.push_back(std::move(step));
  return r;
}
bool noted(const Notes& notes, std::string_view code) {
  return std::any_of(notes.begin(), notes.end(), [&](const Note& n) { return n.code == code; });
}

}  // namespace

TEST_CASE("a cup as people write it") {
  const auto c = parse_cup(" sea = 60 %, Kelp = 1,5 % , Chalk=0.5%");
  REQUIRE(c);
  CHECK(c->name == "sea");
  CHECK(c->share == Ratio::percent(60));
  REQUIRE(c->pigments.size() == 2);
  CHECK(c->pigments[0].name == "Kelp");
  CHECK(c->pigments[0].dose == Ratio::percent(1.5));
  CHECK(c->pigments[1].dose == Ratio::percent(0.5));
  const auto rest = parse_cup("base, Slate=2%");
  REQUIRE(rest);
  CHECK_FALSE(rest->share);
  CHECK(rest->pigments.size() == 1);
  for (const char* bad : {"", "=5%", "a=", "a=5%,Kelp", "a=5%,=2%", "a=five"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_cup(bad));
  }
}

TEST_CASE("the liquid that went in re-bases mix, cups and pigment") {
  MixSettings s;
  SplitRequest r = request({"sea=60%,Kelp=2%", "foam,Chalk=1%"});
  r.liquid = Mass::grams(102);
  const auto split_from_liquid = split(r, s);
  REQUIRE(split_from_liquid);
  REQUIRE(split_from_liquid->base);
  CHECK(split_from_liquid->base->parts[1].mass == Mass::grams(326.4));
  CHECK(split_from_liquid->plan.mix == Mass::grams(428.4));
  const FilledStep& step = split_from_liquid->plan.steps[0];
  CHECK(step.cups[0].mix + step.cups[1].mix == Mass::grams(428.4));
  CHECK(step.cups[0].mix == Mass::grams(257));  // 257.04
  CHECK(step.cups[0].pigment == Mass::grams(5.14));
  CHECK_FALSE(split_from_liquid->followed);
  // The same grams, said to be there, are split the same way.
  SplitRequest there = request({"sea=60%,Kelp=2%", "foam,Chalk=1%"});
  there.there = Mass::grams(428.4);
  const auto same = split(there, s);
  REQUIRE(same);
  CHECK_FALSE(same->base);
  for (std::size_t i = 0; i < 2; ++i) CHECK(same->plan.steps[0].cups[i].mix == step.cups[i].mix);
  r.there = Mass::grams(5);
  CHECK(split(r, s).error().code == Code::usage);
}

TEST_CASE("a workshop brings scales, drops, residue, small molds and prices") {
  MixSettings s;
  s.workshop = tern;
  SplitRequest r = request({"base=85%,chalk=1%", "vein,Slate=2%"});
  r.there = Mass::grams(640);
  r.plan.steps[0].technique = Technique::veins;
  r.plan.steps[0].pour = Mass::grams(550);
  const auto a = split(r, s);
  REQUIRE(a);
  CHECK(a->scale == "Scale one");
  CHECK(a->pigment_scale == "Scale two");
  CHECK(a->plan.steps[0].residue == Mass::grams(6));
  CHECK(a->plan.steps[0].cups[0].drops == std::vector<int>{109});  // 5.44 g of 0.05 g
  REQUIRE(a->leftovers);
  CHECK_FALSE(a->leftovers->fills.empty());
  CHECK(a->cost);
  Mass used = a->leftovers->chips;
  for (const LeftoverFill& f : a->leftovers->fills) used += f.each * f.count;
  CHECK(used == a->plan.left + a->plan.bucket);
  CHECK(noted(a->notes, "times-at-room"));
}

TEST_CASE("what is left, by itself") {
  MixSettings s;
  const auto none = leftover(Mass::grams(86), s);
  REQUIRE(none);
  CHECK_FALSE(none->has_molds);
  CHECK(none->plan.chips == Mass::grams(86));
  s.workshop = tern;
  const auto some = leftover(Mass::grams(86), s);
  REQUIRE(some);
  REQUIRE(some->plan.fills.size() == 2);  // a coaster and a magnet, with what stays in the cup
  CHECK(some->plan.fills[0].name == "Coaster");
  CHECK(some->plan.fills[1].count == 1);
  CHECK_FALSE(leftover(Mass(), s));
}

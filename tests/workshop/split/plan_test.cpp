// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/split.hpp>

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Cup plan_cup(std::string name, double percent, std::vector<PigmentDose> pigments = {}) {
  return {std::move(name), Ratio::percent(percent), std::move(pigments)};
}
PigmentDose plan_dose(std::string name, double percent) {
  return {std::move(name), Ratio::percent(percent)};
}
Pigment pigment(std::string name, double lightness) {
  Pigment p;
  p.key = p.name = std::move(name);
  p.lightness = lightness;
  return p;
}
SplitStep one(Technique technique, std::vector<Cup> cups) {
  SplitStep s;
  s.name = "dish";
  s.technique = technique;
  s.cups = std::move(cups);
  return s;
}
bool noted(const PlannedSplit& p, std::string_view code) {
  return std::any_of(p.notes.begin(), p.notes.end(), [&](const Note& n) { return n.code == code; });
}
Mass pigment_of(const FilledStep& s) {
  Mass m;
  for (const FilledCup& c : s.cups) m += c.pigment;
  return m;
}
/// Nothing is lost and nothing invented, in any step and over all of them.
void check_balance(const PlannedSplit& p, Mass total) {
  REQUIRE(p.mix == total);
  Mass pigment, poured, residue;
  for (const FilledStep& s : p.steps) {
    REQUIRE(s.plain + s.carried + pigment_of(s) == s.poured + s.residue + s.left);
    Mass order;
    for (const Pouring& o : s.order) {
      REQUIRE(o.mass >= Mass());
      order += o.mass;
    }
    REQUIRE(order == s.poured);
    REQUIRE(s.left >= Mass());
    REQUIRE(s.bucket >= Mass());
    pigment += pigment_of(s);
    poured += s.poured;
    residue += s.residue;
  }
  REQUIRE(total + pigment == poured + residue + p.left + p.bucket);
}

}  // namespace

TEST_CASE("veins: the base first, the accent in drops; what stays in cups is not poured") {
  SplitPlan plan;
  plan.residue = Mass::grams(3);
  plan.steps = {one(Technique::veins, {plan_cup("vein", 15, {plan_dose("Slate", 2)}),
                                       plan_cup("base", 85, {plan_dose("Chalk", 1)})})};
  const auto p = plan_split(Mass::grams(640), plan, {});
  REQUIRE(p);
  check_balance(*p, Mass::grams(640));
  const FilledStep& s = p->steps[0];
  CHECK(s.cups[0].mix == Mass::grams(96));
  CHECK(s.cups[1].mix == Mass::grams(544));
  REQUIRE(s.order.size() == 2);
  CHECK(s.order[0].cup == 1);
  CHECK(s.order[0].mass == Mass::grams(544 + 5.44 - 3));
  CHECK(s.order[1].portions == 5);
  CHECK(s.residue == Mass::grams(6));
  CHECK(s.left == Mass());
}

TEST_CASE("a plan_cup that holds no more than what stays in it pours nothing, and that is said") {
  SplitPlan plan;
  plan.residue = Mass::grams(3);
  plan.steps = {one(Technique::solid, {plan_cup("dab", 2), plan_cup("all", 98)})};
  const auto p = plan_split(Mass::grams(100), plan, {});
  REQUIRE(p);
  check_balance(*p, Mass::grams(100));
  CHECK(p->steps[0].order[0].mass == Mass());
  CHECK(p->poured() == Mass::grams(95));
  REQUIRE(p->notes.size() >= 1);
  CHECK(p->notes.back().code == "colour-short");
  CHECK(p->notes.back().warning);
}

TEST_CASE("layers take turns, each colour's share divided over its own") {
  SplitPlan plan;
  plan.steps = {one(Technique::layered, {plan_cup("rust", 60), plan_cup("chalk", 40)})};
  plan.steps[0].portions = 5;
  const auto p = plan_split(Mass::grams(500), plan, {});
  REQUIRE(p);
  check_balance(*p, Mass::grams(500));
  const auto& order = p->steps[0].order;
  REQUIRE(order.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) {
    CHECK(order[i].cup == i % 2);
    CHECK(order[i].mass == Mass::grams(100));  // 300 in three turns, 200 in two
  }
}

TEST_CASE("the remainder of a light step is tinted into the next, and counts towards its ceiling") {
  SplitPlan plan;
  plan.residue = Mass::grams(2);
  plan.working_time = minutes(14);
  SplitStep light = one(Technique::solid, {plan_cup("chalk", 100, {plan_dose("Chalk", 1)})});
  light.pour = Mass::grams(400);
  SplitStep dark = one(Technique::solid, {plan_cup("kelp", 100, {plan_dose("Kelp", 1.5)})});
  dark.name = "knobs";
  dark.carry = true;
  plan.steps = {light, dark};
  SplitOptions options;
  options.known = {pigment("Chalk", 94), pigment("Kelp", 41)};
  const auto p = plan_split(Mass::grams(640), plan, options);
  REQUIRE(p);
  check_balance(*p, Mass::grams(640));
  // 640 + 6.4 of Chalk, less 2 that stick and 400 poured.
  CHECK(p->steps[0].left == Mass::grams(244.4));
  CHECK(p->steps[1].carried == Mass::grams(244.4));
  CHECK(p->steps[1].carried_pigment.in_percent() == doctest::Approx(1).epsilon(1e-3));
  CHECK(p->steps[1].cups[0].mix == Mass::grams(244));
  CHECK(p->steps[1].cups[0].pigment == Mass::grams(3.66));
  CHECK_FALSE(noted(*p, "light-after-dark"));
  CHECK(in_minutes(p->steps[1].to) == 7);  // 3 to mix, then a minute a plan_cup and one for the pour, twice
  plan.steps[1].cups = {plan_cup("kelp", 100, {plan_dose("Kelp", 2.5)})};
  const auto over = plan_split(Mass::grams(640), plan, options);
  REQUIRE_FALSE(over);
  CHECK(over.error().code == Code::pigment_over_ceiling);
  CHECK(over.error().text.find("in it already") != std::string::npos);
  std::swap(plan.steps[0].cups, plan.steps[1].cups);
  plan.steps[0].cups[0].pigments[0].dose = Ratio::percent(1);
  CHECK(noted(*plan_split(Mass::grams(640), plan, options), "light-after-dark"));
}

TEST_CASE("the clock is held against the working time") {
  SplitPlan plan;
  plan.working_time = minutes(6);
  SplitStep s = one(Technique::solid, {plan_cup("a", 100)});
  s.share = Ratio::percent(30);
  plan.steps = {s, s, s};
  const auto p = plan_split(Mass::grams(600), plan, {});
  REQUIRE(p);
  CHECK(std::count_if(p->notes.begin(), p->notes.end(),
                      [](const Note& n) { return n.code == "past-working-time"; }) == 2);
  CHECK(p->bucket == Mass::grams(60));
}

TEST_CASE("steps that cannot be are refused") {
  SplitPlan plan;
  const auto code = [&] { return plan_split(Mass::grams(500), plan, {}).error().code; };
  CHECK(code() == Code::usage);
  plan.steps = {one(Technique::side_by_side, {plan_cup("a", 100)})};
  CHECK(code() == Code::usage);
  plan.steps = {one(Technique::layered, {plan_cup("a", 100)})};
  CHECK(code() == Code::usage);
  plan.steps = {one(Technique::solid, {plan_cup("a", 100)})};
  plan.steps[0].take = Mass::grams(501);
  CHECK(code() == Code::amount_not_positive);
  plan.steps[0].take.reset();
  plan.steps[0].carry = true;
  CHECK(code() == Code::amount_not_positive);
  plan.steps = {one(Technique::solid, {plan_cup("a", 99)})};
  CHECK(code() == Code::shares_invalid);
}

TEST_CASE("a pigment's own liquid shows in the ratio, its drops are counted") {
  SplitOptions o;
  o.known = {pigment("Kelp", 41)};
  o.known[0].liquid_share = Ratio::percent(55);
  o.known[0].drop = Mass::grams(0.05);
  o.ratio = Ratio::of(3.2);
  o.whole_per_liquid = 4.2;
  SplitPlan plan;
  plan.steps = {one(Technique::solid, {plan_cup("sea", 100, {plan_dose("Kelp", 2.4)})})};
  const auto p = plan_split(Mass::grams(500), plan, o);
  REQUIRE(p);
  CHECK(p->steps[0].cups[0].drops == std::vector<int>{240});  // 12 g
  const auto note =
      std::find_if(p->notes.begin(), p->notes.end(), [](const Note& n) { return n.code == "ratio-shifted"; });
  REQUIRE(note != p->notes.end());
  // 500 g hold 119.05 g of liquid and 380.95 g of powder; 12 g of paste bring 6.6 g: 380.95/125.65.
  CHECK(note->text.find("3.03 instead of 3.2") != std::string::npos);
}

TEST_CASE(
    "10,000 random plans: nothing lost, nothing invented, every plan_cup within one step of its share") {
  std::mt19937_64 random(5772);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  for (int i = 0; i < 10'000; ++i) {
    SplitOptions o;
    const double steps[] = {0.01, 0.1, 1, 2};
    o.scale_step = Mass::grams(steps[random() % 4]);
    o.pigment_ceiling = Ratio::percent(30);
    SplitPlan plan;
    plan.residue = Mass::grams(std::floor(between(0, 600)) / 100);
    for (std::size_t k = 1 + random() % 4, s = 0; s < k; ++s) {
      SplitStep step;
      step.name = "s";
      const std::size_t cups = 2 + random() % 3;
      step.technique = static_cast<Technique>(random() % 4);
      if (step.technique == Technique::side_by_side && cups != 2) step.technique = Technique::layered;
      for (std::size_t c = 0; c < cups; ++c) {
        Cup one_cup{
            std::string(1, static_cast<char>('a' + c)), Ratio::percent(std::floor(between(5, 24))), {}};
        if (c + 1 == cups) one_cup.share.reset();
        for (auto d = random() % 3; d > 0; --d)
          one_cup.pigments.push_back({"P" + std::to_string(d), Ratio::percent(between(0.05, 1.5))});
        step.cups.push_back(std::move(one_cup));
      }
      step.portions = static_cast<int>(random() % 9);
      step.share = Ratio::percent(between(1, 95.0 / static_cast<double>(k)));
      step.carry = s > 0 && plan.steps.back().pour.has_value() && random() % 2 == 0;
      if (random() % 2 == 0) step.pour = Mass::grams(between(1, 40));
      plan.steps.push_back(std::move(step));
    }
    const Mass total = Mass::grams(std::floor(between(40'000, 900'000)) / 100);
    const auto p = plan_split(total, plan, o);
    if (!p) {
      // A step that left nothing cannot be carried on; nothing else may fail here.
      REQUIRE(p.error().code == Code::amount_not_positive);
      continue;
    }
    check_balance(*p, total);
    for (std::size_t s = 0; s < p->steps.size(); ++s) {
      const FilledStep& f = p->steps[s];
      Mass cups;
      for (const FilledCup& c : f.cups) cups += c.mix;
      if (f.aside == Mass()) REQUIRE(f.plain + f.carried - cups < o.scale_step);
      for (const FilledCup& c : f.cups) {
        REQUIRE(c.mix.in_micrograms() % o.scale_step.in_micrograms() == 0);
        REQUIRE(std::abs(c.mix.in_grams() - cups.in_grams() * c.share.value()) <
                o.scale_step.in_grams() + 1e-4);
        for (std::size_t d = 0; d < c.pigments.size(); ++d)
          REQUIRE(std::abs(c.pigments[d].mass.in_grams() -
                           c.mix.in_grams() * plan.steps[s]
                                                  .cups[static_cast<std::size_t>(&c - f.cups.data())]
                                                  .pigments[d]
                                                  .dose.value()) <= o.pigment_step.in_grams() / 2 + 1e-6);
      }
    }
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix house_mix() {
  return support::demo_mix();
}

MoldDemand mold(std::string name, double ml, int copies = 1, double spread = 0) {
  MoldDemand demand{std::move(name), copies, Interval<Volume>::exactly(millilitres(ml))};
  demand.fill.low = millilitres(ml * (1 - spread));
  demand.fill.high = millilitres(ml * (1 + spread));
  if (spread > 0) demand.fill.reasons.push_back({"brim", spread});
  return demand;
}
Mass sum_of(const std::vector<Part>& parts) {
  Mass total;
  for (const Part& p : parts) total += p.mass;
  return total;
}
/// Every promise about sums, for any tray.
void check_margins(const Tray& t, Mass step) {
  REQUIRE(sum_of(t.total.parts) == t.total.mix);
  Mass rows;
  std::vector<Part> columns = t.total.parts;
  for (const MoldRow& row : t.rows) {
    REQUIRE(row.parts.size() == columns.size());
    REQUIRE(sum_of(row.parts) == row.mix.value);
    REQUIRE(row.mix.low <= row.mix.value);
    REQUIRE(row.mix.value <= row.mix.high);
    for (std::size_t k = 0; k < columns.size(); ++k) {
      REQUIRE(row.parts[k].name == columns[k].name);
      REQUIRE(row.parts[k].mass >= Mass{});
      REQUIRE(row.parts[k].mass.in_micrograms() % step.in_micrograms() == 0);
      columns[k].mass = columns[k].mass - row.parts[k].mass;
    }
    rows += row.mix.value;
  }
  REQUIRE(rows == t.total.mix);
  for (const Part& left : columns) REQUIRE(left.mass == Mass{});
}

}  // namespace

TEST_CASE("one mold: volume times density plus the allowance") {
  RecipeOptions options;
  options.allowance = Ratio::percent(5);
  const auto t = weigh_tray(house_mix(), {mold("dish", 100)}, options);
  REQUIRE(t);
  check_margins(*t, options.scale_step);
  REQUIRE(t->rows.size() == 1);
  // 100 mL · 1.86 g/mL · 1.05 = 195.3 g: 46 g of liquid take 147, which is 193; 47 take 150, which is 197.
  CHECK(t->total.mix == Mass::grams(197));
  CHECK(t->rows[0].mix.value == Mass::grams(197));
  // ± 2 % of density on 195.3 g.
  CHECK(t->rows[0].mix.low.in_grams() == doctest::Approx(191.394).epsilon(1e-9));
  CHECK(t->rows[0].mix.high.in_grams() == doctest::Approx(199.206).epsilon(1e-9));
  REQUIRE(t->rows[0].mix.reasons.size() == 2);
  CHECK(t->rows[0].mix.reasons[0].text == "density of the mix (cup test)");
  CHECK(t->rows[0].mix.reasons[0].share == doctest::Approx(0.02));
  CHECK(t->rows[0].mix.reasons[1].text == "rounding to the scale's step");
}

TEST_CASE("volume and density are combined at their worst, and the reasons stand in order of size") {
  RecipeOptions options;
  options.scale_step = Mass::grams(0.01);
  const auto t = weigh_tray(house_mix(), {mold("scan", 200, 3, 0.04)}, options);
  REQUIRE(t);
  const MoldRow& row = t->rows[0];
  CHECK(row.copies == 3);
  CHECK(row.mix.low.in_grams() == doctest::Approx(3 * 200 * 0.96 * 1.86 * 0.98).epsilon(1e-9));
  CHECK(row.mix.high.in_grams() == doctest::Approx(3 * 200 * 1.04 * 1.86 * 1.02).epsilon(1e-9));
  REQUIRE(row.mix.reasons.size() >= 2);
  CHECK(row.mix.reasons[0].text == "brim");
  CHECK(std::is_sorted(row.mix.reasons.begin(), row.mix.reasons.end(),
                       [](const Reason& a, const Reason& b) { return a.share > b.share; }));
}

TEST_CASE("two equal molds share a batch that does not halve") {
  Mix mix = house_mix();
  mix.ratio = Ratio::of(2);
  mix.density = grams_per_millilitre(1);
  RecipeOptions options;
  const auto t = weigh_tray(mix, {mold("a", 4), mold("b", 4)}, options);
  REQUIRE(t);  // 8 g wanted: 3 + 6
  check_margins(*t, options.scale_step);
  CHECK(t->total.mix == Mass::grams(9));
  CHECK(t->rows[0].mix.value == Mass::grams(5));
  CHECK(t->rows[1].mix.value == Mass::grams(4));
}

TEST_CASE("molds that hold nothing are refused by name") {
  const Mix mix = house_mix();
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  for (const double ml : {0.0, -1.0, nan, inf}) {
    const auto t = weigh_tray(mix, {mold("good", 10), mold("bad one", ml)}, {});
    REQUIRE_FALSE(t);
    CHECK(t.error().code == Code::amount_not_positive);
    CHECK(t.error().text.find("bad one") != std::string::npos);
  }
  CHECK(weigh_tray(mix, {}, {}).error().code == Code::amount_not_positive);
  CHECK(weigh_tray(mix, {mold("m", 10, 0)}, {}).error().code == Code::usage);
  CHECK(weigh_tray(mix, {mold("m", 1e9, 1000)}, {}).error().code == Code::bad_quantity);
  CHECK(weigh_tray(mix, {mold("m", 1e-9)}, {}).error().code == Code::amount_not_positive);
  std::vector<MoldDemand> many(5'000, mold("m", 4e8));
  CHECK(weigh_tray(mix, many, {}).error().code == Code::bad_quantity);
  RecipeOptions options;
  options.allowance = Ratio::percent(-1);
  CHECK(weigh_tray(mix, {mold("m", 10)}, options).error().code == Code::bad_number);
  Mix weightless = mix;
  weightless.density = Density{};
  CHECK(weigh_tray(weightless, {mold("m", 10)}, {}).error().code == Code::bad_number);
  options = {};
  options.pigments = {{"Kelp", Ratio::percent(4)}};
  CHECK(weigh_tray(mix, {mold("m", 10)}, options).error().code == Code::pigment_over_ceiling);
}

TEST_CASE("random trays: both margins exact, every row and cell near its need") {
  std::mt19937_64 random(2718);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  for (int i = 0; i < 3'000; ++i) {
    Mix mix = house_mix();
    mix.ratio = Ratio::of(between(0.05, 20));
    mix.density = grams_per_millilitre(between(0.5, 4));
    RecipeOptions options;
    options.scale_step = Mass::grams(std::pow(10, between(-2, 1)));
    options.allowance = Ratio::percent(between(0, 20));
    for (std::size_t k = random() % 4; k > 0; --k)
      options.pigments.push_back({"P", Ratio::percent(between(0, 1))});
    std::vector<MoldDemand> molds(1 + random() % 12);
    for (MoldDemand& m : molds)
      m = mold("m", std::pow(10, between(-1, 4)), static_cast<int>(random() % 30 + 1), between(0, 0.1));
    const auto t = weigh_tray(mix, molds, options);
    REQUIRE(t);
    check_margins(*t, options.scale_step);
    const double step = options.scale_step.in_grams(), all = t->total.mix.in_grams();
    double needs = 0;
    for (std::size_t m = 0; m < molds.size(); ++m) {
      const double need = in_millilitres(molds[m].fill.value) * in_grams_per_millilitre(mix.density) *
                          molds[m].copies * (1 + options.allowance.value());
      needs += need;
      REQUIRE(t->rows[m].mix.value.in_grams() > need - step - 1e-4);
      for (std::size_t k = 0; k < t->total.parts.size(); ++k) {
        const double share = t->rows[m].mix.value.in_grams() * t->total.parts[k].mass.in_grams() / all;
        REQUIRE(std::abs(t->rows[m].parts[k].mass.in_grams() - share) <
                (1 + static_cast<double>(options.pigments.size())) * step + 1e-9);
      }
    }
    REQUIRE(all >= needs - 1e-3);
  }
}

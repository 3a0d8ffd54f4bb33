// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix mix_of(Ratio ratio) {
  Mix mix;
  mix.key = mix.name = "test";
  mix.ratio = ratio;
  mix.density = grams_per_millilitre(1.86);
  mix.density_spread = Ratio::percent(2);
  mix.pigment_ceiling = Ratio::percent(3);
  return mix;
}
RecipeOptions on_scale(double step) {
  RecipeOptions options;
  options.scale_step = Mass::grams(step);
  return options;
}
Mass part_of(const Recipe& r, std::string_view name) {
  for (const Part& p : r.parts)
    if (p.name == name) return p.mass;
  FAIL("no part_of of that name");
  return {};
}
bool recipe_noted(const Recipe& r, std::string_view code) {
  return std::any_of(r.notes.begin(), r.notes.end(), [&](const Note& n) { return n.code == code; });
}
Mass total_of(const std::vector<Part>& parts) {
  Mass total;
  for (const Part& p : parts) total += p.mass;
  return total;
}

}  // namespace

TEST_CASE("the liquid in the cup decides the powder") {
  const Mix mix = mix_of(*parse_ratio("3.2"));
  const auto fine = weigh_for_liquid(mix, Mass::grams(102), on_scale(0.1));
  REQUIRE(fine);
  CHECK(part_of(*fine, "liquid") == Mass::grams(102));
  CHECK(part_of(*fine, "powder") == Mass::micrograms(326'400'000));
  CHECK(fine->mix == Mass::micrograms(428'400'000));
  CHECK(fine->ratio_weighed.in_millionths() == 3'200'000);
  CHECK(fine->drift == Ratio{});
  CHECK(fine->notes.empty());
  const auto coarse = weigh_for_liquid(mix, Mass::grams(102), on_scale(1));
  REQUIRE(coarse);
  CHECK(part_of(*coarse, "powder") == Mass::grams(326));
  CHECK(coarse->ratio_weighed.in_millionths() == 3'196'078);  // 326/102
  CHECK(coarse->drift.in_millionths() == -1'226);             // −0.4 g of 326.4 g
}

TEST_CASE("liquid off the scale's step is kept as it is") {
  const auto r = weigh_for_liquid(mix_of(Ratio::of(3.2)), Mass::grams(102.37), on_scale(1));
  REQUIRE(r);
  CHECK(part_of(*r, "liquid") == Mass::grams(102.37));
  CHECK(part_of(*r, "powder") == Mass::grams(328));  // 327.584
  CHECK(r->mix == total_of(r->parts));
}

// Derived from liquid = total/(1+r): 1000 g on a 0.01 g scale, the tolerance being the scale's step.
TEST_CASE("a kilogram at the usual ratios") {
  for (const auto& [ratio, liquid] : {std::pair{2.0, 333.33}, std::pair{2.5, 285.71}, std::pair{3.2, 238.10},
                                      std::pair{4.0, 200.00}, std::pair{5.0, 166.67}}) {
    CAPTURE(ratio);
    const auto r = weigh_for_total(mix_of(Ratio::of(ratio)), Mass::grams(1000), on_scale(0.01));
    REQUIRE(r);
    CHECK(std::abs(part_of(*r, "liquid").in_grams() - liquid) < 0.0101);
    CHECK(r->mix >= Mass::grams(1000));
    CHECK(r->mix <= Mass::grams(1000.06));
  }
}

TEST_CASE("the liquid is the smallest that suffices") {
  // 1000/4.2 = 238.095: 238 g takes 761.6, so 762 g of powder, which just makes the kilogram.
  const auto just = weigh_for_total(mix_of(Ratio::of(3.2)), Mass::grams(1000), on_scale(1));
  REQUIRE(just);
  CHECK(part_of(*just, "liquid") == Mass::grams(238));
  CHECK(part_of(*just, "powder") == Mass::grams(762));
  CHECK(just->mix == Mass::grams(1000));
  // One gram more has to raise the liquid by a step, and the powder with it.
  const auto more = weigh_for_total(mix_of(Ratio::of(3.2)), Mass::grams(1001), on_scale(1));
  REQUIRE(more);
  CHECK(part_of(*more, "liquid") == Mass::grams(239));
  CHECK(part_of(*more, "powder") == Mass::grams(765));  // 764.8
}

TEST_CASE("pigments count towards the total and follow liquid and powder") {
  RecipeOptions options = on_scale(0.1);
  options.pigments = {{"Kelp", Ratio::percent(2)}, {"Chalk", Ratio::percent(0.5)}};
  Mix mix = mix_of(Ratio::of(3.2));
  mix.liquid_name = "acrylic";
  const auto r = weigh_for_total(mix, Mass::grams(1000), options);
  REQUIRE(r);
  REQUIRE(r->parts.size() == 4);
  CHECK(r->parts[0].name == "acrylic");
  CHECK(r->parts[1].name == "powder");
  CHECK(r->parts[2].name == "Kelp");
  CHECK(r->parts[3].name == "Chalk");
  CHECK(r->mix >= Mass::grams(1000));
  CHECK(r->mix <= Mass::grams(1000.8));
  const double base = (r->parts[0].mass + r->parts[1].mass).in_grams();
  CHECK(std::abs(r->parts[2].mass.in_grams() - 0.02 * base) <= 0.0500001);
  CHECK(std::abs(r->parts[3].mass.in_grams() - 0.005 * base) <= 0.0500001);
  CHECK_FALSE(recipe_noted(*r, "pigment-near-ceiling"));
  options.pigments[1].dose = Ratio::percent(0.8);
  CHECK(recipe_noted(*weigh_for_total(mix, Mass::grams(1000), options), "pigment-near-ceiling"));
  options.pigments[1].dose = Ratio::percent(1.1);
  CHECK(weigh_for_total(mix, Mass::grams(1000), options).error().code == Code::pigment_over_ceiling);
  CHECK(weigh_for_liquid(mix, Mass::grams(100), options).error().code == Code::pigment_over_ceiling);
}

TEST_CASE("a step too coarse is warned about part_of by part_of") {
  RecipeOptions options = on_scale(1);
  options.pigments = {{"Kelp", Ratio::percent(2)}};
  const auto r = weigh_for_total(mix_of(Ratio::of(3.2)), Mass::grams(1000), options);
  REQUIRE(r);
  REQUIRE(r->notes.size() == 1);  // 20 g of pigment; liquid and powder have hundreds of steps
  CHECK(r->notes[0].code == "step-too-coarse");
  CHECK(r->notes[0].text.find("Kelp") != std::string::npos);
  CHECK(r->notes[0].text.find("0.2 g is enough") != std::string::npos);
}

TEST_CASE("a drift of the ratio that shows is recipe_noted") {
  const auto small = weigh_for_total(mix_of(Ratio::of(3.2)), Mass::grams(20), on_scale(1));
  REQUIRE(small);  // 5 g and 16 g
  CHECK(small->drift == Ratio{});
  const auto off = weigh_for_total(mix_of(Ratio::of(3.2)), Mass::grams(13), on_scale(1));
  REQUIRE(off);  // 3 g takes 9.6, so 10 g
  CHECK(off->ratio_weighed.in_millionths() == 3'333'333);
  CHECK(off->drift.in_millionths() == 41'667);
  CHECK(recipe_noted(*off, "ratio-drift"));
}

TEST_CASE("senseless orders are refused") {
  const Mix mix = mix_of(Ratio::of(3.2));
  const Mass kilogram = Mass::grams(1000);
  CHECK(weigh_for_total(mix, Mass{}, on_scale(1)).error().code == Code::amount_not_positive);
  CHECK(weigh_for_total(mix, Mass::grams(-1), on_scale(1)).error().code == Code::amount_not_positive);
  CHECK(weigh_for_liquid(mix, Mass{}, on_scale(1)).error().code == Code::amount_not_positive);
  CHECK(weigh_for_total(mix, Mass::micrograms(INT64_MAX), on_scale(1)).error().code == Code::bad_quantity);
  CHECK(weigh_for_total(mix, kilogram, on_scale(0)).error().code == Code::bad_quantity);
  CHECK(weigh_for_total(mix, kilogram, on_scale(-1)).error().code == Code::bad_quantity);
  CHECK(weigh_for_total(mix, kilogram, on_scale(1e9)).error().code == Code::bad_quantity);
  CHECK(weigh_for_total(mix_of(Ratio{}), kilogram, on_scale(1)).error().code == Code::bad_number);
  CHECK(weigh_for_total(mix_of(Ratio::of(-3.2)), kilogram, on_scale(1)).error().code == Code::bad_number);
  CHECK(weigh_for_total(mix_of(Ratio::of(1001)), kilogram, on_scale(1)).error().code == Code::bad_number);
}

TEST_CASE("the extremes that are allowed stay within 64 bits") {
  for (const double ratio : {1e-6, 0.05, 20.0, 1000.0})
    for (const double step : {1e-6, 1.0, 1e6})
      for (const double grams : {1e-6, 1.0, 1e9}) {
        CAPTURE(ratio);
        CAPTURE(step);
        CAPTURE(grams);
        const auto r = weigh_for_total(mix_of(Ratio::of(ratio)), Mass::grams(grams), on_scale(step));
        const auto l = weigh_for_liquid(mix_of(Ratio::of(ratio)), Mass::grams(grams), on_scale(step));
        for (const auto* each : {&r, &l}) {
          if (*each) {
            CHECK((*each)->mix == total_of((*each)->parts));
            CHECK(mass_of((*each)->parts, PartKind::powder) > Mass());
          } else {  // a batch without powder is no mix
            CHECK(each->error().code == Code::bad_quantity);
            CHECK(each->error().text.find("less powder than one step") != std::string::npos);
          }
        }
        if (r) CHECK(r->mix >= Mass::grams(grams));
        if (grams * ratio > 10 * step) CHECK((r && l));
      }
}

// The bound of the header: a batch exceeds what was wanted by fewer than (2+r)(1+D) + k steps, where D is the
// total_of of the k doses; one step of liquid less would not have been enough.
TEST_CASE("random batches: never short, never far over, exactly the total_of of whole steps") {
  std::mt19937_64 random(31337);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  double widest = 0;
  for (int i = 0; i < 20'000; ++i) {
    const Mix mix = mix_of(Ratio::of(between(0.05, 20)));
    RecipeOptions options = on_scale(std::pow(10, between(-2.5, 1)));
    double doses = 0;
    for (std::size_t k = random() % 4; k > 0; --k) {
      options.pigments.push_back({"P", Ratio::percent(between(0, 1))});
      doses += options.pigments.back().dose.value();
    }
    const Mass wanted = Mass::grams(std::pow(10, between(-1, 5)));
    const auto r = weigh_for_total(mix, wanted, options);
    if (!r) {  // only a batch of a step or two, with less powder than that
      REQUIRE(wanted.in_grams() * mix.ratio.value() < 4 * options.scale_step.in_grams());
      continue;
    }
    REQUIRE(r->mix == total_of(r->parts));
    REQUIRE(r->mix >= wanted);
    for (const Part& p : r->parts) REQUIRE(p.mass.in_micrograms() % options.scale_step.in_micrograms() == 0);
    const double over = (r->mix - wanted).in_grams() / options.scale_step.in_grams();
    const double bound = (2 + mix.ratio.value()) * (1 + doses) + static_cast<double>(options.pigments.size());
    REQUIRE(over < bound);
    widest = std::max(widest, over / bound);
    const double liquid = r->parts[0].mass.in_grams(), powder = r->parts[1].mass.in_grams();
    REQUIRE(std::abs(powder - mix.ratio.value() * liquid) <= 0.5 * options.scale_step.in_grams() + 1e-9);
  }
  CHECK(widest > 0.5);  // the bound is not idle
}

TEST_CASE("batches grow with what is wanted") {
  std::mt19937_64 random(5);
  for (int i = 0; i < 200; ++i) {
    const Mix mix = mix_of(Ratio::millionths(static_cast<std::int64_t>(random() % 19'950'000 + 50'000)));
    RecipeOptions options = on_scale(0.1);
    options.pigments = {{"A", Ratio::percent(1.1)}, {"B", Ratio::percent(0.3)}};
    Recipe last;
    for (Mass wanted = Mass::grams(5); wanted < Mass::grams(15); wanted += Mass::micrograms(73'000)) {
      const auto r = weigh_for_total(mix, wanted, options);
      REQUIRE(r);
      REQUIRE(r->mix >= last.mix);
      if (!last.parts.empty())
        for (std::size_t k = 0; k < r->parts.size(); ++k) REQUIRE(r->parts[k].mass >= last.parts[k].mass);
      last = *r;
    }
  }
}

// The plain search from nothing upwards, as the twin of the halving.
TEST_CASE("the smallest liquid agrees with counting up") {
  std::mt19937_64 random(6);
  for (int i = 0; i < 2'000; ++i) {
    const auto ratio = static_cast<std::int64_t>(random() % 19'950'000 + 50'000);
    const auto wanted = static_cast<std::int64_t>(random() % 3'000 + 1);
    std::int64_t liquid = 0;
    while (liquid + multiply_divide(liquid, ratio, 1'000'000) < wanted) ++liquid;
    const auto r = weigh_for_total(mix_of(Ratio::millionths(ratio)), Mass::grams(1) * wanted, on_scale(1));
    REQUIRE(r);
    REQUIRE(r->parts[0].mass == Mass::grams(1) * liquid);
  }
}

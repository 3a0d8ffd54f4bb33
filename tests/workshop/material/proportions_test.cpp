// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix two_parts() {
  Mix mix;
  mix.ratio = Ratio::of(2.5);
  mix.liquid_density = grams_per_millilitre(1.05);
  mix.powder_density = grams_per_millilitre(2.63);
  mix.density_from = DensityFrom::components;
  return mix;
}
Component part(ComponentKind kind, double per_liquid, double share, double density) {
  return {std::string(name(kind)), kind, Ratio::of(per_liquid), Ratio::percent(share),
          grams_per_millilitre(density)};
}

}  // namespace

TEST_CASE("two parts: the mixture rule, less the air") {
  Mix mix = two_parts();
  CHECK(in_grams_per_millilitre(poured_density(mix)) ==
        doctest::Approx(3.5 / (2.5 / 2.63 + 1 / 1.05)).epsilon(1e-12));
  CHECK(in_grams_per_millilitre(poured_density(mix)) == doctest::Approx(1.8392).epsilon(1e-4));
  mix.air = Ratio::percent(4.852);
  CHECK(in_grams_per_millilitre(poured_density(mix)) == doctest::Approx(1.750).epsilon(1e-4));
}

TEST_CASE("shares are of the whole: liquid 1, powder 2.5, filler 20 % of everything") {
  Mix mix = two_parts();
  mix.components = {part(ComponentKind::retarder, 0.05, 0, 1.1), part(ComponentKind::filler, 0, 20, 2.4)};
  const auto all = proportions(mix);
  REQUIRE(all.size() == 4);
  CHECK(all[0].millionths == 1'000'000);
  CHECK(all[1].name == "retarder");
  CHECK(all[1].millionths == 50'000);
  CHECK(all[2].millionths == 2'500'000);
  CHECK(all[3].millionths == 887'500);  // 3.55/0.8 · 0.2
  std::int64_t whole = 0;
  for (const Proportion& p : all) whole += p.millionths;
  CHECK(all[3].millionths * 5 == whole);
}

// Chips displace mix: of volume V, m of chips at ρc leave (V − m/ρc) to a mix of density ρ.
TEST_CASE("chips take up their own volume in a mix of measured density") {
  Mix mix;
  mix.ratio = Ratio::of(3.2);
  mix.density_from = DensityFrom::cup_test;
  mix.without_chips = grams_per_millilitre(1.8);
  mix.components = {part(ComponentKind::chips, 0, 30, 2.0)};
  const double whole = in_grams_per_millilitre(poured_density(mix)) * 1000;  // of a litre
  const double chips = 0.3 * whole;
  CHECK(whole - chips == doctest::Approx((1000 - chips / 2.0) * 1.8).epsilon(1e-6));
}

TEST_CASE("random mixes: masses and volumes of the parts are those of the whole") {
  std::mt19937_64 random(42);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  for (int i = 0; i < 10'000; ++i) {
    Mix mix = two_parts();
    mix.ratio = Ratio::of(between(0.05, 20));
    mix.air = Ratio::percent(between(0, 10));
    for (auto k = random() % 6; k > 0; --k) {
      const auto kind = static_cast<ComponentKind>(random() % 8);
      const bool share = random() % 2 == 0;
      mix.components.push_back(
          part(kind, share ? 0 : between(0.001, 2), share ? between(0.01, 15) : 0, between(0.2, 5)));
    }
    double mass = 0, fresh = 0, chips = 0;
    for (const Proportion& p : proportions(mix)) {
      const double m = static_cast<double>(p.millionths);
      mass += m;
      (p.kind == ComponentKind::chips ? chips : fresh) += m / in_grams_per_millilitre(*p.density);
    }
    REQUIRE(in_grams_per_millilitre(poured_density(mix)) ==
            doctest::Approx(mass / (fresh / (1 - mix.air.value()) + chips)).epsilon(1e-9));
    for (const Component& c : mix.components)
      if (c.share > Ratio()) {
        bool there = false;  // kinds repeat, so any part of that share will do
        for (const Proportion& p : proportions(mix))
          there |=
              p.kind == c.kind && std::abs(static_cast<double>(p.millionths) / mass - c.share.value()) < 1e-6;
        REQUIRE(there);
      }
  }
}

TEST_CASE(
    "kinds of parts: five words, each the way back; water alone of what a mix has beside is no component") {
  for (const PartKind kind :
       {PartKind::liquid, PartKind::powder, PartKind::pigment, PartKind::component, PartKind::water})
    CHECK(part_kind(name(kind)) == kind);
  CHECK(name(PartKind::pigment) == "pigment");
  CHECK(!part_kind("chips"));
  CHECK(!part_kind(""));
  for (int k = 0; k <= static_cast<int>(ComponentKind::chips); ++k) {
    const auto kind = static_cast<ComponentKind>(k);
    CHECK(part_kind(kind) == (kind == ComponentKind::water ? PartKind::water : PartKind::component));
    CHECK(is_further(part_kind(kind)));
  }
  CHECK(!is_further(PartKind::pigment));
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/material/built_in.hpp"

#include <pourwright/material.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix built_in(std::string_view name) {
  const auto mix = find_mix(built_in_catalogue(), name);
  REQUIRE_MESSAGE(mix.has_value(), name);
  return *mix;
}

}  // namespace

TEST_CASE("the built-in catalogue is valid and complete") {
  const auto parsed = parse_catalogue(material::built_in_text(), "built-in");
  REQUIRE_MESSAGE(parsed.has_value(), parsed.error().text);
  const Catalogue& c = built_in_catalogue();
  CHECK(c.mixes.size() == 3);
  CHECK(c.pigments.size() == 4);
  CHECK(c.scales.empty());  // whose would they be?
  for (const Mix& mix : c.mixes) {
    CAPTURE(mix.key);
    CHECK_FALSE(mix.name.empty());
    CHECK_FALSE(mix.description.empty());
    CHECK_FALSE(mix.cautions.empty());
    CHECK(in_minutes(mix.working_time) > 0);
    CHECK(mix.demold_time > mix.working_time);
    CHECK(mix.density_spread > Ratio{});
  }
}

TEST_CASE("nobody weighed what is built in, and none of it passes as weighed") {
  for (const Mix& mix : built_in_catalogue().mixes) {
    CAPTURE(mix.key);
    CHECK_FALSE(is_weighed(mix));
    CHECK(mix.density_spread == Ratio::percent(7));
  }
  CHECK(built_in(built_in_catalogue().default_mix).key == "mineral-composite");
}

TEST_CASE("the demo workshop's mixes have cup tests of their own") {
  const Mix standard = support::demo_mix(support::demo_catalogue().default_mix);
  CHECK(standard.name == "Boathouse 3.2");
  CHECK(standard.ratio.in_millionths() == 3'200'000);
  CHECK(in_grams_per_millilitre(standard.density) == 1.86);
  CHECK(standard.density_from == DensityFrom::cup_test);
  CHECK(is_weighed(standard));
  CHECK(in_minutes(standard.working_time) == 14);
  CHECK(in_minutes(standard.demold_time) == 45);
  CHECK(standard.pigment_ceiling == Ratio::percent(3));
  const Mix fine = support::demo_mix("Boathouse fine");
  CHECK(fine.ratio == Ratio::of(2.5));
  CHECK(in_grams_per_millilitre(fine.density) == 1.74);
  const Mix slip = support::demo_mix("slip plaster");
  CHECK(slip.ratio == Ratio::of(1.4));
  CHECK(in_grams_per_millilitre(slip.density) == 1.58);
  CHECK(slip.liquid_name == "water");
}

// ASTM C979/C979M-16, clause 1.4, and EN 12878: at most 10 % of the binder's mass; the strongest oxides are
// said to saturate from 6 % on. Makers' habit for liquid colours in gypsum: 2 to 3 % of the whole, never
// above 5 %.
TEST_CASE("pigment ceilings keep to published limits") {
  for (const Mix& mix : built_in_catalogue().mixes) {
    CAPTURE(mix.key);
    const double of_mix = mix.pigment_ceiling.value(), r = mix.ratio.value();
    CHECK(of_mix > 0);
    CHECK(of_mix <= 0.03);
    CHECK(of_mix * (1 + r) / r < 0.06);
  }
}

TEST_CASE("the pigments' names") {
  const Catalogue& c = built_in_catalogue();
  const bool all_liquid =
      std::all_of(c.pigments.begin(), c.pigments.end(), [](const Pigment& p) { return p.liquid; });
  CHECK(all_liquid);
}

// Slurry density from the mixture rule with hemihydrate of 2.63 g/mL (Wirsching, Ullmann's, from memory).
TEST_CASE("the generic gypsum mixes carry the density of their slurry") {
  for (const auto& [name, water, slurry] :
       {std::tuple{"casting-plaster", 0.60, 1.632}, std::tuple{"hydraulic-gypsum", 0.30, 1.911}}) {
    CAPTURE(name);
    const Mix mix = built_in(name);
    CHECK(std::abs(mix.ratio.value() - 1 / water) < 0.005);
    CHECK(std::abs(in_grams_per_millilitre(mix.density) - slurry) < 0.005);
    CHECK(mix.density_from == DensityFrom::generic);
    const double r = mix.ratio.value();
    CHECK(std::abs((1 + r) / (r / 2.63 + 1) - in_grams_per_millilitre(mix.density)) < 0.005);
  }
}

// Common practice: poured composite weighs 1.7 to 1.8 g/mL. The stated spread has to cover that.
TEST_CASE("the generic composite is honest about how little is known") {
  const Mix mix = built_in("generic mineral composite");
  const double rho = in_grams_per_millilitre(mix.density), s = mix.density_spread.value();
  CHECK(rho * (1 - s) <= 1.7);
  CHECK(rho * (1 + s) >= 1.8);
}

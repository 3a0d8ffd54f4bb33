// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include <array>
#include <cmath>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

struct Row {
  double ratio, light, heavy;
};

/// Of liquid and powder mixed without air, both densities known: (1+r)/(r/ρp+1/ρl).
Density mixture_density(Ratio ratio, Density powder, Density liquid) {
  Mix mix;
  mix.ratio = ratio;
  mix.powder_density = powder;
  mix.liquid_density = liquid;
  mix.density_from = DensityFrom::components;
  return poured_density(mix);
}

}  // namespace

// Derived from the mixture rule, not published: powder of 2.63 and 2.757 g/mL, liquid of 1.05 g/mL (assumed).
TEST_CASE("mixture rule at the usual ratios") {
  for (const Row& row : std::array{Row{2, 1.7515, 1.7880}, Row{2.5, 1.8392, 1.8826}, Row{3.2, 1.9363, 1.9876},
                                   Row{4, 2.0216, 2.0805}, Row{5, 2.1027, 2.1692}}) {
    CAPTURE(row.ratio);
    const auto mixed = [&](double powder) {
      return in_grams_per_millilitre(
          mixture_density(Ratio::of(row.ratio), grams_per_millilitre(powder), grams_per_millilitre(1.05)));
    };
    CHECK(std::abs(mixed(2.63) - row.light) < 1e-4);
    CHECK(std::abs(mixed(2.757) - row.heavy) < 1e-4);
  }
}

// Derived: slurry of hemihydrate (2.63 g/mL) and water, density (1+w)/(1/2.63+w) at w g of water per g.
TEST_CASE("mixture rule gives the slurry densities of gypsum") {
  for (const auto& [water, slurry] :
       std::array{std::pair{0.3, 1.911}, std::pair{0.4, 1.794}, std::pair{0.5, 1.704}, std::pair{0.6, 1.632},
                  std::pair{0.7, 1.574}, std::pair{0.8, 1.525}}) {
    CAPTURE(water);
    const Density mixed =
        mixture_density(Ratio::of(1 / water), grams_per_millilitre(2.63), grams_per_millilitre(1));
    CHECK(std::abs(in_grams_per_millilitre(mixed) - slurry) < 1e-3);
  }
}

TEST_CASE("mixture rule: limits and bounds") {
  const Density p = grams_per_millilitre(2.63), l = grams_per_millilitre(1.05);
  CHECK(in_grams_per_millilitre(mixture_density(Ratio{}, p, l)) == doctest::Approx(1.05).epsilon(1e-15));
  CHECK(in_grams_per_millilitre(mixture_density(Ratio::of(1e6), p, l)) ==
        doctest::Approx(2.63).epsilon(1e-5));
  CHECK(in_grams_per_millilitre(mixture_density(Ratio::of(3.2), l, l)) ==
        doctest::Approx(1.05).epsilon(1e-15));
  Density last = l;
  for (double r = 0.1; r < 20; r += 0.1) {
    const Density mixed = mixture_density(Ratio::of(r), p, l);
    CHECK(mixed > last);
    CHECK(mixed < p);
    last = mixed;
  }
}

// Formulas of ASTM C138/C138M (density, yield, relative yield, air content); the numbers are constructed,
// since the standard's own worked example was not at hand. Reported to 1 kg/m³, 0.1 % air and 0.01 of yield.
TEST_CASE("air content from a filled measure, constructed in the manner of ASTM C138") {
  const double full = 435.0, empty = 85.0, millilitres_held = 200.0;
  const double poured = (full - empty) / millilitres_held;
  CHECK(std::abs(poured * 1000 - 1750) < 1);
  const Density air_free =
      mixture_density(Ratio::of(2.5), grams_per_millilitre(2.63), grams_per_millilitre(1.05));
  const double air = 1 - poured / in_grams_per_millilitre(air_free);
  CHECK(std::abs(100 * air - 4.9) < 0.06);
  const double litres = 1 / poured, litres_air_free = 1 / in_grams_per_millilitre(air_free);
  CHECK(std::abs(litres - 0.5714) < 1e-4);
  CHECK(std::abs(litres_air_free - 0.5437) < 1e-4);
  CHECK(std::abs(litres / litres_air_free - 1.05) < 0.005);
  CHECK(in_grams_per_millilitre(with_air(air_free, Ratio::of(air))) == doctest::Approx(1.75).epsilon(1e-6));
}

TEST_CASE("every origin of a density has its own words") {
  CHECK(name(DensityFrom::cup_test) == "cup test");
  CHECK(name(DensityFrom::components) == "computed from components, not weighed");
  CHECK(name(DensityFrom::generic) == "table, not weighed");
  CHECK(name(DensityFrom::option) == "given");
}

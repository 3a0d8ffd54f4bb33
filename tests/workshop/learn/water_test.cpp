// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/learn.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

double kg_per_m3(double t) {
  return in_grams_per_millilitre(water_density(celsius(t))) * 1000;
}
double z(double t, double hpa = 1013.25, double humidity = 50) {
  return millilitres_per_gram(celsius(t), {hpa, humidity, celsius(t)});
}

/// What a mold holds by one fill, read to 0.01 g.
Estimate<Volume> one_fill(Mass water, Temperature at) {
  Record r;
  r.what = WaterFill{"m", "", water, at, Mass::grams(0.01), ""};
  return capacity_of(std::nullopt, {r});
}

}  // namespace

// Tanaka et al., Metrologia 38 (2001) 301-309: values printed by pages that cite it, for 0, 10, 15, 20 and 30
// °C, and one with all digits for 20 °C. The rest are the formula's own, computed independently.
TEST_CASE("the density of water") {
  const double published[][2] = {
      {0, 999.8428}, {10, 999.7027}, {15, 999.1026}, {20, 998.2067}, {30, 995.6488}};
  for (const auto& [t, rho] : published) {
    CAPTURE(t);
    CHECK(kg_per_m3(t) == doctest::Approx(rho).epsilon(1e-7));
  }
  CHECK(kg_per_m3(20) == doctest::Approx(998.2067455596).epsilon(1e-12));
  CHECK(kg_per_m3(3.983035) ==
        doctest::Approx(999.97495).epsilon(1e-9));  // the maximum, by the formula's constants
  const double computed[][2] = {{4, 999.9749},  {5, 999.9668},  {18, 998.5984},
                                {21, 997.9950}, {22, 997.7730}, {23, 997.5408},
                                {25, 997.0470}, {35, 994.0326}, {40, 992.2152}};
  for (const auto& [t, rho] : computed) {
    CAPTURE(t);
    CHECK(kg_per_m3(t) == doctest::Approx(rho).epsilon(1e-7));
  }
}

// Kell, J. Chem. Eng. Data 20 (1975) 97-105, is another formula for the same thing; the two differ by at
// most 3.3 ppm.
TEST_CASE("two published formulas agree") {
  for (double t = 0; t <= 40; t += 0.5) {
    const double kell = (999.83952 + 16.945176 * t - 7.9870401e-3 * t * t - 46.170461e-6 * t * t * t +
                         105.56302e-9 * t * t * t * t - 280.54253e-12 * t * t * t * t * t) /
                        (1 + 16.879850e-3 * t);
    CAPTURE(t);
    CHECK(kg_per_m3(t) == doctest::Approx(kell).epsilon(3.4e-6));
  }
}

// Kell's own values, by his formula; a UNESCO polynomial (Technical Papers in Marine Science 44, 1983,
// equation 14) printed as 998.2063193824 at 20 °C. Both within what separates the formulas.
TEST_CASE("the density of water by other tables") {
  const double kell[][2] = {{0, 999.8395}, {4, 999.9720}, {20, 998.2041}, {25, 997.0449}, {40, 992.2158}};
  for (const auto& [t, rho] : kell) {
    CAPTURE(t);
    CHECK(std::abs(kg_per_m3(t) - rho) < 0.0034);
  }
  CHECK(std::abs(kg_per_m3(20) - 998.2063193824) < 5e-4);
  // Not knowing the temperature to 5 °C is worth 0.15 %.
  for (const double t : {15.0, 25.0}) CHECK(std::abs(z(t) / z(20) - 1) < 0.0015);
}

// Tanaka et al. 2001: equation 6, water that has taken up air is lighter by 4.612e-3 − 0.106e-3·t kg/m³, and
// an expanded uncertainty (k = 2) of 0.8e-3 kg/m³ for the formula; both from memory.
TEST_CASE("air in the water and the formula's own doubt are far below what a fill is believed to") {
  for (const double t : {5.0, 20.0, 35.0}) {
    const double left_out = (4.612e-3 - 0.106e-3 * t + 0.8e-3) / kg_per_m3(t);
    CHECK(left_out < 6e-6);
    const auto fill = one_fill(Mass::grams(2000), celsius(t));
    CHECK(left_out < 0.02 * (fill.u / fill.value));
  }
}

// OIML R 111-1:2004 E.3 (formula from memory, the value computed from it).
TEST_CASE("the density of air") {
  CHECK(in_grams_per_millilitre(air_density(Air{})) * 1000 == doctest::Approx(1.1993).epsilon(1e-4));
}

// Three calibration certificates of an accredited laboratory after NF EN ISO 8655-6 and ISO/TR 20461.
TEST_CASE("Z as certificates print it") {
  CHECK(z(19.72, 984, 64.7) == doctest::Approx(1.00275).epsilon(2e-5));
  CHECK(z(19.35, 984, 63.35) == doctest::Approx(1.00267).epsilon(3e-5));
  CHECK(z(18.75, 986, 59.29) == doctest::Approx(1.00258).epsilon(2e-5));
}

// ISO 8655-6, table of Z, as quoted in a public source; 20, 25 and 30 °C from memory.
TEST_CASE("Z as the standard tabulates it") {
  const double kpa[] = {80, 85, 90, 95, 100, 101, 105};
  const double at15[] = {1.0017, 1.0018, 1.0019, 1.0019, 1.0020, 1.0020, 1.0020};
  const double at16[] = {1.0019, 1.0020, 1.0020, 1.0021, 1.0021, 1.0021, 1.0022};
  const double at17[] = {1.0021, 1.0022, 1.0022, 1.0023};
  for (std::size_t i = 0; i < 7; ++i) {
    CAPTURE(kpa[i]);
    CHECK(std::abs(z(15, kpa[i] * 10) - at15[i]) < 1e-4);
    CHECK(std::abs(z(16, kpa[i] * 10) - at16[i]) < 1e-4);
    if (i < 4) CHECK(std::abs(z(17, kpa[i] * 10) - at17[i]) < 1e-4);
  }
  CHECK(std::abs(z(20, 1013) - 1.0029) < 1e-4);
  CHECK(std::abs(z(25, 1013) - 1.0040) < 1e-4);
  CHECK(std::abs(z(30, 1013) - 1.0054) < 1e-4);
}

// 500 g of water on the scale at 20, 25 and 30 °C; taking a gram for a millilitre is 0.285 % off at 20 °C.
TEST_CASE("a mold filled with half a kilogram of water") {
  const double expected[][2] = {{20, 501.42}, {25, 502.00}, {30, 502.70}};
  for (const auto& [t, ml] : expected) {
    const auto v = one_fill(Mass::grams(500), celsius(t));
    CHECK(std::abs(in_millilitres(v.value) - ml) < 0.02);
  }
  CHECK(std::abs(100 * (1 / z(20) - 1) - -0.285) < 0.005);
}

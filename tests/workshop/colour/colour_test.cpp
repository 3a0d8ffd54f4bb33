// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/colour.hpp>

#include <array>
#include <cmath>

#include <doctest/doctest.h>

namespace pourwright {
namespace {

Colour grey(double r) {
  return {r, r, r};
}
Colour parsed(std::string_view text) {
  const auto c = parse_colour(text);
  REQUIRE_MESSAGE(c, text);
  return *c;
}

TEST_CASE("CIEDE2000: the published pairs") {
  // Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21-30, table 1; the last pair from memory.
  struct Pair {
    Lab one, other;
    double e;
  };
  const Pair pairs[] = {
      {{50, 2.6772, -79.7751}, {50, 0, -82.7485}, 2.0425},
      {{50, 3.1571, -77.2803}, {50, 0, -82.7485}, 2.8615},
      {{50, 2.8361, -74.0200}, {50, 0, -82.7485}, 3.4412},
      {{50, -1.3802, -84.2814}, {50, 0, -82.7485}, 1.0000},
      {{50, -1.1848, -84.8006}, {50, 0, -82.7485}, 1.0000},
      {{50, -0.9009, -85.5211}, {50, 0, -82.7485}, 1.0000},
      {{50, 0, 0}, {50, -1, 2}, 2.3669},
      {{50, -1, 2}, {50, 0, 0}, 2.3669},
      {{50, 2.49, -0.001}, {50, -2.49, 0.0009}, 7.1792},
      {{50, 2.49, -0.001}, {50, -2.49, 0.0010}, 7.1792},
      {{50, 2.49, -0.001}, {50, -2.49, 0.0011}, 7.2195},
      {{50, 2.49, -0.001}, {50, -2.49, 0.0012}, 7.2195},
      {{50, -0.001, 2.49}, {50, 0.0009, -2.49}, 4.8045},
      {{50, -0.001, 2.49}, {50, 0.0010, -2.49}, 4.8045},
      {{50, -0.001, 2.49}, {50, 0.0011, -2.49}, 4.7461},
      {{50, 2.5, 0}, {50, 0, -2.5}, 4.3065},
      {{50, 2.5, 0}, {73, 25, -18}, 27.1492},
      {{50, 2.5, 0}, {61, -5, 29}, 22.8977},
      {{50, 2.5, 0}, {56, -27, -3}, 31.9030},
      {{50, 2.5, 0}, {58, 24, 15}, 19.4535},
      {{50, 2.5, 0}, {50, 3.1736, 0.5854}, 1.0000},
      {{50, 2.5, 0}, {50, 3.2972, 0}, 1.0000},
      {{50, 2.5, 0}, {50, 1.8634, 0.5757}, 1.0000},
      {{50, 2.5, 0}, {50, 3.2592, 0.3350}, 1.0000},
      {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
      {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
      {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
      {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
      {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
      {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
      {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
      {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
      {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
      {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
  };
  for (const Pair& p : pairs) {
    CAPTURE(p.e);
    CHECK(std::abs(difference(p.one, p.other) - p.e) <= 1e-4);
    CHECK(std::abs(difference(p.other, p.one) - p.e) <= 1e-4);
  }
}

TEST_CASE("L*a*b* of screen colours") {
  // From memory, computed again with the seven-digit matrix.
  struct Row {
    const char* screen;
    Lab lab;
  };
  const Row rows[] = {{"#ff0000", {53.2408, 80.0925, 67.2032}},
                      {"#00ff00", {87.7347, -86.1827, 83.1793}},
                      {"#0000ff", {32.2970, 79.1875, -107.8602}},
                      {"#ffff00", {97.1393, -21.5537, 94.4780}},
                      {"#00ffff", {91.1132, -48.0875, -14.1312}},
                      {"#ff00ff", {60.3242, 98.2343, -60.8249}},
                      {"#808080", {53.5850, 0, 0}},
                      {"#777777", {50.0344, 0, 0}},
                      {"#ffffff", {100, 0, 0}},
                      {"#000", {0, 0, 0}}};
  for (const Row& r : rows) {
    CAPTURE(r.screen);
    const Lab v = lab(parsed(r.screen));
    CHECK(std::abs(v.l - r.lab.l) <= 1e-3);
    CHECK(std::abs(v.a - r.lab.a) <= 1e-3);
    CHECK(std::abs(v.b - r.lab.b) <= 1e-3);
  }
}

TEST_CASE("Colours are read, written and turned round") {
  for (const char* text : {"#5f8a62", "#000000", "#ffffff", "#0a0b0c"}) CHECK(hex(parsed(text)) == text);
  CHECK(hex(parsed("#abc")) == "#aabbcc");
  for (int i = 0; i < 4096; ++i) {
    const Colour c{(i & 15) / 15.0, (i >> 4 & 15) / 15.0, (i >> 8) / 15.0};
    const Colour back = from_lab(lab(c));
    CHECK(std::abs(back.red - c.red) < 1e-6);
    CHECK(std::abs(back.green - c.green) < 1e-6);
    CHECK(std::abs(back.blue - c.blue) < 1e-6);
  }
  CHECK(std::abs(lab(parsed("lab(52 -18 14)")).l - 52) < 1e-4);
  CHECK(std::abs(lab(parsed("lab(52, -18.5, +14)")).a + 18.5) < 1e-4);
  for (const char* text :
       {"", "#", "#12", "#12345", "#12345g", "#-1-1-1", "green", "lab(1 2)", "lab(1 2 3 4)", "lab(nan 0 0)",
        "lab(50 0 0", "lab(50 120 120)", "lab(120 0 0)", "# 1 2 3"})
    CHECK_MESSAGE(!parse_colour(text), text);
}

TEST_CASE("Kubelka and Munk's function") {
  // The formula itself, K/S = (1-R)^2 / 2R.
  const double rows[][2] = {{.1, 4.05},     {.2, 1.6},      {.3, .8166667}, {.4, .45},      {.5, .25},
                            {.6, .1333333}, {.7, .0642857}, {.8, .025},     {.9, .00555556}};
  for (const auto& [r, k] : rows) {
    CHECK(std::abs(absorption(r) - k) <= 1e-6);
    CHECK(std::abs(reflectance(k) - r) <= 1e-5);
    CHECK(std::abs(reflectance(absorption(r)) - r) <= 1e-12);
  }
  CHECK(reflectance(0) == 1);
  // Two inks of reflectance 0.4 and 0.8 in equal parts (the pair of Westland and Ripamonti, Computational
  // Colour Science, p. 148): one constant gives 0.5085.
  const double both = reflectance((absorption(.4) + absorption(.8)) / 2);
  CHECK(std::abs(both - .5085) <= 1e-4);
  CHECK(both < .566);  // the mean of their densities gives 0.566 there, that of reflectances 0.6
  // Two constants, K and S each added by concentration: white 0.005 and 1, tint 10 and 0.2 (made up,
  // computed).
  const double tints[][2] = {{0, .9049}, {.01, .6338}, {.02, .5301}, {.05, .3734}, {.1, .2545}};
  for (const auto& [c, r] : tints)
    CHECK(std::abs(reflectance((.005 * (1 - c) + 10 * c) / (1 - c + .2 * c)) - r) <= 1e-4);
}

TEST_CASE("A damp piece is darker") {
  // Lekner and Dorf, Applied Optics 27 (1988) 1278-1280; computed from their formula with p = 0.4719.
  const double rows[][2] = {{.2, .1343}, {.3, .2009}, {.4, .2752}, {.5, .3587},
                            {.6, .4532}, {.7, .5610}, {.8, .6851}};
  for (const auto& [dry, damp] : rows) CHECK(std::abs(when_damp(grey(dry)).green - damp) <= 2e-4);
  // Ångström's earlier formula of 1925, p = 1 - 1/n², lies a little above throughout.
  const double earlier[][2] = {{.2, .1414}, {.3, .2112}, {.4, .2883}, {.5, .3740},
                               {.6, .4697}, {.7, .5774}, {.8, .6995}};
  for (const auto& [dry, damp] : earlier) {
    const double ours = when_damp(grey(dry)).green;
    CHECK(ours < damp);
    CHECK(damp - ours < .02);
  }
}

const Colour base = {.84, .80, .70};
const std::vector<Swatch> swatches{{{"Kelp", Ratio::percent(2)}, {.11, .25, .12}},
                                   {{"Rust", Ratio::percent(1.5)}, {.40, .10, .04}},
                                   {{"Slate", Ratio::percent(1)}, {.12, .13, .15}}};

double off(const Colour& a, const Colour& b) {
  return difference(lab(a), lab(b));
}

TEST_CASE("A blend goes through what was cast") {
  CHECK(off(blend(base, swatches, {})->dried, base) < 1e-9);
  for (const Swatch& s : swatches) CHECK(off(blend(base, swatches, {s.pigment})->dried, s.dried) < 1e-9);
  // More pigment never sends more light back, when each darkens the base.
  double before = 2;
  for (int i = 0; i <= 40; ++i) {
    const double l =
        blend(base, swatches, {{"Kelp", Ratio::percent(i * .1)}, {"Rust", Ratio::percent(i * .05)}})
            ->dried.green;
    CHECK(l < before);
    before = l;
  }
  // Half and half of one pigment is that pigment.
  const auto once = blend(base, swatches, {{"Kelp", Ratio::percent(1.2)}});
  const auto twice = blend(base, swatches, {{"Kelp", Ratio::percent(.5)}, {"Kelp", Ratio::percent(.7)}});
  CHECK(off(once->dried, twice->dried) < 1e-9);
  // A white pigment lightens a dark base, and never sends back more light than there was.
  const auto chalk =
      blend(grey(.2), {{{"Chalk", Ratio::percent(2)}, grey(.5)}}, {{"Chalk", Ratio::percent(30)}});
  CHECK(chalk->dried.green > .5);
  CHECK(chalk->dried.green <= 1);
  CHECK(chalk->notes.size() == 1);
}

TEST_CASE("Doses for a colour are found again") {
  const std::vector<std::vector<PigmentDose>> cases{
      {},
      {{"Kelp", Ratio::percent(1)}},
      {{"Slate", Ratio::percent(.05)}},
      {{"Kelp", Ratio::percent(.6)}, {"Rust", Ratio::percent(1.1)}},
      {{"Kelp", Ratio::percent(.3)}, {"Rust", Ratio::percent(.4)}, {"Slate", Ratio::percent(.2)}}};
  for (const auto& doses : cases) {
    const auto wanted = blend(base, swatches, doses);
    const auto found = match(base, swatches, wanted->dried, Ratio::percent(3));
    REQUIRE(found);
    CHECK(off(found->dried, wanted->dried) < 0.3);
    std::int64_t total = 0;
    for (const PigmentDose& d : found->doses) {
      CHECK(d.dose.in_millionths() % 100 == 0);
      total += d.dose.in_millionths();
    }
    CHECK(total <= 30000);
  }
  // Never above the ceiling, however dark the wish.
  std::int64_t total = 0;
  const auto black = match(base, swatches, grey(0), Ratio::percent(1));
  REQUIRE(black);
  for (const PigmentDose& d : black->doses) total += d.dose.in_millionths();
  CHECK(total <= 10000);
  CHECK(total > 9000);
}

TEST_CASE("What cannot be guessed is refused") {
  CHECK(blend(base, swatches, {{"Chalk", Ratio::percent(1)}}).error().code == Code::unknown_name);
  CHECK(blend(base, {{{"Kelp", Ratio()}, base}}, {}).error().code == Code::shares_invalid);
  CHECK(match(base, {}, base, Ratio::percent(3)).error().code == Code::unknown_name);
}

}  // namespace
}  // namespace pourwright

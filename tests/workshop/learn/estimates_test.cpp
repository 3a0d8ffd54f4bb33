// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/learn.hpp>

#include "workshop/learn/combine.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Record fill(std::int64_t id, double grams, double step = 0.1) {
  return {id, 0, WaterFill{"dish", "", Mass::grams(grams), celsius(20), Mass::grams(step), ""}, false};
}
Record cup(std::int64_t id, double grams, double ml = 200) {
  return {id, 0, DensityCup{"m", millilitres(ml), Mass::grams(grams), Mass::grams(0.1), ""}, false};
}
Interval<Volume> mesh(double ml, double half = 0) {
  return {millilitres(ml), millilitres(ml - half), millilitres(ml + half), {}};
}
bool noted(const Notes& notes, std::string_view code) {
  return std::any_of(notes.begin(), notes.end(), [&](const Note& n) { return n.code == code; });
}

}  // namespace

TEST_CASE("the mean weighted by precision, worked by hand") {
  // 10 ± 1 and 13 ± 2: weights 1 and 1/4, mean 10.6, u = 1/√1.25.
  const auto c = learn::combine({{10, 1}, {13, 2}});
  CHECK(c.value == doctest::Approx(10.6));
  CHECK(c.birge == doctest::Approx(std::sqrt(0.36 + 5.76 / 4)));  // χ² = 1.8 with one degree of freedom
  CHECK(c.u == doctest::Approx(std::sqrt(1.8 / 1.25)));
  CHECK(learn::combine({{10, 1}, {10.1, 1}}).birge == 1);
}

TEST_CASE("one of three that contradicts the others is found, one of two is not") {
  CHECK(learn::contradicted({{10, 0.1}, {10.1, 0.1}, {12, 0.1}}) == std::vector<std::size_t>{2});
  CHECK(learn::contradicted({{10, 0.1}, {12, 0.1}}).empty());
  CHECK(learn::contradicted({{10, 0.1}, {10.1, 0.1}, {10.2, 0.1}}).empty());
  CHECK(learn::contradicted({{10, 1}, {10, 1}, {10, 1}, {12, 1}}).empty());  // within what its own u explains
}

TEST_CASE("without water fills the mesh stands as it is") {
  const auto e = capacity_of(mesh(150, 1), {});
  CHECK(e.value == millilitres(150));
  CHECK(in_millilitres(e.u) == doctest::Approx(std::hypot(1 / std::sqrt(3.0), 1.5)));
  CHECK(e.records == 0);
  CHECK(e.notes.empty());
}

TEST_CASE("water fills pull the mesh's volume to themselves and make it surer") {
  const auto one = capacity_of(mesh(150), {fill(1, 146)});
  const double water = in_millilitres(capacity_of(std::nullopt, {fill(1, 146)}).value);
  CHECK(water == doctest::Approx(146.416).epsilon(1e-5));
  CHECK(in_millilitres(one.value) > water);
  CHECK(in_millilitres(one.value) < 147.5);
  CHECK(one.u < capacity_of(mesh(150), {}).u);
  const auto three = capacity_of(mesh(150), {fill(1, 146), fill(2, 145.8), fill(3, 146.2)});
  CHECK(three.value < one.value);
  CHECK(three.records == 3);
  CHECK_FALSE(noted(three.notes, "records-disagree"));
}

TEST_CASE("a coarse scale makes a fill of a small mold unsure") {
  // 1 g on 20 ml is 2 % at √6 steps: that is more than the mold's own doubt.
  const auto coarse = capacity_of(std::nullopt, {fill(1, 20, 1)});
  CHECK(in_millilitres(coarse.u) ==
        doctest::Approx(std::sqrt(1 / 6.0 + 0.06 * 0.06 + 0.03 * 0.03)).epsilon(0.01));
}

TEST_CASE("a fill that contradicts the others is named and left out; two that disagree widen the doubt") {
  const auto e = capacity_of(std::nullopt, {fill(11, 146), fill(12, 145.8), fill(13, 102), fill(14, 146.1)});
  CHECK(e.set_aside == std::vector<std::int64_t>{13});
  CHECK(e.records == 3);
  CHECK(noted(e.notes, "record-set-aside"));
  CHECK(e.notes[0].text.find("record 13") != std::string::npos);
  const auto two = capacity_of(std::nullopt, {fill(1, 146), fill(2, 102)});
  CHECK(two.set_aside.empty());
  CHECK(noted(two.notes, "records-disagree"));
  CHECK(in_millilitres(two.u) > 15);
}

TEST_CASE("a mold that is not its file is said to be so") {
  CHECK(noted(capacity_of(mesh(150), {fill(1, 136), fill(2, 136)}).notes, "mold-differs-from-file"));
  CHECK_FALSE(noted(capacity_of(mesh(150), {fill(1, 148)}).notes, "mold-differs-from-file"));
}

TEST_CASE("density from cups") {
  Mix mix;
  mix.density = grams_per_millilitre(1.75);
  mix.density_spread = Ratio::percent(7);
  const auto none = density_of(mix, {});
  CHECK(none.value == mix.density);
  const auto e = density_of(mix, {cup(1, 372), cup(2, 373), cup(3, 371.5)});
  CHECK(in_grams_per_millilitre(e.value) == doctest::Approx(1.86).epsilon(0.003));
  CHECK(e.u < none.u / 3);
  CHECK(e.records == 3);
  const auto odd = density_of(mix, {cup(1, 372), cup(2, 373), cup(3, 371.5), cup(4, 300)});
  CHECK(odd.set_aside == std::vector<std::int64_t>{4});
  CHECK(odd.value == e.value);
  mix.density_spread = Ratio::percent(1);
  CHECK(noted(density_of(mix, {cup(1, 366), cup(2, 367)}).notes, "density-differs-from-catalogue"));
}

// The constructed check of ASTM C138's arithmetic: 85 g cup, 435 g full, 200 ml: 1.750 g/ml.
TEST_CASE("a cup weighed full and empty") {
  Mix vague;
  vague.density = grams_per_millilitre(1.75);
  vague.density_spread = Ratio::percent(50);
  CHECK(in_grams_per_millilitre(density_of(vague, {cup(1, 435 - 85)}).value) ==
        doctest::Approx(1.75).epsilon(1e-9));
}

// 4000 molds, meshes and series of fills drawn from what is believed: the true capacity lies within 2 u 95
// times in 100.
TEST_CASE("stated uncertainties hold") {
  std::mt19937_64 random(8);
  std::normal_distribution<double> n(0, 1);
  int inside = 0;
  constexpr int rounds = 4000;
  for (int i = 0; i < rounds; ++i) {
    const double file = 40 + 500 * std::generate_canonical<double, 53>(random),
                 truth = file * (1 + 0.01 * n(random));
    const double habit = 0.0015 * n(random);
    std::vector<Record> fills;
    for (int k = 0; k < i % 4; ++k) {
      const double ml = truth * (1 + habit + 0.003 * n(random));
      const auto read = [&](double g) { return std::round(g); };
      const double tare = 100 * std::generate_canonical<double, 53>(random);
      fills.push_back(
          fill(k + 1, read(ml / millilitres_per_gram(celsius(20), Air{}) + tare) - read(tare), 1));
    }
    const auto e = capacity_of(mesh(file), fills);
    inside += std::abs(in_millilitres(e.value) - truth) <= 2 * in_millilitres(e.u);
  }
  CHECK(inside > 0.935 * rounds);
  CHECK(inside < 0.98 * rounds);
}

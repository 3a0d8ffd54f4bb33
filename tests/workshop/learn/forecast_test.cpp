// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/learn.hpp>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

PourPlan plan(int cups = 1, double risk = 1, double density = 1.86) {
  PourPlan p;
  p.cups = cups;
  p.density = grams_per_millilitre(density);
  p.spread = 0.02;
  p.risk = Ratio::percent(risk);
  return p;
}
MoldToPour mold(std::string name, double ml, int copies = 1, double u = 0.01) {
  return {std::move(name), copies, {millilitres(ml), millilitres(ml * u), 0, {}, {}}};
}
Record pour(std::int64_t id, std::vector<PouredMold> molds, double mixed, double left, int cups = 1) {
  TestPour p;
  p.molds = std::move(molds);
  p.mix = "m";
  p.mixed = Mass::grams(mixed);
  p.left = Mass::grams(left);
  p.cups = cups;
  p.scale_step = Mass::grams(1);
  return {id, 0, p, false};
}
Forecast forecast(const std::vector<MoldToPour>& molds, const std::vector<Record>& pours, int cups = 1,
                  double risk = 1) {
  const auto f = forecast_need(molds, plan(cups, risk), {{}, pours, {}});
  REQUIRE(f);
  return *f;
}

}  // namespace

TEST_CASE("without a record the batch follows from what is believed") {
  const auto f = forecast({mold("dish", 150)}, {});
  CHECK(f.fill_g == doctest::Approx(279));
  CHECK(f.expected_g == doctest::Approx(279 * 1.003 + 5 + 279 * 0.05 * 0.04).epsilon(1e-3));
  CHECK(f.residue_g == doctest::Approx(5 + 279 * 0.003).epsilon(0.1));
  CHECK(f.chance_of_short(f.batch_g) == doctest::Approx(0.01));
  CHECK(f.chance_of_short(279) > 0.5);
  CHECK(f.batch_g > f.expected_g + 2 * f.spread_g);
  CHECK(f.batch_g < 279 * 1.12);
  CHECK(f.pours == 0);
}

TEST_CASE("pours narrow the forecast and move it to what was needed") {
  std::vector<Record> pours;
  double last = forecast({mold("dish", 150)}, {}).spread_g;
  for (int i = 0; i < 12; ++i) pours.push_back(pour(i + 1, {{"dish", "", 1}}, 310, 310 - 290 + i % 3 - 1));
  const auto f = forecast({mold("dish", 150)}, pours);
  CHECK(f.pours == 12);
  CHECK(f.of_these_molds == 12);
  CHECK(f.expected_g == doctest::Approx(290).epsilon(0.002));
  CHECK(f.spread_g < last / 2);
  CHECK(f.batch_g - f.expected_g < 15);
  CHECK(in_millilitres(f.capacities[0].value) > 150);
  CHECK(f.set_aside.empty());
}

TEST_CASE("copies tell residue and capacity apart") {
  // 280 g a copy and 8 g a cup, whatever the number of copies.
  std::vector<Record> pours;
  for (int i = 0; i < 30; ++i) {
    const int copies = 1 + i % 6;
    pours.push_back(pour(i + 1, {{"dish", "", copies}}, 280 * copies + 8 + 20, 20));
  }
  const auto f = forecast({mold("dish", 150, 10, 0.03)}, pours);
  CHECK(f.residue_per_cup_g.value == doctest::Approx(8).epsilon(0.2));
  CHECK(f.residue_per_cup_g.u < 2);
  CHECK(f.expected_g == doctest::Approx(2808).epsilon(0.004));
}

TEST_CASE("other molds teach scatter and residue, not this mold's size") {
  std::vector<Record> pours;
  for (int i = 0; i < 20; ++i) pours.push_back(pour(i + 1, {{"tray", "", 1}}, 500, 20 + i % 2));
  const auto without = forecast({mold("dish", 150)}, {}), with = forecast({mold("dish", 150)}, pours);
  CHECK(with.of_these_molds == 0);
  CHECK(with.pours == 20);
  CHECK(with.scatter.value < without.scatter.value);
  CHECK(with.batch_g < without.batch_g);
  CHECK(in_millilitres(with.capacities[0].value) == doctest::Approx(150).epsilon(0.003));
}

TEST_CASE("a pour that ran short needed at least what was mixed") {
  std::vector<Record> pours;
  for (int i = 0; i < 6; ++i) pours.push_back(pour(i + 1, {{"dish", "", 1}}, 310, 20 + i % 2));
  const double before = forecast({mold("dish", 150)}, pours).expected_g;
  Record s = pour(7, {{"dish", "", 1}}, 292, 0);
  auto told = pours, not_told = pours;
  not_told.push_back(s);
  std::get<TestPour>(s.what).ran_short = true;
  told.push_back(s);
  CHECK(forecast({mold("dish", 150)}, told).expected_g > before);
  CHECK(forecast({mold("dish", 150)}, told).expected_g > forecast({mold("dish", 150)}, not_told).expected_g);
}

TEST_CASE("a spilt batch is set aside and named") {
  std::vector<Record> pours;
  for (int i = 0; i < 10; ++i) pours.push_back(pour(i + 1, {{"dish", "", 1}}, 310, 20 + i % 3));
  const auto clean = forecast({mold("dish", 150)}, pours);
  pours.push_back(pour(77, {{"dish", "", 1}}, 460, 20));
  const auto f = forecast({mold("dish", 150)}, pours);
  CHECK(f.set_aside == std::vector<std::int64_t>{77});
  REQUIRE(f.notes.size() == 1);
  CHECK(f.notes[0].warning);
  CHECK(f.notes[0].text.find("pour 77") != std::string::npos);
  CHECK(f.batch_g == doctest::Approx(clean.batch_g).epsilon(0.002));
}

TEST_CASE("a smaller chance asks for a larger batch, more cups for more residue") {
  const std::vector<MoldToPour> molds{mold("dish", 150, 2), mold("tray", 400)};
  double last = 0;
  for (const double risk : {50.0, 10.0, 5.0, 1.0, 0.1, 0.01}) {
    const double batch = forecast(molds, {}, 1, risk).batch_g;
    CHECK(batch > last);
    last = batch;
  }
  CHECK(forecast(molds, {}, 4).expected_g ==
        doctest::Approx(forecast(molds, {}, 1).expected_g + 15).epsilon(1e-3));
}

TEST_CASE("nothing to forecast is a problem") {
  CHECK(forecast_need({}, plan(), {}).error().code == Code::amount_not_positive);
  CHECK(forecast_need({mold("a", 0)}, plan(), {}).error().code == Code::amount_not_positive);
  CHECK(forecast_need({mold("a", 1)}, plan(0), {}).error().code == Code::usage);
  CHECK(forecast_need({mold("a", 1)}, plan(1, 1, 0), {}).error().code == Code::amount_not_positive);
  CHECK(forecast_need({mold("a", 1)}, plan(1, 0), {}).error().code == Code::bad_number);
}

TEST_CASE("records of any size and order give finite numbers") {
  std::mt19937_64 random(31);
  for (int round = 0; round < 300; ++round) {
    std::vector<Record> pours;
    for (int i = 0; i < 40; ++i) {
      std::vector<PouredMold> molds;
      for (int k = 0; k < 1 + static_cast<int>(random() % 3); ++k)
        molds.push_back({"m" + std::to_string(random() % 90), "", 1 + static_cast<int>(random() % 50)});
      const double mixed = std::pow(10.0, static_cast<double>(random() % 9) - 2) + 1e-6;
      pours.push_back(pour(i + 1, molds, mixed, mixed / 3, 1 + static_cast<int>(random() % 9)));
      std::get<TestPour>(pours.back().what).ran_short = random() % 4 == 0;
    }
    const auto f = forecast({mold("m1", 100), mold("m2", 3000, 4)}, pours);
    REQUIRE(std::isfinite(f.batch_g));
    REQUIRE(f.batch_g > f.expected_g);
    REQUIRE(std::isfinite(f.residue_per_cup_g.value));
  }
}

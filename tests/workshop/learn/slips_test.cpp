// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/learn/slips.hpp"

#include <pourwright/learn.hpp>

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using learn::likely_slip;
using learn::Weighed;

namespace {

Record water_of_dish(std::int64_t id, double grams, bool believed = false) {
  return {id, 0, WaterFill{"dish", "", Mass::grams(grams), celsius(20), Mass::grams(0.1), "", believed},
          false};
}
Record cup_of_house(std::int64_t id, double grams, bool believed = false) {
  return {id, 0, DensityCup{"m", millilitres(200), Mass::grams(grams), Mass::grams(0.1), "", "", believed},
          false};
}
const Interval<Volume> dish_file = Interval<Volume>::exactly(millilitres(150));
Mix house_of_slips() {
  Mix m;
  m.density = grams_per_millilitre(1.86);
  m.density_spread = Ratio::percent(2);
  return m;
}
std::string text_of(const Notes& notes, std::string_view code) {
  for (const Note& n : notes)
    if (n.code == code) return n.text;
  return {};
}

}  // namespace

TEST_CASE("what leaves an exact trace is named") {
  CHECK(likely_slip(Weighed::water, 5.29, 150, 1).find("ounces typed as grams") == 0);
  CHECK(likely_slip(Weighed::pour, 0.3, 300, 1).find("kilograms") == 0);
  CHECK(likely_slip(Weighed::pour, 900, 300, 1) == "3 copies rather than 1");
  CHECK(likely_slip(Weighed::pour, 300, 1200, 1, 4) == "1 copy rather than 4");
  CHECK(likely_slip(Weighed::water, 260, 150, 1, 1, {{"bowl", 258}}).find("bowl") != std::string::npos);
  CHECK(likely_slip(Weighed::cup, 2.2, 1.86, 200).find("68 g") != std::string::npos);
  CHECK(likely_slip(Weighed::water, 100, 150, 1) == "not filled to the brim");
  CHECK(likely_slip(Weighed::water, 0, 150, 1).empty());
}

TEST_CASE("a water fill more than a tenth from the file is left out from the first on, with what it may be") {
  const auto e = capacity_of(dish_file, {water_of_dish(7, 5.28)});
  CHECK(e.set_aside == std::vector<std::int64_t>{7});
  CHECK(in_millilitres(e.value) == doctest::Approx(150).epsilon(1e-12));
  const std::string text = text_of(e.notes, "record-doubtful");
  CHECK(text.find("record 7") != std::string::npos);
  CHECK(text.find("ounces typed as grams") != std::string::npos);
  CHECK(text.find("--believe") != std::string::npos);
  CHECK(capacity_of(dish_file, {water_of_dish(1, 140)}).set_aside.empty());
  CHECK(capacity_of(dish_file, {water_of_dish(1, 190)}).set_aside.size() == 1);
  // Without a file nothing was expected.
  CHECK(capacity_of(std::nullopt, {water_of_dish(1, 5.28)}).set_aside.empty());
}

TEST_CASE("what is believed counts, and the file gives way") {
  const auto e = capacity_of(dish_file, {water_of_dish(7, 180, true)});
  CHECK(e.set_aside.empty());
  CHECK(in_millilitres(e.value) == doctest::Approx(180.5).epsilon(1e-3));
  CHECK(in_millilitres(e.u) < 2);
  CHECK_FALSE(text_of(e.notes, "mold-differs-from-file").empty());
}

TEST_CASE("two that agree with each other and not with the file are told so") {
  const auto e = capacity_of(dish_file, {water_of_dish(1, 180), water_of_dish(2, 180.4)});
  CHECK(e.set_aside.size() == 2);
  CHECK(text_of(e.notes, "records-agree-not-file").find("2 water fills") != std::string::npos);
}

TEST_CASE("a cup test that no mix of this ratio weighs is left out") {
  const auto e = density_of(house_of_slips(), {cup_of_house(3, 372 + 68)});
  CHECK(e.set_aside == std::vector<std::int64_t>{3});
  CHECK(text_of(e.notes, "record-doubtful").find("tare") != std::string::npos);
  CHECK(e.value == grams_per_millilitre(1.86));
  CHECK(density_of(house_of_slips(), {cup_of_house(3, 372 + 68, true)}).set_aside.empty());
  CHECK(density_of(house_of_slips(), {cup_of_house(3, 372 + 20)}).set_aside.empty());
}

TEST_CASE("a right cup never makes the density less sure; a contradicting one says why") {
  for (double grams = 364; grams <= 380; grams += 1) {
    CAPTURE(grams);
    const auto before = density_of(house_of_slips(), {}),
               after = density_of(house_of_slips(), {cup_of_house(1, grams)});
    if (after.u > before.u) CHECK_FALSE(text_of(after.notes, "density-differs-from-catalogue").empty());
  }
}

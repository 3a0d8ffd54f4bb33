// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/recipe.hpp>

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

bool has(const std::vector<std::string>& list, std::string_view part) {
  return std::any_of(list.begin(), list.end(),
                     [&](const std::string& c) { return c.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("burns are warned of from 100 g on, with the mix's own temperature where it is known") {
  Mix mix;
  CHECK_FALSE(has(cautions_for(mix, Mass::grams(99.9)), "burns"));
  CHECK(has(cautions_for(mix, Mass::grams(100)), "It heats as it sets: never encase"));
  mix.set_temperature = celsius(62);
  CHECK(has(cautions_for(mix, Mass::grams(100)), "to about 62 °C: never encase"));
}

TEST_CASE("the mix's own cautions stand between the general ones and the supplier's last word") {
  Mix mix;
  mix.cautions = {"Smells of vinegar.", "Keep from frost."};
  const auto list = cautions_for(mix, Mass::grams(10));
  REQUIRE(list.size() == 6);
  CHECK(list[0].starts_with("Powder is dust"));
  CHECK(list[3] == mix.cautions[0]);
  CHECK(list[4] == mix.cautions[1]);
  CHECK(list[5].find("supplier's safety data sheet") != std::string::npos);
}

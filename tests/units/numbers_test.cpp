// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/numbers.hpp>

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("significant: as many digits as asked for, never an exponent") {
  CHECK(significant(168, 2) == "170");
  CHECK(significant(999.6, 3) == "1000");
  CHECK(significant(9.99, 2) == "10");
  CHECK(significant(0.03456, 2) == "0.035");
  CHECK(significant(5.67e-05, 3) == "0.0000567");
  CHECK(significant(1e-12, 3) == "0");
  CHECK(significant(-0.25, 1) == "-0.2");
  CHECK(significant(2.50, 3) == "2.5");
  CHECK(significant(0, 3) == "0");
  CHECK(significant(12, 4) == "12");
  CHECK(significant(1.7e20, 2) == "170000000000000000000");
  std::mt19937 random(3);
  for (int i = 0; i < 5000; ++i) {
    const double value =
        std::pow(10.0, static_cast<double>(random() % 9001) / 1000 - 3) * (random() % 2 == 0 ? 1 : -1);
    const int digits = 1 + static_cast<int>(random() % 6);
    const std::string s = significant(value, digits);
    CAPTURE(value);
    CAPTURE(s);
    REQUIRE(s.find('e') == std::string::npos);
    REQUIRE(std::abs(std::stod(s) / value - 1) <= 0.5 * std::pow(10.0, 1 - digits) * (1 + 1e-9));
    std::string bare = s;
    std::erase_if(bare, [](char c) { return c == '.' || c == '-'; });
    bare.erase(0, std::min(bare.find_first_not_of('0'), bare.size()));
    while (bare.ends_with('0')) bare.pop_back();
    REQUIRE(static_cast<int>(bare.size()) <= digits);
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/phrases.hpp"

#include <random>
#include <sstream>

#include <doctest/doctest.h>

using namespace pourwright;
using phrases::Rows;

namespace {

std::vector<std::string> shown(const Rows& rows, int width, const phrases::TableStyle& how = {}) {
  TextStyle style;
  style.width = width;
  Page page(style);
  phrases::table(page, rows, how);
  std::vector<std::string> lines;
  std::istringstream in(page.take());
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

}  // namespace

TEST_CASE("Columns stand below each other, loosened where there is room") {
  const Rows rows{{"mold", "holds", "mix"}, {"cup", "72.0 ml", "140.7 g"}, {"a tray", "5.0 ml", "9.8 g"}};
  CHECK(shown(rows, 24) == std::vector<std::string>{"mold      holds      mix", "cup     72.0 ml  140.7 g",
                                                    "a tray   5.0 ml    9.8 g"});
  CHECK(shown(rows, 80)[1] == "cup         72.0 ml      140.7 g");
}

TEST_CASE("A long name stands above its numbers, numbers that are too wide under their names") {
  const Rows rows{{"mold", "holds", "mix"}, {"a name that is too long", "72.0 ml", "140.7 g"}};
  CHECK(shown(rows, 24) == std::vector<std::string>{"mold    holds      mix", "a name that is too long",
                                                    "      72.0 ml  140.7 g"});
  CHECK(shown(rows, 16) ==
        std::vector<std::string>{"a name that is", "too long", "  holds 72.0 ml,", "  mix 140.7 g"});
  CHECK(shown({{"1  liquid", "102 g"}}, 40, {.indent = 2, .heading = false}) ==
        std::vector<std::string>{"  1  liquid      102 g"});
}

TEST_CASE("No width, no text: nothing is lost, nothing touches, nothing is wider than the page") {
  std::mt19937 random(17);
  for (int i = 0; i < 3000; ++i) {
    Rows rows;
    const std::size_t columns = 1 + random() % 8;
    for (std::size_t r = 1 + random() % 6; r > 0; --r) {
      rows.emplace_back();
      rows.back().push_back(std::string(1 + random() % 40, static_cast<char>('a' + random() % 26)));
      for (std::size_t k = 1; k < columns; ++k)
        rows.back().push_back(std::to_string(random() % (random() % 5 == 0 ? 100'000'000 : 1000) + 1));
    }
    const int width = 24 + static_cast<int>(random() % 80);
    const bool heading = random() % 2 == 0;
    std::size_t after = 0;
    std::string all;
    for (const std::string& line :
         shown(rows, width, {.heading = heading, .after = [&](std::size_t) { ++after; }})) {
      REQUIRE(cells(line) <= width);
      REQUIRE(!line.ends_with(' '));
      all += line + " ";
    }
    REQUIRE(after == rows.size() - (heading ? 1 : 0));
    std::string bare;
    for (const char c : all)
      if (c >= 'a' && c <= 'z') bare += c;
    for (std::size_t r = heading ? 1 : 0; r < rows.size(); ++r) {
      REQUIRE(bare.find(rows[r][0]) != std::string::npos);
      for (std::size_t k = 1; k < columns; ++k) {
        const auto at = all.find(rows[r][k]);
        REQUIRE(at != std::string::npos);
      }
    }
  }
}

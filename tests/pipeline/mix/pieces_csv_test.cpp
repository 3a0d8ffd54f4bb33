// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/mix/pieces_csv.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

std::vector<CsvPiece> read_list(std::string_view text) {
  const auto p = parse_pieces(text, "pieces.csv");
  REQUIRE_MESSAGE(p.has_value(), text);
  return *p;
}
Problem refused_list(std::string_view text) {
  const auto p = parse_pieces(text, "pieces.csv");
  REQUIRE_MESSAGE(!p.has_value(), text);
  return p.error();
}

}  // namespace

TEST_CASE("with a header or without, with a count or without") {
  for (const char* text :
       {"dish,150,4\nknob,12.5\n", "name,grams,count\ndish,150,4\nknob,12.5,1\n",
        "Name , Grams,COUNT\r\ndish,150,4\r\n\r\nknob,12.5,\r\n",
        "\xEF\xBB\xBFname,grams,count\ndish,150,4\nknob,12.5", "count,name,g\n4,dish,150\n1,knob,12.5\n",
        "dish;150;4\nknob;12,5\n", "dish\t150\t4\nknob\t12,5\n", "\"dish\",\"150\",\"4\"\nknob,0.0125kg\n"}) {
    const auto p = read_list(text);
    REQUIRE(p.size() == 2);
    CHECK(p[0].name == "dish");
    CHECK(p[0].grams == Mass::grams(150));
    CHECK(p[0].count == 4);
    CHECK(p[1].name == "knob");
    CHECK(p[1].grams == Mass::grams(12.5));
    CHECK(p[1].count == 1);
  }
}

TEST_CASE("quotes hold separators, quotes and line ends; lines are still counted") {
  const auto p = read_list("\"a, \"\"b\"\"\nc\",5\nd,6\n");
  CHECK(p[0].name == "a, \"b\"\nc");
  CHECK(p[1].name == "d");
  CHECK(refused_list("\"a\nb\",5\nd,x\n").text.find("pieces.csv:3:") == 0);
}

TEST_CASE("colour and order come by their header") {
  const auto p = read_list("order,grams,name,color\nfair,5,dish,Kelp\n");
  CHECK(p[0].colour == "Kelp");
  CHECK(p[0].order == "fair");
}

TEST_CASE("mistakes are named with their line") {
  CHECK(refused_list("name,grams\ndish,150\nknob,much\n").text.find("pieces.csv:3:") == 0);
  CHECK(refused_list("dish,150\nknob,12,many\n").text.find("pieces.csv:2:") == 0);
  CHECK(refused_list("dish,150\n,12\n").text.find("pieces.csv:2:") == 0);
  for (const char* text :
       {"", "\n\n", "name,grams\n", "dish\n", "dish,0\n", "dish,-4\n", "dish,nan\n", "dish,5,-1\n",
        "dish,5,1.5\n", "dish,5,99999999999\n", "\"dish,5\n", "dish,1e300\n", "dish,12ml\n"})
    CHECK_MESSAGE(refused_list(text).code == Code::file_malformed, text);
  CHECK(refused_list(std::string_view("PK\0\3", 4)).code == Code::file_malformed);
}

TEST_CASE("any bytes come back as pieces or a problem") {
  std::mt19937_64 random(4);
  static constexpr std::string_view alphabet = ",;\t\"\r\n 0123456789.eg-knamgrscout\xC3\xA9\xFF";
  for (int i = 0; i < 20'000; ++i) {
    std::string text(random() % 40, ' ');
    for (char& c : text) c = alphabet[random() % alphabet.size()];
    const auto p = parse_pieces(text, "x");
    if (!p) continue;
    for (const CsvPiece& piece : *p) {
      CHECK(!piece.name.empty());
      CHECK(piece.grams > Mass());
      CHECK(piece.count >= 0);
    }
  }
}

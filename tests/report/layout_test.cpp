// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/layout.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

/// Bytes of any kind, but more often of the kinds that matter here.
std::string random_text(std::mt19937& random) {
  static const std::vector<std::string> pieces{
      "a",    "Z",      "0",    " ",  "é",        "漢", "🙂",     "\xCC\x81", "\x1b[31m", "\n", "\r",
      "\x7f", "\u202E", "\xC2", "\"", "\xE2\x82", "→",  "\xF0\x9F", "\xFF",     "/",        "",   "°C"};
  std::string s;
  for (std::size_t n = random() % 24; n > 0; --n) s += pieces[random() % pieces.size()];
  return s;
}

bool is_tame(std::string_view s) {
  for (const char c : s)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) return false;
  for (const std::string_view bad :
       {"\u200E", "\u200F", "\u061C", "\u2028", "\u2029", "\u202A", "\u202E", "\u2066", "\u2069", "\u0085"})
    if (s.find(bad) != std::string_view::npos) return false;
  return true;
}

}  // namespace

TEST_CASE("Cells: what a terminal takes, not bytes") {
  CHECK(cells("") == 0);
  CHECK(cells("bowl.stl") == 8);
  CHECK(cells("Décor") == 5);
  CHECK(cells("De\u0301cor") == 5);  // combining acute
  CHECK(cells("漢字") == 4);
  CHECK(cells("🙂") == 2);
  CHECK(cells("─█▀…") == 4);
  CHECK(cells("\xFFx\xC3") == 3);  // malformed bytes count one each
}

TEST_CASE("Nothing from outside can steer a terminal") {
  CHECK(harmless("bowl.stl") == "bowl.stl");
  CHECK(harmless("a\x1b[2Jb\n\r\t\x7f") == "a?[2Jb????");
  CHECK(harmless("gepj.\u202Elts") == "gepj.?lts");
  CHECK(harmless("\u0085\u2028\u200E") == "???");
  CHECK(harmless("caf\xE9") == "caf?");
  CHECK(harmless("\xC0\x9B") == "??");     // an overlong escape
  CHECK(harmless("\xE0\x80\x9B") == "?");  // another
  CHECK(harmless("漢é🙂") == "漢é🙂");
  std::mt19937 random(7);
  for (int i = 0; i < 5000; ++i) {
    const std::string s = random_text(random);
    CAPTURE(s);
    REQUIRE(is_tame(harmless(s)));
    REQUIRE(harmless(harmless(s)) == harmless(s));
    for (const char c : plain_ascii(harmless(s))) REQUIRE((c >= 0x20 && c < 0x7F));
    for (const char c : for_terminal(s, false)) REQUIRE((c >= 0x20 && c < 0x7F));
  }
}

TEST_CASE("Plain spelling for terminals without Unicode") {
  CHECK(plain_ascii("144 × 144 mm², ±0.3 %, 20 °C") == "144 x 144 mm2, +-0.3 %, 20 C");
  CHECK(plain_ascii("1° “bowl” → Décor…") == "1 degrees \"bowl\" -> Decor...");
  CHECK(plain_ascii("漢") == "?");
}

TEST_CASE("Shortening keeps both ends and the width") {
  CHECK(shortened("bowl.stl", 8, true) == "bowl.stl");
  CHECK(shortened("a mold with a long name.stl", 11, true) == "a mol…e.stl");
  CHECK(shortened("a mold with a long name.stl", 11, false) == "a mol~e.stl");
  std::mt19937 random(11);
  for (int i = 0; i < 5000; ++i) {
    const std::string s = random_text(random);
    const int width = 1 + static_cast<int>(random() % 20);
    const std::string t = shortened(s, width, true);
    CAPTURE(s);
    REQUIRE(cells(t) <= width);
    REQUIRE(is_tame(t));
    if (cells(harmless(s)) <= width) REQUIRE(t == harmless(s));
  }
}

TEST_CASE("Columns") {
  CHECK(left("é", 3) == "é  ");
  CHECK(right("é", 3) == "  é");
  CHECK(left("wide", 2) == "wide");
  CHECK(right("漢", 3) == " 漢");
}

TEST_CASE("Wrapping flows words and loses none") {
  CHECK(wrapped("", 10) == std::vector<std::string>{""});
  CHECK(wrapped("one two three", 7) == std::vector<std::string>{"one two", "three"});
  CHECK(wrapped("averylongword x", 5) == std::vector<std::string>{"avery", "longw", "ord x"});
  CHECK(wrapped("漢字漢字", 5) == std::vector<std::string>{"漢字", "漢字"});
  CHECK(wrapped("漢字", 1) == std::vector<std::string>{"漢", "字"});  // wider than any line
  CHECK(wrapped("  a   b  ", 10) == std::vector<std::string>{"a b"});
  std::mt19937 random(13);
  for (int i = 0; i < 2000; ++i) {
    std::string text, squeezed;
    for (std::size_t n = random() % 30; n > 0; --n) {
      const std::string word(1 + random() % 9, static_cast<char>('a' + random() % 26));
      text += word + std::string(1 + random() % 3, ' ');
      squeezed += word;
    }
    const int width = 9 + static_cast<int>(random() % 30);
    std::string joined;
    for (const std::string& line : wrapped(text, width)) {
      REQUIRE(cells(line) <= width);
      for (const char c : line)
        if (c != ' ') joined += c;
    }
    REQUIRE(joined == squeezed);
  }
}

TEST_CASE("A number is not parted from its unit") {
  CHECK(wrapped("weigh 43.4 g now", 10) == std::vector<std::string>{"weigh", "43.4 g now"});
  CHECK(wrapped("add (+0.1 %) now", 10) == std::vector<std::string>{"add", "(+0.1 %)", "now"});
  CHECK(wrapped("part g", 5) == std::vector<std::string>{"part", "g"});  // a word, no number
}

TEST_CASE("Large numerals: three rows, as wide as each other, and every digit unlike the others") {
  std::vector<std::vector<std::string>> seen;
  for (const char c : std::string("0123456789")) {
    auto rows = large_numerals(std::string(1, c));
    REQUIRE(rows.size() == 3);
    CHECK(cells(rows[0]) == 4);
    CHECK(cells(rows[1]) == 4);
    CHECK(cells(rows[2]) == 4);
    for (const auto& other : seen) CHECK(other != rows);
    seen.push_back(rows);
  }
  const auto rows = large_numerals("-12.5");
  CHECK(cells(rows[0]) == cells(rows[1]));
  CHECK(cells(rows[1]) == cells(rows[2]));
  CHECK(large_numerals("1,5") == large_numerals("1.5"));
}

TEST_CASE("The decimal sign is shown between digits only") {
  CHECK(localized("12.5 g. 3.2", ',') == "12,5 g. 3,2");
  CHECK(localized("12.5", '.') == "12.5");
  CHECK(localized(".5 5. a.b", ',') == ".5 5. a.b");
}

TEST_CASE("A page sets labels, colour and plain signs") {
  TextStyle style;
  style.width = 40;
  Page page(style);
  page.entry("Label", "a\x1b[31mb \u202E and more words that have to go to the next line");
  CHECK(page.take() == "Label      a?[31mb ? and more words that\n           have to go to the next line\n");
  style.unicode = false;
  style.colour = true;
  Page plain(style);
  plain.rule();
  plain.line(plain.warn("×"));
  const std::string text = plain.take();
  CHECK(text.find(std::string(40, '-')) != std::string::npos);
  CHECK(text.find("\x1b[33mx\x1b[0m\n") != std::string::npos);
}

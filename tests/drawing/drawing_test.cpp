// SPDX-License-Identifier: GPL-3.0-or-later
// Drawings: painted area against closed forms, tones by lightness, words that attack the markup.
#include <pourwright/drawing.hpp>

#include "drawing/lettering.hpp"

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::drawing;

namespace {

Sheet sheet(int width = 100, int height = 80) {
  Sheet s;
  s.width = width;
  s.height = height;
  s.paper = ink(0xffffff);
  return s;
}

/// Of a sheet painted black on white: how many points are covered in all.
double covered(const Sheet& s) {
  const Raster r = painted(s);
  double sum = 0;
  for (std::size_t i = 0; i < r.rgba.size(); i += 4) sum += (255 - r.rgba[i]) / 255.0;
  return sum;
}

Shape black(std::vector<Ring> rings) {
  return Shape{std::move(rings), true, ink(0), {}, {}};
}

using Rgb = std::array<double, 3>;
double linear(double c) {
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}
/// L* of an ink seen through a matrix of linear sRGB.
double lightness_through(const Ink& i, const std::array<Rgb, 3>& m) {
  const Rgb rgb = {linear(i.r / 255.0), linear(i.g / 255.0), linear(i.b / 255.0)};
  Rgb seen{};
  for (std::size_t k = 0; k < 3; ++k) {
    for (std::size_t j = 0; j < 3; ++j) seen[k] += m[k][j] * rgb[j];
    seen[k] = std::min(std::max(seen[k], 0.0), 1.0);
  }
  const double y = 0.2126 * seen[0] + 0.7152 * seen[1] + 0.0722 * seen[2];
  return y > 0.008856451679 ? 116 * std::cbrt(y) - 16 : 903.2962963 * y;
}

bool well_formed(std::string_view svg) {
  // Every & begins one of the five entities or a number; < and > only bound tags; no control characters.
  int depth = 0;
  for (std::size_t i = 0; i < svg.size(); ++i) {
    const char c = svg[i];
    if (static_cast<unsigned char>(c) < 0x20 && c != '\n') return false;
    if (c == '<' && depth++ != 0) return false;
    if (c == '>' && depth-- != 1) return false;
    if (c == '&') {
      const auto end = svg.find(';', i);
      if (end == std::string_view::npos || end - i > 6) return false;
    }
  }
  return depth == 0;
}

}  // namespace

TEST_CASE("an area covers as much as it is large") {
  Sheet s = sheet();
  SUBCASE("a box between points") {
    s.items.push_back(black({{{10.25, 20.4}, {50.75, 20.4}, {50.75, 60.8}, {10.25, 60.8}}}));
    CHECK(covered(s) == doctest::Approx(40.5 * 40.4).epsilon(0.003));
  }
  SUBCASE("a disc") {
    s.items.push_back(black({circle({50, 40}, 30)}));
    // A polygon within the circle.
    const double n = static_cast<double>(circle({50, 40}, 30).size());
    CHECK(covered(s) == doctest::Approx(n / 2 * 900 * std::sin(2 * std::numbers::pi / n)).epsilon(0.001));
    CHECK(covered(s) > 0.99 * std::numbers::pi * 900);
  }
  SUBCASE("a ring: the hole winds the other way") {
    Ring hole = circle({50, 40}, 15);
    hole = Ring(hole.rbegin(), hole.rend());
    s.items.push_back(black({circle({50, 40}, 30), hole}));
    CHECK(covered(s) == doctest::Approx(std::numbers::pi * (900 - 225)).epsilon(0.008));
  }
  SUBCASE("two that overlap count once") {
    s.items.push_back(
        black({{{10, 10}, {30, 10}, {30, 30}, {10, 30}}, {{20, 20}, {40, 20}, {40, 40}, {20, 40}}}));
    CHECK(covered(s) == doctest::Approx(700).epsilon(1e-3));
  }
  SUBCASE("what lies outside is not painted") {
    s.items.push_back(black({{{-1e9, -1e9}, {1e9, -1e9}, {1e9, 1e9}, {-1e9, 1e9}}}));
    CHECK(covered(s) == doctest::Approx(100 * 80));
  }
  SUBCASE("nothing that is no number is painted") {
    s.items.push_back(black({{{NAN, 1}, {50, INFINITY}, {20, 70}}}));
    CHECK(covered(s) == doctest::Approx(0));
  }
}

TEST_CASE("a line is as long and wide as it is drawn, with round ends") {
  Sheet s = sheet();
  s.items.push_back(Shape{{{{20, 40}, {80, 40}}}, false, {}, Stroke{ink(0), 6}, {}});
  CHECK(covered(s) == doctest::Approx(60 * 6 + std::numbers::pi * 9).epsilon(0.01));
  Sheet bent = sheet();
  // Where a line turns back on itself it is no darker.
  bent.items.push_back(Shape{{{{20, 40}, {80, 40}, {20, 40}}}, false, {}, Stroke{ink(0), 6}, {}});
  CHECK(covered(bent) == doctest::Approx(covered(s)).epsilon(1e-6));
  Sheet dashed = sheet();
  dashed.items.push_back(Shape{{{{10, 40}, {90, 40}}}, false, {}, Stroke{ink(0), 1, 10}, {}});
  CHECK(covered(dashed) == doctest::Approx(40).epsilon(0.1));
}

TEST_CASE("hatching stays inside and keeps its distance") {
  const Ring box = {{10, 10}, {90, 10}, {90, 70}, {10, 70}};
  const auto lines = hatching({box}, 45, 7);
  REQUIRE(lines.size() > 10);
  double length = 0;
  for (const Ring& l : lines) {
    REQUIRE(l.size() == 2);
    for (const At& p : l) {
      CHECK(p.x > 10 - 1e-9);
      CHECK(p.x < 90 + 1e-9);
      CHECK(p.y > 10 - 1e-9);
      CHECK(p.y < 70 + 1e-9);
    }
    length += std::hypot(l[1].x - l[0].x, l[1].y - l[0].y);
  }
  // Each line speaks for a band as wide as they are apart.
  CHECK(length * 7 == doctest::Approx(80 * 60).epsilon(0.02));
  CHECK(hatching({box}, 45, 0).empty());
  CHECK(hatching({{{0, 0}, {1e12, 0}, {1e12, 1e12}}}, 45, 1).empty());
}

TEST_CASE("tones become lighter strictly, for eyes of every kind") {
  const std::array<std::array<Rgb, 3>, 4> eyes = {{
      {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
      {{{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}},
      {{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}},
      {{{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}},
  }};
  for (const auto& eye : eyes) {
    for (int k = 1; k < tones; ++k)
      CHECK(lightness_through(tone(k), eye) > lightness_through(tone(k - 1), eye) + 0.3);
    CHECK(lightness_through(tone(tones - 1), eye) - lightness_through(tone(0), eye) > 65);
  }
  for (int k = 0; k < tones; ++k)
    CHECK(lightness(tone(k)) == doctest::Approx(lightness_through(tone(k), eyes[0])));
  CHECK(lightness(ink(0xffffff)) == doctest::Approx(100).epsilon(1e-4));
  CHECK(lightness(ink(0)) == 0);
  CHECK(lightness(ink(0x777777)) == doctest::Approx(50.03).epsilon(1e-3));  // CIE 15 and IEC 61966-2-1
  CHECK(tone_at(-1) == tone(0));
  CHECK(tone_at(NAN) == tone(0));
  CHECK(tone_at(7) == tone(tones - 1));
}

TEST_CASE("letters: every one of ASCII, accents, and a box for what is missing") {
  for (char c = ' '; c <= '~'; ++c) CHECK_MESSAGE(can_letter(std::string(1, c)), c);
  CHECK(can_letter("Schälchen für Käse, Œuvre, Łódź, ñandú, Çeşme, Žižkov, Őrség ±×·…→"));
  CHECK_FALSE(can_letter("中"));
  CHECK_FALSE(can_letter("\xff"));
  CHECK(lettered("中", {0, 0}, 20).size() == 1);
  CHECK(lettered("", {0, 0}, 20).empty());
  // As wide as they are said to be, and no letter above the line's height.
  for (const char* const text : {"Wim", "g", "0123456789", "ÄÖÜ"}) {
    double right = 0, top = 0;
    for (const Ring& line : lettered(text, {0, 0}, 20))
      for (const At& p : line) {
        right = std::max(right, p.x);
        top = std::min(top, p.y);
        CHECK(p.x >= 0);
      }
    CHECK(right < width_of(text, 20));
    CHECK(right > width_of(text, 20) - 3);
    CHECK(top > -19.5);
  }
  CHECK(width_of("abc", 40) == doctest::Approx(2 * width_of("abc", 20)));
  // Digits stand under each other.
  for (const char* const digit : {"1", "4", "7"})
    CHECK(width_of(digit, 20) == doctest::Approx(width_of("0", 20)));
}

TEST_CASE("a long name is cut in the middle, between letters") {
  const std::string name = "eine-sehr-lange-Schälchenform-für-Käse.stl";
  const std::string cut = fitted(name, 20, 200);
  CHECK(width_of(cut, 20) <= 200);
  CHECK(width_of(cut, 20) > 160);
  CHECK(cut.starts_with("eine"));
  CHECK(cut.ends_with(".stl"));
  CHECK(cut.find("…") != std::string::npos);
  CHECK(fitted(name, 20, 1e6) == name);
  CHECK(fitted(name, 20, 0) == "…");
  // Malformed bytes are one letter each, and nothing is cut inside a letter.
  for (double width = 0; width < 300; width += 7)
    for (const char32_t c : letters_of(fitted("äöü\xff\xc3 äöüß中文äöü", 20, width))) CHECK(c != 0);
}

TEST_CASE("words cannot break the SVG") {
  for (const std::string& name :
       {std::string("<b>&\".stl"), std::string("</text><script>alert(1)</script>"), std::string("]]>'&amp;"),
        std::string("a\0b\x1b[31m\x7f", 9), std::string("\xff\xfe\xed\xa0\x80\xc0\xaf"),
        std::string("\xe2\x80\xae"
                    "lts.wob")}) {
    Sheet s = sheet();
    s.title = s.says = name;
    s.items.push_back(Words{{5, 20}, 14, name, ink(0), Anchor::start, false});
    s.items.push_back(Shape{{circle({20, 20}, 5)}, true, ink(0), {}, name});
    const auto svg = svg_of(s);
    REQUIRE(svg);
    CHECK(well_formed(*svg));
    CHECK(svg->find("<script") == std::string::npos);
    CHECK(svg->find("\xe2\x80\xae") == std::string::npos);
    CHECK(svg->find('\0') == std::string::npos);
  }
  CHECK_FALSE(well_formed("<a>&</a>"));
}

TEST_CASE("the same drawing gives the same bytes, and other drawings others") {
  Sheet s = sheet();
  s.items.push_back(Words{{5, 20}, 14, "Köln 12,5 g", ink(0x223344), Anchor::start, true});
  const auto one = png_of(painted(s)), two = png_of(painted(s));
  REQUIRE(one);
  CHECK(*one == *two);
  CHECK(one->starts_with("\x89PNG\r\n\x1a\n"));
  CHECK(one->find("tIME") == std::string::npos);
  CHECK(*svg_of(s) == *svg_of(s));
  std::get<Words>(s.items[0]).text = "Köln 12,6 g";
  CHECK(*png_of(painted(s)) != *one);
}

TEST_CASE("a picture of points is put down as it is, and cut off at the border") {
  Sheet s = sheet(4, 3);
  Raster r{2, 2, {255, 0, 0, 255, 0, 255, 0, 128, 0, 0, 255, 255, 9, 9, 9, 0}};
  s.items.push_back(Placed{1, 1, r, "two by two"});
  const Raster out = painted(s);
  const auto point = [&](int x, int y) {
    const std::size_t i = 4 * static_cast<std::size_t>(4 * y + x);
    return std::array<int, 3>{out.rgba[i], out.rgba[i + 1], out.rgba[i + 2]};
  };
  CHECK(point(1, 1) == std::array<int, 3>{255, 0, 0});
  CHECK(point(2, 1) == std::array<int, 3>{127, 255, 127});
  CHECK(point(1, 2) == std::array<int, 3>{0, 0, 255});
  CHECK(point(2, 2) == std::array<int, 3>{255, 255, 255});
  s.items.push_back(Placed{-1, 2, r, {}});
  s.items.push_back(Placed{3, -1, r, {}});
  CHECK(painted(s).rgba.size() == 48);
  CHECK(svg_of(s)->find("data:image/png;base64,iVBORw0KGgo") != std::string::npos);
}

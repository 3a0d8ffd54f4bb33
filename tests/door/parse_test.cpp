// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/door.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("readings") {
  for (const Reading r : {Reading::mold, Reading::piece, Reading::scan}) CHECK(*parse_reading(name(r)) == r);
  for (const char* bad : {"", "Mold", "decide", "moldx"}) CHECK_FALSE(parse_reading(bad));
}

TEST_CASE("directions") {
  CHECK(*parse_direction("+z") == Point{0, 0, 1});
  CHECK(*parse_direction("z") == Point{0, 0, 1});
  CHECK(*parse_direction("-y") == Point{0, -1, 0});
  CHECK(*parse_direction("0,0.5,-1e1") == Point{0, 0.5, -10});
  for (const char* bad : {"", "w", "+w", "1", "1,2", "1,2,3,4", "0,0,0", "nan,0,1", "+", "z+", "1,,2"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_direction(bad));
  }
}

TEST_CASE("fill levels: the five ways to say how high") {
  using Kind = FillLevel::Kind;
  const auto is = [](const char* text, Kind kind, double value) {
    CAPTURE(text);
    const auto f = parse_fill_level(text);
    REQUIRE(f);
    CHECK(f->kind == kind);
    CHECK(f->value == doctest::Approx(value));
  };
  is("brim", Kind::brim, 0);
  is("-2mm", Kind::below_brim, 2);
  is("35mm", Kind::height, 35);
  is("80%", Kind::share, 0.8);
  is("180ml", Kind::volume, 180'000);
  for (const char* bad : {"", "lots", "120%", "0%", "-1ml"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_fill_level(bad));
  }
}

TEST_CASE("which cavities are filled") {
  CHECK(parse_fill_to("decide")->kind == FillTo::Kind::evidence);
  CHECK(parse_fill_to("brims")->kind == FillTo::Kind::brims);
  CHECK(parse_fill_to("rim")->kind == FillTo::Kind::rim);
  CHECK(parse_fill_to("1,3")->ids == std::vector<int>{1, 3});
  for (const char* bad : {"", "0", "1,", ",1", "1;3", "-1", "first"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_fill_to(bad));
  }
}

TEST_CASE("the words for which holes to close") {
  CHECK(parse_close_holes("decide")->which == CloseHoles::Which::decide);
  CHECK(parse_close_holes("none")->which == CloseHoles::Which::nothing);
  CHECK(parse_close_holes("all")->which == CloseHoles::Which::all);
  CHECK(in_millimetres(parse_close_holes("up-to 12mm")->size) == 12);
  CHECK(in_millimetres(parse_close_holes("up-to=12mm")->size) == 12);
  CHECK(in_millimetres(parse_close_holes("1.2cm")->size) == doctest::Approx(12));
  CHECK_FALSE(parse_close_holes("up-to12mm"));
  CHECK_FALSE(parse_close_holes("up-to "));
  CHECK_FALSE(parse_close_holes("up-to 0mm"));
  CHECK_FALSE(parse_close_holes("some"));
  CHECK_FALSE(parse_close_holes("-3mm"));
  CHECK_FALSE(parse_close_holes("up-to"));
}

TEST_CASE("gaps: none is a gap, less than none is not") {
  CHECK(in_millimetres(*parse_gap("0mm")) == 0);
  CHECK(in_millimetres(*parse_gap("0.1mm")) == doctest::Approx(0.1));
  CHECK_FALSE(parse_gap("-0.1mm"));
  CHECK_FALSE(parse_gap("wide"));
}

TEST_CASE("one known size, with what its last digit leaves open") {
  using Kind = KnownSize::Kind;
  const auto known = [](const char* text) {
    CAPTURE(text);
    const auto k = parse_known_size(text);
    REQUIRE(k);
    CHECK(k->text == text);
    return *k;
  };
  CHECK(known("x=118mm").kind == Kind::x);
  CHECK(known("x=118mm").size == 118);
  CHECK(known("x=118mm").doubt == doctest::Approx(0.5 / 118));
  CHECK(known("longest=4.5in").size == doctest::Approx(114.3));
  CHECK(known("longest=4.5in").doubt == doctest::Approx(0.05 / 4.5));
  CHECK(known("capacity=186ml").size == doctest::Approx(186'000));
  const KnownSize two = known("0,0,0,12,5,3=42mm");
  CHECK(two.kind == Kind::between);
  CHECK(two.q == Point{12, 5, 3});
  for (const char* bad :
       {"", "x", "x=", "x=0mm", "w=3mm", "0,0,0,0,0,0=3mm", "0,0,0,1,1=3mm", "capacity=3mm"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_known_size(bad));
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/units.hpp>

#include <cstdint>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

double mm3(std::string_view text) {
  const auto v = parse_volume(text);
  REQUIRE_MESSAGE(v.has_value(), text);
  return in_cubic_millimetres(*v);
}
std::int64_t ug(std::string_view text) {
  const auto m = parse_mass(text);
  REQUIRE_MESSAGE(m.has_value(), text);
  return m->in_micrograms();
}
/// A decimal text rounded to a decimal step, as masses, which is where this program rounds.
std::string rounded(std::string_view value, std::string_view step) {
  const Mass s = *parse_mass(step);
  return grams_text(round_to(*parse_mass(value), s), s);
}

__extension__ using Wide = __int128;

/// Nearest, halves to even, by looking at all candidates around the quotient.
std::int64_t nearest_even_twin(Wide product, Wide b) {
  const Wide guess = product / b;
  Wide best = guess - 2;
  for (Wide q = guess - 2; q <= guess + 2; ++q) {
    const auto gap = [&](Wide x) { return x * b > product ? x * b - product : product - x * b; };
    if (gap(q) < gap(best) || (gap(q) == gap(best) && q % 2 == 0)) best = q;
  }
  return static_cast<std::int64_t>(best);
}

}  // namespace

// NIST Handbook 44, Appendix C: exact values in millilitres; the cup, spoons, pint and quart follow from the
// gallon of 231 cubic inches.
TEST_CASE("US volumes are the doubles nearest to the exact values") {
  CHECK(mm3("1in3") == 16387.064);
  CHECK(mm3("1gal") == 3785411.784);
  CHECK(mm3("1qt") == 946352.946);
  CHECK(mm3("1pt") == 473176.473);
  CHECK(mm3("1cup") == 236588.2365);
  CHECK(mm3("1floz") == 29573.5295625);
  CHECK(mm3("1 fl oz") == 29573.5295625);
  CHECK(mm3("1tbsp") == 14786.76478125);
  CHECK(mm3("1tsp") == 4928.92159375);
  CHECK(mm3("8floz") == mm3("1cup"));
}

// The imperial gallon is 4.54609 L, its fluid ounce a 160th of it: NIST SP 811, Appendix B.
TEST_CASE("UK volumes are not the US ones") {
  CHECK(mm3("1ukgal") == 4546090);
  CHECK(mm3("1ukpt") == 568261.25);
  CHECK(mm3("1ukfloz") == 28413.0625);
  CHECK(mm3("160 ukfloz") == mm3("1ukgal"));
}

TEST_CASE("metric volumes") {
  CHECK(mm3("250ml") == 250e3);
  CHECK(mm3("250") == 250e3);
  CHECK(mm3("0.25l") == 250e3);
  CHECK(mm3("0,25 L") == 250e3);
  CHECK(mm3("25cl") == 250e3);
  CHECK(mm3("12cm3") == 12e3);
  CHECK(mm3("12 cm³") == 12e3);
  CHECK(mm3("500mm3") == 500);
}

// The pound is 453.59237 g and the ounce a sixteenth of it, exactly (NIST Handbook 44, Appendix C).
TEST_CASE("masses are exact to the microgram") {
  CHECK(ug("1lb") == 453'592'370);
  CHECK(ug("16oz") == 453'592'370);
  CHECK(ug("1oz") == 28'349'523);   // 28.349523125 g
  CHECK(ug("8oz") == 226'796'185);  // exact
  CHECK(ug("0.4kg") == 400'000'000);
  CHECK(ug("102g") == 102'000'000);
  CHECK(ug("102") == 102'000'000);
  CHECK(ug("2,5 g") == 2'500'000);
  CHECK(ug("250mg") == 250'000);
  CHECK(ug("0.1g") == 100'000);
  CHECK(ug("-1g") == -1'000'000);
  CHECK(ug("1e3g") == 1'000'000'000);
}

TEST_CASE("lengths") {
  CHECK(in_millimetres(*parse_length("2mm")) == 2);
  CHECK(in_millimetres(*parse_length("1.5cm")) == 15);
  CHECK(in_millimetres(*parse_length("1in")) == 25.4);
  CHECK(in_millimetres(*parse_length("1ft")) == 304.8);
  CHECK(in_millimetres(*parse_length("0.1 m")) == 100);
  for (const auto unit : {LengthUnit::mm, LengthUnit::cm, LengthUnit::m, LengthUnit::in, LengthUnit::ft}) {
    REQUIRE(parse_length_unit(name(unit)));
    CHECK(*parse_length_unit(name(unit)) == unit);
    CHECK(in_millimetres(*parse_length("1" + std::string(name(unit)))) == millimetres_in(unit));
  }
  CHECK(parse_length_unit("furlong").error().code == Code::bad_quantity);
}

TEST_CASE("densities and times") {
  CHECK(in_grams_per_millilitre(*parse_density("1.82")) == 1.82);
  CHECK(in_grams_per_millilitre(*parse_density("1,82 g/mL")) == 1.82);
  CHECK(in_grams_per_millilitre(*parse_density("1820 kg/m3")) == doctest::Approx(1.82).epsilon(1e-15));
  CHECK(in_grams_per_millilitre(*parse_density("1.82kg/l")) == 1.82);
  CHECK(parse_density("1.8 g").error().code == Code::bad_quantity);
  CHECK(in_minutes(*parse_duration("14 min")) == 14);
  CHECK(in_minutes(*parse_duration("14")) == 14);
  CHECK(in_minutes(*parse_duration("90s")) == 1.5);
  CHECK(in_minutes(*parse_duration("1.5 h")) == 90);
  CHECK(in_minutes(*parse_duration("7 d")) == 7 * 24 * 60);
}

// 1 lb/US gal = 0.1198264 kg/L and 1 lb/ft³ = 16.018463 kg/m³, derived from the exact factors above.
TEST_CASE("mixed factors follow from the exact ones") {
  const double pound = static_cast<double>(ug("1lb")) / 1e6;
  CHECK(pound / (mm3("1gal") / 1e3) == doctest::Approx(0.1198264).epsilon(1e-7));
  const double foot = in_millimetres(*parse_length("1ft"));
  CHECK(pound / 1e3 / (foot * foot * foot / 1e9) == doctest::Approx(16.018463).epsilon(1e-7));
  // A cup of eight fluid ounces of mix does not weigh eight ounces: 236.6 mL at 1.75 g/mL.
  CHECK((*parse_volume("8floz") * grams_per_millilitre(1.75)).in_grams() ==
        doctest::Approx(414).epsilon(1e-3));
}

TEST_CASE("numbers with a point or one comma") {
  CHECK(*parse_number("2.5") == 2.5);
  CHECK(*parse_number("2,5") == 2.5);
  CHECK(*parse_number(" -3 ") == -3);
  CHECK(*parse_number("+3") == 3);
  CHECK(*parse_number("1e3") == 1000);
  CHECK(*parse_number("1e-3") == 0.001);
  CHECK(*parse_number("1e+3") == 1000);
  CHECK(*parse_number(".5") == 0.5);
  CHECK(parse_ratio("3.2")->in_millionths() == 3'200'000);
  CHECK(parse_ratio("3,2")->in_millionths() == 3'200'000);
  CHECK(parse_ratio("0.0000005")->in_millionths() == 0);  // half to even
  CHECK(parse_ratio("0.0000015")->in_millionths() == 2);
  CHECK(parse_ratio("0.00000051")->in_millionths() == 1);
  CHECK(parse_percent("5%")->in_millionths() == 50'000);
  CHECK(parse_percent("5 %")->in_millionths() == 50'000);
  CHECK(parse_percent("33.3333")->in_millionths() == 333'333);
}

TEST_CASE("what is no number is refused, in every kind of quantity") {
  for (const char* text :
       {"",        " ",       "nan",   "NaN",   "inf",    "-inf",  "infinity", "0x10",
        "1.234,5", "1,234.5", "1 000", "1e400", "1e-400", "1e+-5", "1e",       "--1",
        "+-1",     ".",       ",",     "-",     "1..2",   "1'000", "½",        "1e99999999999999999999",
        "g",       "%"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_number(text));
    CHECK_FALSE(parse_ratio(text));
    CHECK_FALSE(parse_percent(text));
    CHECK_FALSE(parse_mass(text));
    CHECK_FALSE(parse_volume(text));
    CHECK_FALSE(parse_length(text));
    CHECK_FALSE(parse_density(text));
    CHECK_FALSE(parse_duration(text));
  }
  CHECK(parse_number("nan").error().code == Code::bad_number);
  CHECK(parse_mass("1e18kg").error().code == Code::bad_number);
  CHECK(parse_mass("99999999999999999999").error().code == Code::bad_number);
  CHECK(parse_ratio("1e300").error().code == Code::bad_number);
  CHECK(parse_volume("1e308l").error().code == Code::bad_number);
  CHECK(parse_mass("12ml").error().code == Code::bad_quantity);
  CHECK(parse_volume("12g").error().code == Code::bad_quantity);
  CHECK_FALSE(parse_number(std::string(100'000, '9')));
  CHECK_FALSE(parse_number("0." + std::string(100'000, '0') + "1"));  // below the smallest double
  CHECK(*parse_number("0." + std::string(100'000, '0')) == 0);
}

// ISO 80000-1 Annex B, rule A (half to even). From memory: 12.223, 12.251, 12.275, 12.25, 12.35, 1225, 1235.
// IS 2:1960: 4.36, 15.205, 2.651, 0.3552, 12.545001, 9.625. A college laboratory's rule page: 21.350, 21.45,
// 21.4501.
TEST_CASE("rounding is half to even on decimals") {
  CHECK(rounded("12.223", "0.1") == "12.2");
  CHECK(rounded("12.251", "0.1") == "12.3");
  CHECK(rounded("12.275", "0.1") == "12.3");
  CHECK(rounded("12.25", "0.1") == "12.2");
  CHECK(rounded("12.35", "0.1") == "12.4");
  CHECK(rounded("1225.0", "10") == "1220");
  CHECK(rounded("1235.0", "10") == "1240");
  CHECK(rounded("4.36", "1") == "4");
  CHECK(rounded("15.205", "0.1") == "15.2");
  CHECK(rounded("2.651", "0.1") == "2.7");
  CHECK(rounded("0.3552", "0.01") == "0.36");
  CHECK(rounded("12.545001", "0.01") == "12.55");
  CHECK(rounded("9.625", "1") == "10");
  CHECK(rounded("21.350", "0.1") == "21.4");
  CHECK(rounded("21.45", "0.1") == "21.4");
  CHECK(rounded("21.4501", "0.1") == "21.5");
  // The trap of binary doubles: 2.675 is stored as 2.67499…, yet the decimal is a tie between 2.67 and 2.68.
  CHECK(rounded("2.675", "0.01") == "2.68");
  CHECK(rounded("-12.25", "0.1") == "-12.2");
}

TEST_CASE("rounding up never loses and adds less than a step") {
  CHECK(round_up_to(Mass::grams(0), Mass::grams(1)).in_micrograms() == 0);
  CHECK(round_up_to(Mass::micrograms(1), Mass::grams(1)) == Mass::grams(1));
  CHECK(round_up_to(Mass::grams(7), Mass::grams(1)) == Mass::grams(7));
  std::mt19937_64 random(11);
  for (int i = 0; i < 10'000; ++i) {
    const Mass m = Mass::micrograms(static_cast<std::int64_t>(random() % 1'000'000'000'000));
    const Mass step = Mass::micrograms(static_cast<std::int64_t>(random() % 5'000'000 + 1));
    const Mass up = round_up_to(m, step);
    CHECK(up >= m);
    CHECK(up - m < step);
    CHECK(up.in_micrograms() % step.in_micrograms() == 0);
    const Mass near = round_to(m, step);
    CHECK(near.in_micrograms() % step.in_micrograms() == 0);
    CHECK(2 * std::abs((near - m).in_micrograms()) <= step.in_micrograms());
  }
}

TEST_CASE("multiply_divide agrees with its brute-force twin") {
  std::mt19937_64 random(20240917);
  const auto draw = [&](int bits) { return static_cast<std::int64_t>(random() >> (64 - bits)); };
  for (int i = 0; i < 200'000; ++i) {
    const int bits = 3 + i % 40;
    const std::int64_t b = draw(bits) + 1;
    std::int64_t n = draw(bits), a = draw(20) % b;  // a/b < 1 keeps the result in 64 bits
    if (i % 3 == 0) n = -n;
    CAPTURE(n);
    CAPTURE(a);
    CAPTURE(b);
    REQUIRE(multiply_divide(n, a, b) == nearest_even_twin(Wide{n} * a, b));
  }
  // Products beyond 64 bits and exact ties on both sides of zero.
  const std::int64_t big = INT64_MAX;
  CHECK(multiply_divide(big, big, big) == big);
  CHECK(multiply_divide(-big, 1, big) == -1);
  CHECK(multiply_divide(1, 1, 2) == 0);
  CHECK(multiply_divide(3, 1, 2) == 2);
  CHECK(multiply_divide(-1, 1, 2) == 0);
  CHECK(multiply_divide(-3, 1, 2) == -2);
  CHECK(multiply_divide(5, 1, 2) == 2);
}

TEST_CASE("density is the door between volume and mass") {
  const Density rho = grams_per_millilitre(1.86);
  CHECK(millilitres(100) * rho == Mass::grams(186));
  CHECK(in_millilitres(Mass::grams(186) / rho) == doctest::Approx(100).epsilon(1e-15));
  CHECK(Mass::grams(102) * Ratio::of(3.2) == Mass::micrograms(326'400'000));
}

TEST_CASE("grams_text shows as many decimals as the step needs, and never hides a remainder") {
  const auto text = [](std::int64_t mass, std::int64_t step) {
    return grams_text(Mass::micrograms(mass), Mass::micrograms(step));
  };
  CHECK(text(326'400'000, 100'000) == "326.4");
  CHECK(text(326'000'000, 100'000) == "326.0");
  CHECK(text(326'000'000, 1'000'000) == "326");
  CHECK(text(326'000'000, 10'000'000) == "326");
  CHECK(text(326'400'000, 1'000'000) == "326.4");  // off the step: shown, not dropped
  CHECK(text(50'000, 50'000) == "0.05");
  CHECK(text(1, 1) == "0.000001");
  CHECK(text(0, 10'000) == "0.00");
  CHECK(text(-500'000, 100'000) == "-0.5");
  CHECK(text(INT64_MIN, 1) == "-9223372036854.775808");
}

TEST_CASE("fixed has no negative zero") {
  CHECK(fixed(12.5, 2) == "12.50");
  CHECK(fixed(-0.001, 2) == "0.00");
  CHECK(fixed(-0.01, 2) == "-0.01");
  CHECK(fixed(3, 0) == "3");
}

TEST_CASE("nearest_name: one edit in short words, two in long ones") {
  const std::vector<std::string> keys{"ratio", "density", "density-from", "working-time", "key", "name"};
  CHECK(nearest_name("ratoi", keys) == "ratio");  // a swap is one edit
  CHECK(nearest_name("rato", keys) == "ratio");
  CHECK(nearest_name("rattio", keys) == "ratio");
  CHECK(nearest_name("Ratio", keys) == "ratio");
  CHECK(nearest_name("densty", keys) == "density");
  CHECK(nearest_name("desnity", keys) == "density");
  CHECK(nearest_name("densitty-form", keys) == "density-from");
  CHECK(nearest_name("densitty-forn", keys) == "");  // three edits
  CHECK(nearest_name("dnesity-form", keys) == "density-from");
  CHECK(nearest_name("nmae", keys) == "name");
  CHECK(nearest_name("wrking-tmie", keys) == "working-time");
  CHECK(nearest_name("colour", keys) == "");
  CHECK(nearest_name("kxx", keys) == "");
  CHECK(nearest_name("", keys) == "");
  CHECK(nearest_name("key", {}) == "");
}

TEST_CASE("three digits behind a comma are asked about, wherever a thousand is possible") {
  for (const std::string text : {"1,000g", "2,400 g", "12,500", "+1,250 kg", "999,999"}) {
    CAPTURE(text);
    const auto mass = parse_mass(text);
    REQUIRE_FALSE(mass);
    CHECK(mass.error().code == Code::bad_number);
    CHECK(mass.error().text.find(" can be ") != std::string::npos);
  }
  CHECK(parse_mass("1,000g").error().text == "“1,000g” can be 1 or 1000");
  CHECK(parse_mass("2,450g").error().hint.starts_with("write 2.45 or 2450"));
  CHECK_FALSE(parse_volume("1,500ml"));
  CHECK_FALSE(parse_length("1,234mm"));
  CHECK_FALSE(parse_decimal("1,000", 9));
  // These can be one thing only.
  CHECK(*parse_mass("0,102kg") == Mass::grams(102));
  CHECK(*parse_mass("1,25kg") == Mass::grams(1250));
  CHECK(*parse_mass("1,2345kg") == Mass::micrograms(1'234'500'000));
  CHECK(*parse_mass("1.000g") == Mass::grams(1));
  CHECK(*parse_mass("1234,500") == Mass::grams(1234.5));
  CHECK(in_grams_per_millilitre(*parse_density("1,860")) == doctest::Approx(1.86));
  CHECK(*parse_ratio("3,125") == Ratio::of(3.125));
  CHECK(*parse_percent("1,125%") == Ratio::of(0.01125));
}

TEST_CASE("a ratio may be said as parts to parts") {
  CHECK(*parse_ratio("3:1") == Ratio::of(3));
  CHECK(*parse_ratio(" 3.2 : 1 ") == Ratio::of(3.2));
  CHECK(*parse_ratio("3,2:1") == Ratio::of(3.2));
  CHECK(*parse_ratio("320/100") == Ratio::of(3.2));
  CHECK(*parse_ratio("16:5") == Ratio::of(3.2));
  CHECK(*parse_ratio("1:3") == Ratio::millionths(333'333));
  for (const std::string text :
       {"3:0", ":", "3:", ":1", "3:1:1", "3:-1", "a:1", "1e300:1", "3::1", "999999999999:0.000001"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_ratio(text));
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/intake/numbers.hpp"

#include <bit>
#include <random>
#include <string>

#include <doctest/doctest.h>

using namespace pourwright::intake;

namespace {

struct Answer {
  Parsed parsed;
  double value;
  std::size_t used;
};
Answer parse(const std::string& text) {
  const std::string padded = text + std::string(16, '\0');
  const char* p = padded.c_str();
  double value = 0;
  const Parsed parsed = parse_double(p, value);
  return {parsed, value, static_cast<std::size_t>(p - padded.c_str())};
}
double exactly(const std::string& text) {
  double value = 0;
  const char* first = text.data() + (text[0] == '+' ? 1 : 0);
  std::from_chars(first, text.data() + text.size(), value);
  return value;
}
void check_agrees(const std::string& text) {
  const Answer a = parse(text);
  CAPTURE(text);
  CHECK(a.parsed == Parsed::ok);
  CHECK(a.used == text.size());
  CHECK(std::bit_cast<std::uint64_t>(a.value) == std::bit_cast<std::uint64_t>(exactly(text)));
}

}  // namespace

TEST_CASE("numbers are rounded exactly as the standard library rounds them") {
  std::mt19937_64 random(20240601);
  for (int i = 0; i < 200'000; ++i) {
    std::string text;
    const unsigned kind = static_cast<unsigned>(random() % 4);
    if (random() % 3 == 0) text += random() % 2 == 0 ? "-" : "+";
    const auto digits = [&](std::uint64_t most) {
      for (std::uint64_t n = 1 + random() % most; n > 0; --n) text += static_cast<char>('0' + random() % 10);
    };
    digits(kind == 0 ? 25 : 7);
    if (kind != 1) {
      text += '.';
      digits(kind == 2 ? 20 : 9);
    }
    if (kind == 3)
      text += (random() % 2 == 0 ? "e" : "E") + std::string(random() % 2 == 0 ? "-" : "+") +
              std::to_string(random() % 40);
    check_agrees(text);
  }
}

TEST_CASE("any finite double survives being written with 17 digits") {
  std::mt19937_64 random(7);
  for (int i = 0; i < 100'000; ++i) {
    const auto value = std::bit_cast<double>(random());
    if (!(value - value == 0)) continue;
    char text[40];
    std::snprintf(text, sizeof text, "%.17g", value);
    CHECK(parse(text).value == value);
  }
}

TEST_CASE("forms that exporters write") {
  CHECK(parse("1.").value == 1);
  CHECK(parse(".5").value == 0.5);
  CHECK(parse("+.5e+01").value == 5);
  CHECK(parse("-0").value == 0);
  CHECK(std::signbit(parse("-0.0").value));
  CHECK(parse("007").value == 7);
  CHECK(parse("2.00000000E+01").value == 20);
  CHECK(parse("1e").used == 1);  // an exponent without digits is not part of the number
  CHECK(parse("1e+").used == 1);
  CHECK(parse("1,5").used == 1);
  CHECK(parse("123456789012345678901234567890").value == 123456789012345678901234567890.0);
  CHECK(parse("0.000000000000000000000000000001").value == 1e-30);
}

TEST_CASE("what is no number, and what is no finite number") {
  for (const char* text : {"", "-", "+", ".", "e5", "abc", "-.e1", "--1"})
    CHECK(parse(text).parsed == Parsed::missing);
  for (const char* text : {"nan", "NaN", "-nan(ind)", "inf", "-INF", "Infinity", "1.#QNAN", "-1.#IND",
                           "1.#INF", "1e999", "-1e400", "1e99999999999"})
    CHECK(parse(text).parsed == Parsed::not_finite);
}

TEST_CASE("what is too small becomes zero or a denormal number, not an error") {
  CHECK(parse("1e-400").parsed == Parsed::ok);
  CHECK(parse("1e-400").value == 0);
  CHECK(parse("1e-99999999999").value == 0);
  CHECK(parse("4.9406564584124654e-324").value == 4.9406564584124654e-324);
  CHECK(parse("0." + std::string(400, '0') + "1").value == 0);
  CHECK(parse("0e999999").value == 0);
  CHECK(parse(std::string(300, '9') + "e10").parsed == Parsed::not_finite);
  CHECK(parse("0." + std::string(350, '0') + "1e400").value == doctest::Approx(1e49));
}

TEST_CASE("whole numbers") {
  const auto whole = [](const std::string& text, std::int64_t& out) {
    const std::string padded = text + std::string(16, '\0');
    const char* p = padded.c_str();
    return parse_integer(p, out) ? static_cast<int>(p - padded.c_str()) : -1;
  };
  std::int64_t n = 0;
  CHECK(whole("-8/1", n) == 2);
  CHECK(n == -8);
  CHECK(whole("+12 ", n) == 3);
  CHECK(n == 12);
  CHECK(whole("999999999999999999", n) == 18);
  CHECK(whole("9999999999999999999999", n) == -1);
  CHECK(whole("x", n) == -1);
  CHECK(whole("-", n) == -1);
}

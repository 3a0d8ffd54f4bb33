// SPDX-License-Identifier: GPL-3.0-or-later
// Decimal numbers in mesh files, rounded exactly as std::from_chars rounds them, several times faster for the
// short decimals that exporters write.
#pragma once

#include <array>
#include <bit>
#include <charconv>
#include <cstdint>
#include <cstring>

namespace pourwright::intake {

enum class Parsed : std::uint8_t { ok, missing, not_finite };

namespace detail {

inline constexpr std::array powers_of_ten{1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                          1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                          1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

inline bool is_digit(char c) {
  return static_cast<unsigned char>(c - '0') < 10;
}

/// Eight characters at once: all digits?
inline bool eight_digits(const char* p) {
  std::uint64_t x;
  std::memcpy(&x, p, 8);
  return ((x & 0xF0F0F0F0F0F0F0F0u) | (((x + 0x0606060606060606u) & 0xF0F0F0F0F0F0F0F0u) >> 4)) ==
         0x3333333333333333u;
}
/// Their value: pairs, then fours, then eight. Little-endian order of bytes.
inline std::uint64_t eight_digits_value(const char* p) {
  std::uint64_t x;
  std::memcpy(&x, p, 8);
  x = (x & 0x0F0F0F0F0F0F0F0Fu) * 2561 >> 8;
  x = (x & 0x00FF00FF00FF00FFu) * 6553601 >> 16;
  return (x & 0x0000FFFF0000FFFFu) * 42949672960001u >> 32;
}

/// Anything the fast path cannot do exactly; `end` is where the number stops.
inline Parsed parse_slowly(const char* first, const char* end, bool negative, double& out) {
  double value = 0;
  const auto result = std::from_chars(first, end, value);
  if (result.ec == std::errc::result_out_of_range) {
    // Too large or too small? The decimal exponent of the first significant digit tells.
    long exponent = 0;
    bool significant = false, point = false;
    const char* p = first;
    for (; p != end && (is_digit(*p) || *p == '.'); ++p) {
      if (*p == '.')
        point = true;
      else if (significant || *p != '0') {
        significant = true;
        if (!point) ++exponent;
      } else if (point)
        --exponent;
    }
    if (p != end) {
      if (*++p == '+') ++p;
      long written = 0;
      const bool huge =
          std::from_chars(p, end, written).ec != std::errc{} || written > 100'000 || written < -100'000;
      exponent = huge ? (*p == '-' ? -1 : 1) : exponent + written;
    }
    if (significant && exponent > 0) return Parsed::not_finite;
    value = 0;
  }
  out = negative ? -value : value;
  return Parsed::ok;
}

}  // namespace detail

/// Reads a number at `cursor` and moves it behind; `cursor` stays where it is unless the answer is ok. The
/// text must end in a NUL with 15 readable bytes behind it. Accepts "+1.5", ".5", "1.", "1e+05"; nan, inf and
/// the old "1.#IND" count as not finite. What follows the number is the caller's to judge.
inline Parsed parse_double(const char*& cursor, double& out) {
  using namespace detail;
  const char* p = cursor;
  const bool negative = *p == '-';
  if (negative || *p == '+') ++p;
  const char* const first = p;
  std::uint64_t mantissa = 0;
  for (; is_digit(*p); ++p) mantissa = mantissa * 10 + static_cast<unsigned char>(*p - '0');
  std::ptrdiff_t digits = p - first;
  long exponent = 0;
  if (*p == '.') {
    const char* const fraction = ++p;
    for (; std::endian::native == std::endian::little && eight_digits(p); p += 8)
      mantissa = mantissa * 100'000'000 + eight_digits_value(p);
    for (; is_digit(*p); ++p) mantissa = mantissa * 10 + static_cast<unsigned char>(*p - '0');
    exponent = fraction - p;
    digits += p - fraction;
    if (*p == '#') return Parsed::not_finite;
  }
  if (digits == 0) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; };
    const char a = lower(first[0]);
    const bool word = (a == 'n' && lower(first[1]) == 'a' && lower(first[2]) == 'n') ||
                      (a == 'i' && lower(first[1]) == 'n' && lower(first[2]) == 'f');
    return word ? Parsed::not_finite : Parsed::missing;
  }
  if (*p == 'e' || *p == 'E') {
    const char* q = p + 1;
    const bool down = *q == '-';
    if (down || *q == '+') ++q;
    if (is_digit(*q)) {
      long written = 0;
      for (; is_digit(*q); ++q)
        if (written < 1'000'000) written = written * 10 + (*q - '0');
      exponent += down ? -written : written;
      p = q;
    }
  }
  // Exact: both numbers are doubles without error, and one operation rounds once. 19 digits fit 64 bits.
  if (digits <= 19 && mantissa <= (std::uint64_t{1} << 53) && exponent >= -22 && exponent <= 22) {
    double value = static_cast<double>(mantissa);
    if (exponent < 0)
      value /= powers_of_ten[static_cast<std::size_t>(-exponent)];
    else
      value *= powers_of_ten[static_cast<std::size_t>(exponent)];
    out = negative ? -value : value;
    cursor = p;
    return Parsed::ok;
  }
  const Parsed parsed = parse_slowly(first, p, negative, out);
  if (parsed == Parsed::ok) cursor = p;
  return parsed;
}

/// A whole number that fits 63 bits, with sign; false and nothing moved when there is none.
inline bool parse_integer(const char*& cursor, std::int64_t& out) {
  const char* p = cursor;
  const bool negative = *p == '-';
  if (negative || *p == '+') ++p;
  const char* const first = p;
  std::uint64_t value = 0;
  for (; detail::is_digit(*p); ++p) value = value * 10 + static_cast<unsigned char>(*p - '0');
  if (p == first || p - first > 18) return false;
  out = negative ? -static_cast<std::int64_t>(value) : static_cast<std::int64_t>(value);
  cursor = p;
  return true;
}

}  // namespace pourwright::intake

// SPDX-License-Identifier: GPL-3.0-or-later
// Words, numbers and lines of the text formats, read through the byte window. Eight bytes at a time are
// asked for a line's end, by the test for a zero byte in a word.
#include "geometry/intake/text_reader.hpp"

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

constexpr std::uint64_t every(char c) {
  return 0x0101010101010101u * static_cast<unsigned char>(c);
}
/// High bits mark bytes that are zero, and possibly bytes above a zero one; none marked means no zero.
constexpr std::uint64_t zero_bytes(std::uint64_t x) {
  return (x - 0x0101010101010101u) & ~x & 0x8080808080808080u;
}

/// First LF or CR in [p, end), or end. The window is padded, so reading 8 bytes is always allowed.
const char* find_line_end(const char* p, const char* end) {
  for (; p < end; p += 8) {
    std::uint64_t x;
    std::memcpy(&x, p, 8);
    if ((zero_bytes(x ^ every('\n')) | zero_bytes(x ^ every('\r'))) == 0) continue;
    for (const char* q = p; q < p + 8 && q < end; ++q)
      if (TextReader::ends_line(*q)) return q;
  }
  return end;
}

/// Length of the valid UTF-8 sequence at the front, 0 when there is none. RFC 3629.
std::size_t utf8_length(std::string_view s) {
  const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0u; };
  const auto more = [&](std::size_t i) { return (byte(i) & 0xC0) == 0x80; };
  const unsigned a = byte(0), b = byte(1);
  if (a < 0x80) return 1;
  if (a >= 0xC2 && a < 0xE0) return more(1) ? 2 : 0;
  if (a >= 0xE0 && a < 0xF0) {
    if ((a == 0xE0 && b < 0xA0) || (a == 0xED && b >= 0xA0)) return 0;
    return more(1) && more(2) ? 3 : 0;
  }
  if (a >= 0xF0 && a < 0xF5) {
    if ((a == 0xF0 && b < 0x90) || (a == 0xF4 && b >= 0x90)) return 0;
    return more(1) && more(2) && more(3) ? 4 : 0;
  }
  return 0;
}

}  // namespace

char TextReader::peek_slowly() {
  while (true) {
    const char* p = bytes_.cursor;
    while (*p == ' ' || *p == '\t' || *p == '\v' || *p == '\f') ++p;
    bytes_.cursor = p;
    if (bytes_.have() >= longest_word || bytes_.exhausted()) return *p;
    bytes_.want(longest_word);
  }
}

char TextReader::skip_line() {
  char last = '\0';
  while (true) {
    const char* const start = bytes_.cursor;
    const char* const end = find_line_end(start, bytes_.limit);
    if (end != start) last = end[-1];
    bytes_.cursor = end;
    if (end != bytes_.limit) {
      take_line_end();
      return last;
    }
    if (!bytes_.want(1)) return last;
  }
}

bool is_word(std::string_view word, std::string_view lower) {
  if (word.size() != lower.size()) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const char c = word[i];
    if ((c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c) != lower[i]) return false;
  }
  return true;
}

std::string printable(std::string_view bytes) {
  std::string out;
  while (!bytes.empty()) {
    const std::size_t n = utf8_length(bytes);
    const auto c = static_cast<unsigned char>(bytes.front());
    if (n == 0 || c < 0x20 || c == 0x7F)
      out += '?';
    else
      out += bytes.substr(0, n);
    bytes.remove_prefix(n == 0 ? 1 : n);
  }
  return out;
}

std::string excerpt(std::string_view word) {
  constexpr std::size_t most = 24;
  return word.size() > most ? printable(word.substr(0, most)) + "…" : printable(word);
}

Problem bad_number(Parsed parsed, std::string_view label, std::uint64_t line, std::string_view word,
                   std::string_view what) {
  if (parsed == Parsed::not_finite)
    return fail(Code::coordinate_not_finite,
                fmt::format("{}, line {}: {} “{}” is not a finite number", label, line, what, excerpt(word)),
                "repair the mesh in the program that made it and export it again");
  const std::size_t comma = word.find(',');
  if (comma != std::string_view::npos && comma + 1 < word.size() && detail::is_digit(word[comma + 1]))
    return fail(Code::file_malformed,
                fmt::format("{}, line {}: {} “{}” has a decimal comma", label, line, what, excerpt(word)),
                "mesh files need a decimal point; set the exporting program or the system to a region with "
                "decimal points and export again");
  return fail(Code::file_malformed,
              word.empty()
                  ? fmt::format("{}, line {}: {} is missing", label, line, what)
                  : fmt::format("{}, line {}: {} “{}” is not a number", label, line, what, excerpt(word)),
              "export the mesh again, or as binary STL");
}

}  // namespace pourwright::intake

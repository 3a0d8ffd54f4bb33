// SPDX-License-Identifier: GPL-3.0-or-later
// Text in a sliding window: blanks, words, numbers and lines, without a copy of any line. Lines end in LF, CR
// LF or a lone CR and may be of any length; only a single word or number is bounded.
#pragma once

#include "geometry/intake/byte_window.hpp"
#include "geometry/intake/numbers.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace pourwright::intake {

class TextReader {
 public:
  /// A number or keyword longer than this is refused by whoever meets it.
  static constexpr std::size_t longest_word = 512;

  /// Skips a UTF-8 byte order mark.
  explicit TextReader(ByteWindow& bytes) : bytes_(bytes) {
    if (bytes_.want(3) && std::string_view(bytes_.cursor, 3) == "\xEF\xBB\xBF") bytes_.cursor += 3;
  }

  std::uint64_t line() const { return line_; }
  ByteWindow& bytes() { return bytes_; }

  /// Skips blanks (not line ends) and returns the next character, with a whole word in sight behind it.
  /// NUL at the end; ask `at_end` to tell it from a NUL in the file.
  char peek() {
    const char* p = bytes_.cursor;
    while (*p == ' ' || *p == '\t') ++p;
    bytes_.cursor = p;
    const bool ample = static_cast<std::size_t>(bytes_.limit - p) >= longest_word || bytes_.exhausted();
    if (ample && *p != '\v' && *p != '\f') [[likely]]
      return *p;
    return peek_slowly();
  }
  bool at_end() { return peek() == '\0' && bytes_.have() == 0; }
  /// A blank, a line end, the end, or OBJ's backslash before a line end.
  static bool ends_word(const char* p) {
    return static_cast<unsigned char>(*p) <= ' ' || (*p == '\\' && ends_line(p[1]));
  }
  static bool ends_line(char c) { return c == '\n' || c == '\r'; }

  /// After `peek`: the next character, taken.
  void take() { ++bytes_.cursor; }
  /// After `peek`: a number that a blank, a line end or the end follows. Nothing is taken unless the answer
  /// is ok.
  Parsed number(double& out) {
    const char* p = bytes_.cursor;
    const Parsed parsed = parse_double(p, out);
    if (parsed != Parsed::ok) return parsed;
    if (!ends_word(p)) return Parsed::missing;
    bytes_.cursor = p;
    return Parsed::ok;
  }
  /// After `peek`: the word up to the next blank, line end, NUL or `longest_word`, without taking it. Empty
  /// only at one of those.
  std::string_view word() const {
    const char* p = bytes_.cursor;
    const char* const stop =
        static_cast<std::size_t>(bytes_.limit - p) > longest_word ? p + longest_word : bytes_.limit;
    while (p != stop && *p != '\0' && *p != ' ' && (*p < '\t' || *p > '\r')) ++p;
    return {bytes_.cursor, static_cast<std::size_t>(p - bytes_.cursor)};
  }
  void take_word() { bytes_.cursor += word().size(); }

  /// After `peek` has returned a line end: takes it, and the LF of a CR LF.
  void take_line_end() {
    if (*bytes_.cursor++ == '\r' && bytes_.want(1) && *bytes_.cursor == '\n') ++bytes_.cursor;
    ++line_;
  }
  /// To the start of the next line. Returns the last character before the line end.
  char skip_line();
  /// Skips blanks and line ends; returns like `peek`.
  char peek_across_lines() {
    char c = peek();
    while (ends_line(c)) {
      take_line_end();
      c = peek();
    }
    return c;
  }

 private:
  char peek_slowly();

  ByteWindow& bytes_;
  std::uint64_t line_ = 1;
};

/// Same letters, ASCII case ignored; `lower` must be lower case.
bool is_word(std::string_view word, std::string_view lower);
/// A few characters of what stands there, printable, for a message.
std::string excerpt(std::string_view word);
/// Any byte string as printable UTF-8: control characters and broken sequences become '?'.
std::string printable(std::string_view bytes);

/// What is wrong with a number that could not be read: no number, not finite, or written with a decimal
/// comma.
Problem bad_number(Parsed parsed, std::string_view label, std::uint64_t line, std::string_view word,
                   std::string_view what);

}  // namespace pourwright::intake

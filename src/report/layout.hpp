// SPDX-License-Identifier: GPL-3.0-or-later
// Text in columns for terminals: widths in cells, wrapping, numerals three rows tall.
#pragma once

#include <pourwright/report.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// Terminal cells a UTF-8 text takes; malformed bytes count as one cell each.
int cells(std::string_view text);
/// Cut in the middle to at most `width` cells, with "…" ("~" without Unicode) where something was left out.
/// Control characters, which could steer the terminal, become "?".
std::string shortened(std::string_view text, int width, bool unicode);
/// As it is, but with "?" for control characters, marks that turn the direction of writing, and malformed
/// bytes.
std::string harmless(std::string_view text);
/// For terminals without Unicode: the signs this program uses in their plain spelling, anything else "?".
std::string plain_ascii(std::string_view text);
std::string left(std::string_view text, int width);
std::string right(std::string_view text, int width);
/// Words flowed into lines of at most `width` cells; a longer word is cut, none of it is lost.
std::vector<std::string> wrapped(std::string_view text, int width);
/// A number as three rows of large numerals; digits, '.', ',' and '-' only.
std::vector<std::string> large_numerals(std::string_view number);
/// The last part of a path.
std::string file_name(const std::string& path);
/// The display's decimal sign.
std::string localized(std::string text, char decimal);

class Page {
 public:
  explicit Page(const TextStyle& style) : style_(style) {}
  /// What a terminal without Unicode cannot show is spelled plainly.
  void line(std::string_view text = {});
  void rule();
  /// A bold head with words at the right end of its line, or below it where both do not fit.
  void title(std::string_view what, std::string_view beside);
  /// "label   text", the text made harmless, wrapped and indented under itself. An empty label continues the
  /// one above.
  void entry(std::string_view label, std::string_view text, bool warning = false);
  std::string bold(std::string_view s) const { return paint("1", s); }
  std::string warn(std::string_view s) const { return paint("33", s); }
  std::string faint(std::string_view s) const { return paint("2", s); }
  /// As the page will show it: harmless, and spelled plainly where it must be.
  std::string shown(std::string_view text) const { return for_terminal(text, style_.unicode); }
  std::string take() { return std::move(text_); }
  const TextStyle& style() const { return style_; }

 private:
  std::string paint(std::string_view code, std::string_view s) const;
  TextStyle style_;
  std::string text_;
};

}  // namespace pourwright

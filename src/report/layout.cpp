// SPDX-License-Identifier: GPL-3.0-or-later
// Lines, columns and large numerals in character cells. The law: nothing from outside can steer the terminal.
#include "report/layout.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace pourwright {
namespace {

/// One code point and its length in bytes; malformed bytes are U+FFFD of length 1.
struct CodePoint {
  std::uint32_t value;
  std::size_t bytes;
};

CodePoint decode(std::string_view s) {
  const auto b = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(s[i])); };
  const std::uint32_t first = b(0);
  if (first < 0x80) return {first, 1};
  const std::size_t n = first >= 0xF0 && first < 0xF5 ? 4 : first >= 0xE0 ? 3 : first >= 0xC2 ? 2 : 1;
  if (n == 1 || first >= 0xF5 || s.size() < n) return {0xFFFD, 1};
  std::uint32_t v = first & (0xFFu >> (n + 1));
  for (std::size_t i = 1; i < n; ++i) {
    if ((b(i) & 0xC0) != 0x80) return {0xFFFD, 1};
    v = v << 6 | (b(i) & 0x3F);
  }
  return {v, n};
}

int width_of(std::uint32_t c) {
  if (c >= 0x300 && c < 0x370) return 0;  // combining marks
  const bool wide = (c >= 0x1100 && c <= 0x115F) || (c >= 0x2E80 && c <= 0xA4CF) ||
                    (c >= 0xAC00 && c <= 0xD7A3) || (c >= 0xF900 && c <= 0xFAFF) ||
                    (c >= 0xFE30 && c <= 0xFE6F) || (c >= 0xFF00 && c <= 0xFF60) ||
                    (c >= 0x1F300 && c <= 0x1FAFF) || (c >= 0x20000 && c <= 0x3FFFD);
  return wide ? 2 : 1;
}

}  // namespace

int cells(std::string_view text) {
  int n = 0;
  while (!text.empty()) {
    const CodePoint c = decode(text);
    n += width_of(c.value);
    text.remove_prefix(c.bytes);
  }
  return n;
}

std::string harmless(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const CodePoint c = decode(text);
    const bool control = c.value < 0x20 || (c.value >= 0x7F && c.value < 0xA0) || c.value == 0xFFFD ||
                         c.value == 0x061C || c.value == 0x200E || c.value == 0x200F ||
                         (c.value >= 0x2028 && c.value <= 0x202E) || (c.value >= 0x2066 && c.value <= 0x2069);
    if (control)
      out += '?';
    else
      out += text.substr(0, c.bytes);
    text.remove_prefix(c.bytes);
  }
  return out;
}

std::string plain_ascii(std::string_view text) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 16> spellings{{{"×", "x"},
                                                                                            {"²", "2"},
                                                                                            {"³", "3"},
                                                                                            {"±", "+-"},
                                                                                            {"–", "-"},
                                                                                            {"—", "-"},
                                                                                            {"−", "-"},
                                                                                            {"“", "\""},
                                                                                            {"”", "\""},
                                                                                            {"’", "'"},
                                                                                            {"…", "..."},
                                                                                            {"→", "->"},
                                                                                            {"°C", "C"},
                                                                                            {"°", " degrees"},
                                                                                            {"é", "e"},
                                                                                            {"µ", "u"}}};
  std::string out;
  while (!text.empty()) {
    const auto known = std::find_if(spellings.begin(), spellings.end(),
                                    [&](const auto& s) { return text.starts_with(s.first); });
    const CodePoint c = decode(text);
    if (known != spellings.end())
      out += known->second;
    else if (c.bytes == 1 && c.value < 0x80)
      out += text[0];
    else
      out += '?';
    text.remove_prefix(known != spellings.end() ? known->first.size() : c.bytes);
  }
  return out;
}

std::string for_terminal(std::string_view text, bool unicode) {
  const std::string safe = harmless(text);
  return unicode ? safe : plain_ascii(safe);
}

std::string shortened(std::string_view raw, int width, bool unicode) {
  const std::string text = for_terminal(raw, unicode);
  if (cells(text) <= width) return text;
  // Both ends matter: the folder or first word, and the ending.
  std::vector<std::string_view> points;
  for (std::string_view s = text; !s.empty(); s.remove_prefix(points.back().size()))
    points.push_back(s.substr(0, decode(s).bytes));
  std::string head, tail;
  int room = width - 1;
  std::size_t i = 0, j = points.size();
  while (i < j) {
    const bool front = cells(head) < cells(tail);
    const std::string_view p = front ? points[i] : points[j - 1];
    if (cells(p) > room) break;
    room -= cells(p);
    if (front) {
      head += p;
      ++i;
    } else {
      tail.insert(0, p);
      --j;
    }
  }
  return head + (unicode ? "…" : "~") + tail;
}

std::string left(std::string_view text, int width) {
  return std::string(text) + std::string(static_cast<std::size_t>(std::max(0, width - cells(text))), ' ');
}
std::string right(std::string_view text, int width) {
  return std::string(static_cast<std::size_t>(std::max(0, width - cells(text))), ' ') + std::string(text);
}

namespace {

/// "%", "g", "mm." and the like: a number must not be parted from them.
bool is_unit(std::string_view word) {
  static constexpr std::array<std::string_view, 12> units{"%",   "g",   "mg", "kg",  "ml",   "mm",
                                                          "cm²", "mm³", "°C", "min", "g/ml", "steps"};
  while (!word.empty() && std::string_view(".,;:)").find(word.back()) != std::string_view::npos)
    word.remove_suffix(1);
  return std::find(units.begin(), units.end(), word) != units.end();
}

/// As many whole characters from the front as fit; at least one.
std::string_view head_of(std::string_view word, int width) {
  std::size_t bytes = 0;
  for (int used = 0; bytes < word.size();) {
    const CodePoint c = decode(word.substr(bytes));
    used += width_of(c.value);
    if (used > width && bytes > 0) break;
    bytes += c.bytes;
  }
  return word.substr(0, bytes);
}

}  // namespace

std::vector<std::string> wrapped(std::string_view text, int width) {
  std::vector<std::string> words;
  while (!text.empty()) {
    const std::size_t end = text.find(' ');
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    if (word.empty()) continue;
    const char before = words.empty() ? ' ' : words.back().back();
    if (before >= '0' && before <= '9' && is_unit(word))
      words.back() += " " + std::string(word);
    else
      words.emplace_back(word);
  }
  std::vector<std::string> lines(1);
  for (const std::string& word : words) {
    if (!lines.back().empty() && cells(lines.back()) + 1 + cells(word) > width) lines.emplace_back();
    if (!lines.back().empty()) lines.back() += ' ';
    // A word longer than a line is a name: nothing of it may be lost.
    std::string_view rest = word;
    for (; cells(rest) > width && cells(head_of(rest, width)) < cells(rest); lines.emplace_back()) {
      lines.back() += head_of(rest, width);
      rest.remove_prefix(head_of(rest, width).size());
    }
    lines.back() += rest;
  }
  return lines;
}

std::vector<std::string> large_numerals(std::string_view number) {
  static constexpr std::array<std::array<std::string_view, 3>, 10> digits{{{"█▀█", "█ █", "▀▀▀"},
                                                                           {"▀█ ", " █ ", "▀▀▀"},
                                                                           {"▀▀█", "█▀▀", "▀▀▀"},
                                                                           {"▀▀█", " ▀█", "▀▀▀"},
                                                                           {"█ █", "▀▀█", "  ▀"},
                                                                           {"█▀▀", "▀▀█", "▀▀▀"},
                                                                           {"█▀▀", "█▀█", "▀▀▀"},
                                                                           {"▀▀█", "  █", "  ▀"},
                                                                           {"█▀█", "█▀█", "▀▀▀"},
                                                                           {"█▀█", "▀▀█", "▀▀▀"}}};
  std::vector<std::string> rows(3);
  for (const char c : number) {
    for (std::size_t r = 0; r < 3; ++r) {
      if (c >= '0' && c <= '9')
        rows[r] += digits[static_cast<std::size_t>(c - '0')][r];
      else if (c == '-')
        rows[r] += r == 1 ? "▀▀" : "  ";
      else
        rows[r] += r == 2 ? "▀" : " ";
      rows[r] += ' ';
    }
  }
  return rows;
}

std::string file_name(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos ? path : path.substr(slash + 1);
}

std::string localized(std::string text, char decimal) {
  if (decimal == '.') return text;
  for (std::size_t i = 1; i + 1 < text.size(); ++i) {
    const auto digit = [&](std::size_t k) { return text[k] >= '0' && text[k] <= '9'; };
    if (text[i] == '.' && digit(i - 1) && digit(i + 1)) text[i] = decimal;
  }
  return text;
}

std::string Page::paint(std::string_view code, std::string_view s) const {
  if (!style_.colour || s.empty()) return std::string(s);
  return "\x1b[" + std::string(code) + "m" + std::string(s) + "\x1b[0m";
}

void Page::line(std::string_view text) {
  text_ += style_.unicode ? std::string(text) : plain_ascii(text);
  text_ += '\n';
}

void Page::rule() {
  std::string r;
  for (int i = 0; i < style_.width; ++i) r += style_.unicode ? "─" : "-";
  line(faint(r));
}

void Page::title(std::string_view what, std::string_view beside) {
  const std::string head = shown(std::string(what) +
                                 (style_.workshop.empty() ? "" : ", workshop " + style_.workshop)),
                    side = shown(beside);
  if (cells(head) + 2 + cells(side) <= style_.width) {
    line(bold(head) + (side.empty() ? "" : right(side, style_.width - cells(head))));
  } else {
    for (const std::string& l : wrapped(head, style_.width)) line(bold(l));
    for (const std::string& l : wrapped(side, style_.width)) line(l);
  }
  rule();
}

void Page::entry(std::string_view label, std::string_view text, bool warning) {
  constexpr int indent = 11;
  const auto lines = wrapped(harmless(text), std::max(20, style_.width - indent));
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::string head = i == 0 ? left(label, indent) : std::string(indent, ' ');
    line((warning ? warn(head) : faint(head)) + (warning ? warn(lines[i]) : lines[i]));
  }
}

}  // namespace pourwright

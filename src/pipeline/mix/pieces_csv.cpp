// SPDX-License-Identifier: GPL-3.0-or-later
// Pieces of a production run from a table of RFC 4180: name, grams and how many. The law: a line that cannot
// be read is named by its number, never skipped.
#include "pipeline/mix/pieces_csv.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr std::size_t most_rows = 20'000;
constexpr std::array<std::string_view, 5> columns{"name", "grams", "count", "colour", "order"};

struct Row {
  std::size_t line = 1;
  std::vector<std::string> fields;
};

std::string_view trim(std::string_view s) {
  while (!s.empty() && (s.front() == ' ' || s.front() == '\t')) s.remove_prefix(1);
  while (!s.empty() && (s.back() == ' ' || s.back() == '\t')) s.remove_suffix(1);
  return s;
}

std::string lower(std::string_view s) {
  std::string out(trim(s));
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

/// A file of a spreadsheet has one of these throughout; names may contain the weaker ones.
char separator_of(std::string_view text) {
  bool quoted = false, semicolon = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\t') return '\t';
    semicolon |= c == ';';
    if (c == '\n' && semicolon) break;
  }
  return semicolon ? ';' : ',';
}

Problem broken(std::string_view label, std::size_t line, std::string_view text, std::string_view hint) {
  return fail(Code::file_malformed, fmt::format("{}:{}: {}", label, line, text), std::string(hint));
}

/// Reads one row from the front of `text`; quotes may hold separators and line ends.
Expected<Row> take_row(std::string_view& text, std::size_t& line, char separator, std::string_view label) {
  Row row{line, {std::string()}};
  bool quoted = false;
  std::size_t i = 0;
  for (; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '\n') ++line;
    if (quoted) {
      if (c != '"')
        row.fields.back() += c;
      else if (i + 1 < text.size() && text[i + 1] == '"')
        row.fields.back() += text[i++];
      else
        quoted = false;
    } else if (c == '"' && trim(row.fields.back()).empty()) {
      row.fields.back().clear();
      quoted = true;
    } else if (c == separator) {
      row.fields.emplace_back();
    } else if (c == '\n') {
      break;
    } else if (c != '\r') {
      row.fields.back() += c;
    }
  }
  if (quoted)
    return broken(label, row.line, "a quote is opened and never closed", "close it, or leave it out");
  text.remove_prefix(std::min(text.size(), i + 1));
  for (std::string& f : row.fields) f = std::string(trim(f));
  return row;
}

/// Which field holds which column; nothing when the row is data.
std::optional<std::array<std::size_t, columns.size()>> header(const Row& row) {
  std::array<std::size_t, columns.size()> at;
  at.fill(SIZE_MAX);
  for (std::size_t i = 0; i < row.fields.size(); ++i) {
    std::string word = lower(row.fields[i]);
    if (word == "color") word = "colour";
    if (word == "g" || word == "mass") word = "grams";
    if (word == "piece") word = "name";
    const auto it = std::find(columns.begin(), columns.end(), word);
    if (it != columns.end()) at[static_cast<std::size_t>(it - columns.begin())] = i;
  }
  if (at[0] == SIZE_MAX || at[1] == SIZE_MAX) return std::nullopt;
  return at;
}

Expected<CsvPiece> piece(const Row& row, const std::array<std::size_t, columns.size()>& at,
                         bool comma_separates, std::string_view label) {
  const auto field = [&](std::size_t column) {
    return at[column] < row.fields.size() ? std::string_view(row.fields[at[column]]) : std::string_view();
  };
  CsvPiece p;
  p.name = field(0);
  if (p.name.empty())
    return broken(label, row.line, "the piece has no name", "the columns are name, grams and count");
  // Where commas do not separate columns they are decimal ones.
  std::string weight(field(1));
  if (!comma_separates) std::replace(weight.begin(), weight.end(), ',', '.');
  const auto grams = parse_mass(weight);
  if (!grams || *grams <= Mass() || *grams > Mass::grams(1e9))
    return broken(label, row.line,
                  !grams && comma_separates && field(1).find(',') != std::string_view::npos
                      ? grams.error().text
                      : fmt::format("“{}” is not a weight above 0 g", field(1)),
                  comma_separates
                      ? "write grams with a point (2.5); for 2,5 separate the columns by semicolons"
                      : "write grams like 2.5 or 2,5");
  p.grams = *grams;
  if (const std::string_view count = field(2); !count.empty()) {
    const auto [end, error] = std::from_chars(count.data(), count.data() + count.size(), p.count);
    if (error != std::errc{} || end != count.data() + count.size() || p.count < 0 ||
        p.count > static_cast<int>(most_rows))
      return broken(label, row.line, fmt::format("“{}” is not a count of pieces", count),
                    fmt::format("give a whole number up to {}", most_rows));
  }
  p.colour = field(3);
  p.order = field(4);
  return p;
}

}  // namespace

Expected<std::vector<CsvPiece>> parse_pieces(std::string_view text, std::string_view label) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.find('\0') != std::string_view::npos)
    return broken(label, 1, "this is not a text file", "save the table as CSV in UTF-8");
  const char separator = separator_of(text);
  std::array<std::size_t, columns.size()> at{0, 1, 2, SIZE_MAX, SIZE_MAX};
  std::vector<CsvPiece> out;
  bool first = true;
  for (std::size_t line = 1; !text.empty();) {
    const auto row = take_row(text, line, separator, label);
    if (!row) return row.error();
    if (std::all_of(row->fields.begin(), row->fields.end(), [](const std::string& f) { return f.empty(); }))
      continue;
    const auto names = first ? header(*row) : std::nullopt;
    first = false;
    if (names) {
      at = *names;
      continue;
    }
    if (out.size() == most_rows)
      return fail(Code::too_large, fmt::format("{}: more than {} rows", label, most_rows),
                  "put alike pieces in one row with a count");
    auto p = piece(*row, at, separator == ',', label);
    if (!p) return p.error();
    out.push_back(std::move(*p));
  }
  if (out.empty())
    return broken(label, 1, "there is no piece in it", "a row is name,grams or name,grams,count");
  return out;
}

}  // namespace pourwright

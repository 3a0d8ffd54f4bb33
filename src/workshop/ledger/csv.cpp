// SPDX-License-Identifier: GPL-3.0-or-later
// Lines of RFC 4180 to fields and back.
#include "workshop/ledger/csv.hpp"

#include <fmt/format.h>

namespace pourwright::ledger {
namespace {

bool would_run(std::string_view text) {
  return !text.empty() && std::string_view("=+-@\t\r").find(text[0]) != std::string_view::npos;
}

}  // namespace

std::string csv_cell(std::string_view text) {
  const bool shield = would_run(text) || (text.size() > 1 && text[0] == '\'');
  std::string out;
  if (shield) out += '\'';
  out += text;
  if (out.find_first_of(",\"\r\n") == std::string::npos) return out;
  std::string quoted = "\"";
  for (const char c : out) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

std::string plain_cell(std::string text) {
  if (text.size() > 1 && text[0] == '\'') text.erase(0, 1);
  return text;
}

Expected<std::vector<CsvRow>> parse_csv(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  std::vector<CsvRow> rows;
  std::size_t line = 1, i = 0;
  while (i < text.size()) {
    CsvRow row{line, {}};
    for (;;) {
      std::string cell;
      if (i < text.size() && text[i] == '"') {
        for (++i;; ++i) {
          if (i >= text.size())
            return fail(Code::record_invalid, fmt::format("line {}: a quote is never closed", row.line),
                        "end it with \"");
          if (text[i] == '\n') ++line;
          if (text[i] != '"')
            cell += text[i];
          else if (i + 1 < text.size() && text[i + 1] == '"')
            cell += text[i++];
          else
            break;
        }
        ++i;
      } else {
        while (i < text.size() && text[i] != ',' && text[i] != '\n' && text[i] != '\r') cell += text[i++];
      }
      row.cells.push_back(std::move(cell));
      if (row.cells.size() > 1000)
        return fail(Code::record_invalid, fmt::format("line {}: more than 1000 cells", row.line),
                    "is this an export of a ledger?");
      if (i < text.size() && text[i] == ',') {
        ++i;
        continue;
      }
      if (i < text.size() && text[i] == '\r') ++i;
      if (i < text.size() && text[i] != '\n')
        return fail(Code::record_invalid, fmt::format("line {}: text after a closing quote", row.line),
                    "put a comma there");
      ++i;
      ++line;
      break;
    }
    if (row.cells.size() > 1 || !row.cells[0].empty()) rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace pourwright::ledger

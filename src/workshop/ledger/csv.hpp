// SPDX-License-Identifier: GPL-3.0-or-later
// CSV tables (RFC 4180).
#pragma once

#include <pourwright/problem.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace pourwright::ledger {

/// Quoted where needed. A cell that a spreadsheet would run as a formula gets a leading apostrophe, and so
/// does one that already begins with such a pair, so that `plain_cell` gives back every text.
std::string csv_cell(std::string_view text);
std::string plain_cell(std::string text);

struct CsvRow {
  std::size_t line = 0;  ///< where it begins, from 1
  std::vector<std::string> cells;
};
/// Quotes may hold line breaks; CR LF, LF and a leading byte order mark are understood.
Expected<std::vector<CsvRow>> parse_csv(std::string_view text);

}  // namespace pourwright::ledger

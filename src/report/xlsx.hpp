// SPDX-License-Identifier: GPL-3.0-or-later
// Spreadsheets as office programs read them (ECMA-376): text, numbers and formulas in a few looks, packed
// without compression. The same sheets make the same bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright::xlsx {

/// `fine` shows money before it is rounded, `decimal` grams and minutes.
enum class Look : std::uint8_t { plain, title, head, faint, money, fine, decimal, percent, whole, total };

struct Cell {
  std::string text;     ///< words, or a number with a point; of a formula what it gave when the file was made
  std::string formula;  ///< without "="
  bool number = false;
  Look look = Look::plain;
  bool input = false;  ///< meant to be changed; shown in blue
};

Cell words(std::string_view text, Look look = Look::plain);
Cell number(std::string_view digits, Look look, bool input = false);
Cell formula(std::string_view text, double value, Look look);
/// What a formula that gives words gave.
Cell formula(std::string_view text, std::string_view value, Look look);

struct Sheet {
  std::string name;  ///< letters and digits only
  std::vector<std::vector<Cell>> rows;
  std::vector<double> widths;  ///< of columns, in digits
  std::size_t frozen_rows = 0, frozen_columns = 0;
};

/// 0 is "A", 26 "AA".
std::string column(std::size_t index);

/// The file's bytes; money is shown with so many decimals.
std::string workbook(const std::vector<Sheet>& sheets, int money_decimals);

}  // namespace pourwright::xlsx

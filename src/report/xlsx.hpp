// SPDX-License-Identifier: GPL-3.0-or-later
// Spreadsheets as office programs read them (ECMA-376): words, numbers and formulas in a few looks. Words
// never become a formula, whatever they begin with. The same sheets make the same bytes.
#pragma once

#include <pourwright/problem.hpp>

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace pourwright::xlsx {

/// `fine` shows money before it is rounded, `decimal` grams and minutes.
enum class Look : std::uint8_t { plain, title, head, faint, money, fine, decimal, percent, whole, total };

using Content = std::variant<std::string, double>;

struct Cell {
  Content content = std::string();  ///< words or a number; of a formula what it gave when the file was made
  std::string formula = {};         ///< without "="
  Look look = Look::plain;
  bool input = false;  ///< meant to be changed; shown in blue
};

struct Sheet {
  std::string name;  ///< letters and digits only, at most 31
  std::vector<std::vector<Cell>> rows;
  std::vector<double> widths;  ///< of columns, in digits
  std::size_t frozen_rows = 0, frozen_columns = 0;
};

/// 0 is "A", 26 "AA".
std::string column(std::size_t index);

/// The file's bytes; money is shown with so many decimals, 0 to 4. Fails with output_failed. O(cells).
Expected<std::string> workbook(const std::vector<Sheet>& sheets, int money_decimals);

}  // namespace pourwright::xlsx

// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/units.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

struct CsvPiece {
  std::string name;
  Mass grams;  ///< of one piece
  int count = 1;
  std::string colour, order;
};

/// `name,grams[,count]`, with those words as a header or without; a header may also name colour and order.
/// Separated by commas, semicolons or tabs, whichever the first row has; with the latter two a decimal comma
/// is understood. Quotes as in RFC 4180. Errors name the line.
Expected<std::vector<CsvPiece>> parse_pieces(std::string_view text, std::string_view label);

}  // namespace pourwright

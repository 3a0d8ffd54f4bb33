// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers are rounded once, in scientific notation, where the digits are counted, and written without it.
#include <pourwright/numbers.hpp>
#include <pourwright/units.hpp>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {

std::string significant(double value, int digits) {
  if (!std::isfinite(value)) return fmt::format("{}", value);
  // Scientific notation rounds to the digit, 9.99 to 10 included; what is left is where the point goes.
  const std::string scientific = fmt::format("{:.{}e}", value, digits - 1);
  const int exponent = std::stoi(scientific.substr(scientific.find('e') + 1));
  std::string s = fixed(std::stod(scientific), std::clamp(digits - 1 - exponent, 0, 9));
  if (s.find('.') == std::string::npos) return s;
  s.erase(s.find_last_not_of('0') + 1);
  if (s.back() == '.') s.pop_back();
  return s == "-0" ? "0" : s;
}

}  // namespace pourwright

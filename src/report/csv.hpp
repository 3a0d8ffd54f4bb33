// SPDX-License-Identifier: GPL-3.0-or-later
// Tables of RFC 4180 as spreadsheets read them.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

class Table {
 public:
  /// With a decimal comma columns are separated by semicolons, as spreadsheets of those languages expect.
  Table(char decimal, const std::vector<std::string>& head) : decimal_(decimal) {
    for (const std::string& h : head) words(h);
    end();
  }
  /// A leading sign that spreadsheets take for a formula is disarmed with an apostrophe.
  Table& words(std::string_view text);
  /// Digits with a point, or nothing.
  Table& number(std::string digits);
  Table& end();
  std::string take() { return std::move(out_); }

 private:
  void separate();

  char decimal_;
  bool fresh_ = true;
  std::string out_;
};

}  // namespace pourwright

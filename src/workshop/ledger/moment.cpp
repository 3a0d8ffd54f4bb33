// SPDX-License-Identifier: GPL-3.0-or-later
// Seconds since 1970 to a date and back, in the proleptic Gregorian calendar without leap seconds (POSIX).
#include <pourwright/ledger.hpp>

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr bool is_leap(int year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}
constexpr int days_in(int year, int month) {
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : days[month - 1];
}
/// Days from 1 January of year 1 to 1 January of `year`.
constexpr std::int64_t days_before(int year) {
  const std::int64_t y = year - 1;
  return y * 365 + y / 4 - y / 100 + y / 400;
}
constexpr std::int64_t epoch = days_before(1970);
constexpr std::int64_t day = 86'400;

}  // namespace

std::string moment_text(Moment at) {
  const std::int64_t last = (days_before(10'000) - epoch) * day - 1;
  at = std::clamp<Moment>(at, 0, last);
  std::int64_t days = at / day + epoch;
  int year = static_cast<int>(days / 366) + 1;
  while (days_before(year + 1) <= days) ++year;
  days -= days_before(year);
  int month = 1;
  while (days >= days_in(year, month)) days -= days_in(year, month++);
  const std::int64_t s = at % day;
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", year, month, days + 1, s / 3600, s / 60 % 60,
                     s % 60);
}

Expected<Moment> parse_moment(std::string_view text) {
  const auto bad = [&] {
    return fail(Code::record_invalid, fmt::format("“{}” is not a moment", text),
                "write it like 2026-10-12T09:30:00Z");
  };
  constexpr std::string_view form = "dddd-dd-ddTdd:dd:ddZ";
  if (text.size() != form.size()) return bad();
  int field[6] = {};
  std::size_t f = 0;
  for (std::size_t i = 0; i < form.size(); ++i) {
    if (form[i] == 'd') {
      if (text[i] < '0' || text[i] > '9') return bad();
      field[f] = field[f] * 10 + (text[i] - '0');
    } else {
      if (text[i] != form[i]) return bad();
      ++f;
    }
  }
  const auto [year, month, date, hour, minute, second] =
      std::tuple(field[0], field[1], field[2], field[3], field[4], field[5]);
  if (year < 1970 || month < 1 || month > 12 || date < 1 || date > days_in(year, month) || hour > 23 ||
      minute > 59 || second > 59)
    return bad();
  std::int64_t days = days_before(year) - epoch + date - 1;
  for (int m = 1; m < month; ++m) days += days_in(year, m);
  return days * day + hour * 3600 + minute * 60 + second;
}

}  // namespace pourwright

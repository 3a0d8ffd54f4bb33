// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/ledger.hpp>

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

// Well-known seconds: POSIX's epoch, 10^9 (9 September 2001, 01:46:40) and the last second of 32 signed bits.
TEST_CASE("moments that are known") {
  CHECK(moment_text(0) == "1970-01-01T00:00:00Z");
  CHECK(moment_text(1'000'000'000) == "2001-09-09T01:46:40Z");
  CHECK(moment_text(2'147'483'647) == "2038-01-19T03:14:07Z");
  CHECK(moment_text(951'782'400) == "2000-02-29T00:00:00Z");  // 2000 is a leap year, 1900 and 2100 are not
  CHECK(*parse_moment("2100-03-01T00:00:00Z") - *parse_moment("2100-02-28T00:00:00Z") == 86'400);
}

TEST_CASE("every moment comes back") {
  std::mt19937_64 random(6);
  std::uniform_int_distribution<Moment> any(0, 253'402'300'799);
  for (int i = 0; i < 20'000; ++i) {
    const Moment at = any(random);
    const auto back = parse_moment(moment_text(at));
    REQUIRE(back);
    REQUIRE(*back == at);
  }
}

TEST_CASE("what is no moment is refused") {
  for (const char* text :
       {"", "2026-10-12", "2026-13-01T00:00:00Z", "2026-02-29T00:00:00Z", "2026-10-12T24:00:00Z",
        "2026-10-12T09:30:00+", "2026-10-12 09:30:00Z", "20a6-10-12T09:30:00Z", "1969-12-31T23:59:59Z"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_moment(text));
  }
}

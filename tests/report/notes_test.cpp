// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/report.hpp>

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("The table of notes is in order, without doubles, and says something") {
  const auto notes = all_notes();
  REQUIRE(notes.size() > 40);
  for (std::size_t i = 0; i < notes.size(); ++i) {
    CAPTURE(notes[i].code);
    if (i > 0) CHECK(notes[i - 1].code < notes[i].code);
    CHECK(notes[i].explain.size() > 20);
    CHECK(notes[i].explain.ends_with('.'));
    CHECK(std::all_of(notes[i].code.begin(), notes[i].code.end(),
                      [](char c) { return (c >= 'a' && c <= 'z') || c == '-'; }));
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/session.hpp"

#include "cli/exit_status.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::cli;

namespace {

CommandLine line_with(std::multimap<std::string, std::string, std::less<>> options) {
  CommandLine l;
  l.command = "card";
  l.options = std::move(options);
  return l;
}

TextStyle style_of(const Surroundings& around,
                   std::multimap<std::string, std::string, std::less<>> options = {}) {
  const CommandLine l = line_with(std::move(options));
  return Session(l, around).style();
}

}  // namespace

TEST_CASE("Colour: the option beats NO_COLOR, which beats CLICOLOR_FORCE, which beats the terminal") {
  for (int mask = 0; mask < 8; ++mask) {
    Surroundings around;
    around.no_colour = (mask & 1) != 0;
    around.force_colour = (mask & 2) != 0;
    around.output_is_terminal = (mask & 4) != 0;
    CAPTURE(mask);
    CHECK(style_of(around).colour ==
          (!around.no_colour && (around.force_colour || around.output_is_terminal)));
    CHECK(style_of(around, {{"colour", "always"}}).colour);
    CHECK_FALSE(style_of(around, {{"colour", "never"}}).colour);
  }
}

TEST_CASE("Width is kept between 60 and 100, decimal sign from the locale or the option") {
  Surroundings around;
  for (const auto& [given, used] : {std::pair{0, 60}, {59, 60}, {80, 80}, {300, 100}}) {
    around.terminal_width = given;
    CHECK(style_of(around).width == used);
  }
  CHECK(style_of(around).decimal == '.');
  CHECK(style_of(around, {{"decimal", "comma"}}).decimal == ',');
  around.comma = true;
  CHECK(style_of(around).decimal == ',');
  CHECK(style_of(around, {{"decimal", "point"}}).decimal == '.');
}

TEST_CASE("The first bad option is told, with its name") {
  const CommandLine l = line_with({{"ratio", "x"}, {"density", "y"}});
  Session session(l, {});
  (void)session.mix_settings();
  REQUIRE(session.problem());
  CHECK(session.problem()->text.starts_with("--ratio: "));
  const Outcome out = session.refuse(*session.problem());
  CHECK(out.exit_code == usage_error);
  CHECK(out.out.empty());
  CHECK(out.err.find("[bad-number]") != std::string::npos);
}

TEST_CASE("With --json a refusal is a document too, and no message can steer the terminal") {
  const CommandLine l = line_with({{"json", ""}});
  const Outcome out = Session(l, {}).refuse(fail(Code::file_missing, "no \x1b[31m“x”", "try\ny"));
  CHECK(out.exit_code == input_missing);
  CHECK(out.out.find("pourwright.error/1") != std::string::npos);
  CHECK(out.err == "pourwright: no ?[31m“x” [file-missing]\n  → try?y\n");
  Surroundings ascii;
  ascii.utf8 = false;
  CHECK(Session(l, ascii).refuse(fail(Code::usage, "“x”", "y")).err == "pourwright: \"x\" [usage]\n  -> y\n");
}

TEST_CASE("How a batch went decides the exit code") {
  const CommandLine plain = line_with({}), strict = line_with({{"strict", ""}}),
                    json = line_with({{"json", ""}});
  const auto code = [](const CommandLine& l, std::size_t files, std::vector<Code> failures, bool warned) {
    Session::Tally tally;
    tally.files = files;
    for (const Code c : failures) tally.failures.emplace_back("x.stl", fail(c, "bad"));
    tally.warned = warned;
    Outcome out;
    Session(l, {}).settle(out, tally);
    return out.exit_code;
  };
  CHECK(code(plain, 1, {}, true) == 0);
  CHECK(code(strict, 1, {}, true) == 1);
  CHECK(code(strict, 1, {}, false) == 0);
  CHECK(code(plain, 1, {Code::not_closed}, false) == 65);
  CHECK(code(plain, 1, {Code::file_missing}, true) == 66);
  CHECK(code(plain, 2, {Code::file_missing}, false) == 1);
  CHECK(code(plain, 2, {Code::file_missing, Code::not_closed}, false) == 1);
  CHECK(code(json, 1, {Code::time_limit}, false) == 124);
  CHECK(code(json, 1, {Code::memory_limit}, false) == 137);
  CHECK(code(strict, 3, {Code::memory_limit}, true) == 1);
}

TEST_CASE("Every code has the exit status of its kind") {
  for (const CodeInfo& c : all_codes()) {
    const int status = exit_status(c.code);
    CAPTURE(c.slug);
    CHECK((status == 64 || status == 65 || status == 66 || status == 69 || status == 70 || status == 73 ||
           status == 74 || status == 75 || status == 78 || status == 124 || status == 137));
  }
  CHECK(exit_status(Code::usage) == 64);
  CHECK(exit_status(Code::not_closed) == 65);
  CHECK(exit_status(Code::file_missing) == 66);
  CHECK(exit_status(Code::format_not_built) == 69);
  CHECK(exit_status(Code::internal) == 70);
  CHECK(exit_status(Code::output_failed) == 73);
  CHECK(exit_status(Code::file_unreadable) == 74);
  CHECK(exit_status(Code::config_syntax) == 78);
  CHECK(exit_status(Code::time_limit) == 124);
  CHECK(exit_status(Code::memory_limit) == 137);
}

TEST_CASE("Counts") {
  CHECK(*parse_count("1") == 1);
  CHECK(*parse_count("1000000") == 1'000'000);
  for (const char* bad :
       {"", "0", "-1", "1.5", "1e3", "1000001", "99999999999999999999", " 1", "1 ", "0x1"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_count(bad));
  }
}

TEST_CASE("Doses") {
  CHECK(parse_dose("Kelp=2%")->dose == Ratio::percent(2));
  CHECK(parse_dose("Kelp=1,5%")->dose == Ratio::percent(1.5));
  CHECK(parse_dose("a=b=2")->name == "a=b");
  for (const char* bad : {"", "Kelp", "=2%", "Kelp=", "Kelp=x", "Kelp=2g"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_dose(bad));
  }
}

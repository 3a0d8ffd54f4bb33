// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/options.hpp"

#include <algorithm>
#include <iterator>
#include <random>
#include <set>
#include <sstream>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::cli;

namespace {

std::vector<std::string> words(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<std::string>(in), {}};
}

CommandLine parsed(const std::string& text) {
  const auto line = parse_command_line(words(text));
  REQUIRE_MESSAGE(line, text);
  return *line;
}

Problem refused(const std::string& text) {
  const auto line = parse_command_line(words(text));
  REQUIRE_MESSAGE(!line, text);
  return line.error();
}

}  // namespace

TEST_CASE("A file alone asks for its card") {
  CHECK(parsed("bowl.stl").command == "card");
  CHECK(parsed("bowl.stl").arguments == std::vector<std::string>{"bowl.stl"});
  CHECK(parsed("card a.stl b.stl").arguments == std::vector<std::string>{"a.stl", "b.stl"});
  CHECK(parsed("./mix").command == "card");
  CHECK(parsed("mix").command == "mix");
  CHECK(parsed("").command.empty());
  CHECK(parsed("--help").command.empty());
  CHECK(parsed("--json --quiet").command.empty());
}

TEST_CASE("The command may follow options and their values") {
  for (const char* line :
       {"measure --json -j 4 x.stl", "--json measure -j 4 x.stl", "-j 4 --json measure x.stl",
        "--jobs 4 --json measure x.stl", "--jobs=4 measure x.stl --json"}) {
    const CommandLine l = parsed(line);
    CAPTURE(line);
    CHECK(l.command == "measure");
    CHECK(l.arguments == std::vector<std::string>{"x.stl"});
    CHECK(l.has("json"));
    CHECK(l.get("jobs") == "4");
  }
  CHECK(parsed("--ratio 3 x.stl").command == "card");
}

TEST_CASE("One value for each time an option is given; the last one counts") {
  const CommandLine l = parsed("card x.stl --ratio 3 y.stl --ratio 3.2 --pigment A=1% --pigment B=2% z.stl");
  CHECK(l.arguments == std::vector<std::string>{"x.stl", "y.stl", "z.stl"});
  CHECK(l.get("ratio") == "3.2");
  CHECK(l.all("pigment") == std::vector<std::string>{"A=1%", "B=2%"});
  CHECK_FALSE(l.get("density"));
  CHECK(l.all("density").empty());
}

TEST_CASE("A size of holes may stand apart from its words") {
  for (const char* line :
       {"measure x.stl --close-holes up-to 12mm", "measure --close-holes up-to 12mm x.stl",
        "--close-holes up-to 12mm measure x.stl", "measure --close-holes=up-to 12mm x.stl"}) {
    const CommandLine l = parsed(line);
    CAPTURE(line);
    CHECK(l.command == "measure");
    CHECK(l.get("close-holes") == "up-to 12mm");
    CHECK(l.arguments == std::vector<std::string>{"x.stl"});
  }
  CHECK(parsed("measure x.stl --close-holes up-to=12mm").get("close-holes") == "up-to=12mm");
  CHECK(parsed("measure x.stl --close-holes up-to").get("close-holes") == "up-to");
  CHECK(parsed("measure --close-holes all -- --close-holes up-to x.stl").arguments.size() == 3);
  CHECK(parsed("measure up-to x.stl").arguments == std::vector<std::string>{"up-to", "x.stl"});
}

TEST_CASE("Values that begin with a dash") {
  CHECK(parsed("card x.stl --fill -2mm").get("fill") == "-2mm");
  CHECK(parsed("card x.stl --fill=-2mm").get("fill") == "-2mm");
  CHECK(parsed("card x.stl --up -z").get("up") == "-z");
  CHECK(parsed("card x.stl --fill -.5mm y.stl").arguments.size() == 2);
}

TEST_CASE("After -- everything is a name") {
  const CommandLine l = parsed("card --json -- --ratio -x.stl --");
  CHECK(l.arguments == std::vector<std::string>{"--ratio", "-x.stl", "--"});
  CHECK(l.has("json"));
}

TEST_CASE("Short names and spellings") {
  CHECK(parsed("card x -j2").get("jobs") == "2");
  CHECK(parsed("card x -q").has("quiet"));
  CHECK(parsed("card -h").has("help"));
  CHECK(parsed("card x --color never").get("colour") == "never");
}

TEST_CASE("What does not exist is refused with the nearest name") {
  CHECK(refused("card x --rato 3").hint == "did you mean --ratio?");
  CHECK(refused("card x --swatch 3g").text == "card does not take --swatch");
  CHECK(refused("card x --swatch 3g").hint.find("blend") != std::string::npos);
  CHECK(parsed("messure").command == "card");  // it may be the name of a mold: who looks for it refuses
  CHECK(refused("card x --zzzzzz").hint == "see pourwright card --help");
  CHECK(refused("card x --ratio").code == Code::usage);
  CHECK(refused("card -x").code == Code::usage);
}

TEST_CASE("The table itself: names once, known commands, every command takes the common options") {
  std::set<std::string_view> commands, options;
  for (const CommandInfo& c : command_table()) {
    CHECK(commands.insert(c.name).second);
    CHECK_FALSE(c.examples.empty());
    CHECK(c.examples.ends_with('\n'));
  }
  for (const OptionInfo& o : option_table()) {
    CAPTURE(o.name);
    CHECK(options.insert(o.name).second);
    CHECK_FALSE(o.help.empty());
    for (const std::string_view list : {o.commands, o.also}) {
      if (list == "*") continue;
      for (const std::string& c : words(std::string(list))) CHECK(commands.count(c) == 1);
    }
  }
  for (const std::string_view command : commands)
    for (const char* common : {" --json", " --quiet", " -j 2", " --help"})
      CHECK(parse_command_line(words(std::string(command) + common)));
}

TEST_CASE("Every example in the help is a line that parses") {
  for (const CommandInfo& c : command_table()) {
    std::istringstream examples{std::string(c.examples)};
    for (std::string line; std::getline(examples, line);) {
      CAPTURE(line);
      line = line.substr(0, line.find(" > "));
      line.erase(std::remove(line.begin(), line.end(), '"'), line.end());
      std::vector<std::string> w = words(line);
      REQUIRE(w[0] == "pourwright");
      w.erase(w.begin());
      const auto parsed_line = parse_command_line(w);
      REQUIRE(parsed_line);
      CHECK(parsed_line->command == c.name);
    }
  }
}

TEST_CASE("Help names every option of its command, in 80 columns") {
  for (const CommandInfo& c : command_table()) {
    const std::string help = help_text(c.name);
    for (const OptionInfo& o : option_table())
      if (o.commands == "*") CHECK(help.find("--" + std::string(o.name)) != std::string::npos);
    CHECK(help_text("").find(c.name) != std::string::npos);
    std::istringstream lines(help);
    for (std::string line; std::getline(lines, line);) {
      CAPTURE(line);
      const auto continued =
          std::count_if(line.begin(), line.end(), [](char b) { return (b & 0xC0) == 0x80; });
      const bool example = line.starts_with("  pourwright");
      CHECK((example || line.size() - static_cast<std::size_t>(continued) <= 80));
      CHECK_FALSE(line.ends_with(' '));
    }
  }
}

TEST_CASE("Random lines are parsed or refused, never more") {
  std::mt19937 random(17);
  const std::vector<std::string> pieces{
      "card", "measure", "mix",  "--json", "-j",         "--jobs", "4",         "--",  "-",
      "",     "--fill",  "-2mm", "x.stl",  "--fill=80%", "-q",     "--pigment", "a=b", "=",
      "--=",  "-é",      "\xFF", "--help", "--ratio=",   "-jj",    "-qh"};
  for (int i = 0; i < 5'000; ++i) {
    std::vector<std::string> line(random() % 7);
    for (std::string& w : line) w = pieces[random() % pieces.size()];
    const auto r = parse_command_line(line);
    if (!r) CHECK_FALSE(r.error().text.empty());
  }
}

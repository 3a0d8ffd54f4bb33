// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/cautions.hpp"

#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

using namespace pourwright::cli;

namespace {

/// A place of its own, gone afterwards.
struct State {
  std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("pourwright-cautions-" + std::to_string(::getpid()));
  State() { std::filesystem::remove_all(folder); }
  ~State() { std::filesystem::remove_all(folder); }

  Surroundings at(std::int64_t now, bool terminal = true) const {
    Surroundings around;
    around.output_is_terminal = terminal;
    around.now = now;
    around.state_folder = (folder / "new" / "state").string();
    return around;
  }
};

constexpr std::int64_t noon = 1'795'953'600, hour = 3600;
const std::vector<std::string> some{"dust", "heat"}, more{"heat", "drain"};

}  // namespace

TEST_CASE("Cautions are known after they were shown, until midnight of the place") {
  const State state;
  CHECK_FALSE(seen_today(state.at(noon), some));
  CHECK(seen_today(state.at(noon + hour), some));
  CHECK(seen_today(state.at(noon + 11 * hour), {"heat"}));
  CHECK_FALSE(seen_today(state.at(noon + 13 * hour), some));
  Surroundings east = state.at(noon + 14 * hour);
  east.utc_offset = 10 * hour;  // the same day there as an hour ago in Greenwich
  CHECK(seen_today(east, some));
  east.now += 13 * hour;
  CHECK_FALSE(seen_today(east, some));
}

TEST_CASE("One caution that is new shows all of them, and then they are known together") {
  const State state;
  CHECK_FALSE(seen_today(state.at(noon), some));
  CHECK_FALSE(seen_today(state.at(noon), more));
  CHECK(seen_today(state.at(noon), {"dust", "heat", "drain"}));
  CHECK_FALSE(seen_today(state.at(noon), {"two\nlines"}));
  CHECK(seen_today(state.at(noon), {"two\nlines"}));
  CHECK(seen_today(state.at(noon), {}));
}

TEST_CASE("What is no terminal always gets them, and marks nothing as read") {
  const State state;
  CHECK_FALSE(seen_today(state.at(noon, false), some));
  CHECK_FALSE(std::filesystem::exists(state.folder));
  CHECK_FALSE(seen_today(state.at(noon), some));
  CHECK_FALSE(seen_today(state.at(noon, false), some));
}

TEST_CASE("Where nothing can be kept, or something else lies there, they are shown") {
  const State state;
  Surroundings nowhere = state.at(noon);
  nowhere.state_folder.clear();
  CHECK_FALSE(seen_today(nowhere, some));
  CHECK_FALSE(seen_today(nowhere, some));
  Surroundings blocked = state.at(noon);
  blocked.state_folder = "/proc/nothing/here";
  CHECK_FALSE(seen_today(blocked, some));
  CHECK_FALSE(seen_today(blocked, some));

  const Surroundings around = state.at(noon);
  CHECK_FALSE(seen_today(around, some));
  const std::filesystem::path file = std::filesystem::path(around.state_folder) / "cautions";
  {
    std::ofstream out(file, std::ios::app);
    out << std::string(100'000, 'x');
  }
  CHECK_FALSE(seen_today(around, some));
  CHECK(seen_today(around, some));  // what was too long has been replaced
  std::filesystem::remove(file);
  std::filesystem::create_directory(file);
  CHECK_FALSE(seen_today(around, some));
  CHECK_FALSE(seen_today(around, some));
}

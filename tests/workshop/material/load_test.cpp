// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include "support/demo_workshop.hpp"

#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

using namespace pourwright;
namespace fs = std::filesystem;

namespace {

/// A workshop folder that disappears with the test.
class Folder {
 public:
  Folder() {
    path_ = fs::temp_directory_path() / ("pourwright-load-" + std::to_string(::getpid()));
    fs::remove_all(path_);
    fs::create_directory(path_);
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const fs::path& path() const { return path_; }
  void write(std::string_view name, std::string_view text) const {
    std::ofstream(path_ / name, std::ios::binary) << text;
  }

 private:
  fs::path path_;
};

std::string mix_text(std::string_view key, std::string_view ratio) {
  return "[[mix]]\nkey = \"" + std::string(key) + "\"\nratio = " + std::string(ratio) +
         "\ndensity = \"1.8 g/mL\"\n";
}

}  // namespace

TEST_CASE("without a folder the built-in catalogue stands alone") {
  const auto c = load_catalogue({});
  REQUIRE(c);
  CHECK(c->mixes.size() == built_in_catalogue().mixes.size());
  CHECK(c->default_mix == "mineral-composite");
}

TEST_CASE("files overlay in the order of their names, and the rest stays") {
  const Folder folder;
  folder.write("20-second.toml", mix_text("attic", "3.0") + mix_text("casting-plaster", "2.6"));
  folder.write("10-first.toml", "default-mix = \"Attic\"\n" + mix_text("attic", "2.0"));
  folder.write("notes.txt", "not = [a catalogue");
  fs::create_directory(folder.path() / "deeper");
  const auto c = load_catalogue(folder.path());
  REQUIRE_MESSAGE(c.has_value(), c.error().text);
  CHECK(c->mixes.size() == built_in_catalogue().mixes.size() + 1);
  CHECK(find_mix(*c, "attic")->ratio == Ratio::of(3.0));
  CHECK(find_mix(*c, "casting-plaster")->ratio == Ratio::of(2.6));
  CHECK(find_mix(*c, "casting-plaster")->working_time == Duration{});  // replaced whole, not mended
  CHECK(find_mix(*c, "hydraulic-gypsum"));
  CHECK(c->default_mix == "attic");
  CHECK(c->pigments.size() == 4);
}

TEST_CASE("an empty folder changes nothing") {
  const Folder folder;
  const auto c = load_catalogue(folder.path());
  REQUIRE(c);
  CHECK(c->mixes.size() == built_in_catalogue().mixes.size());
}

TEST_CASE("what cannot be read is refused by name") {
  CHECK(load_catalogue("/nowhere/at/all").error().code == Code::config_missing);
  const Folder folder;
  folder.write("a.txt", "no table of ours");  // one file may be a workshop, whatever its name
  CHECK(load_catalogue(folder.path() / "a.txt").error().code == Code::config_syntax);
  fs::create_directory(folder.path() / "b.toml");
  const auto directory = load_catalogue(folder.path());
  REQUIRE_FALSE(directory);
  CHECK(directory.error().code == Code::file_unreadable);
  CHECK(directory.error().text.find("b.toml") != std::string::npos);
  fs::remove(folder.path() / "b.toml");
  folder.write("big.toml", std::string((1 << 20) + 1, '\n'));
  CHECK(load_catalogue(folder.path()).error().code == Code::file_unreadable);
}

TEST_CASE("mistakes in a file carry its path") {
  const Folder folder;
  folder.write("mine.toml", "[[mix]]\nkeey = \"a\"\n");
  const auto c = load_catalogue(folder.path());
  REQUIRE_FALSE(c);
  CHECK(c.error().code == Code::config_unknown_key);
  CHECK(c.error().text.find("mine.toml:2:1") != std::string::npos);
}

TEST_CASE("a default mix that does not exist is refused") {
  const Folder folder;
  folder.write("mine.toml", "default-mix = \"mineral-compsite\"\n");
  const auto c = load_catalogue(folder.path());
  REQUIRE_FALSE(c);
  CHECK(c.error().code == Code::config_bad_value);
  CHECK(c.error().text.find("mine.toml") != std::string::npos);
  CHECK(c.error().hint.find("mineral-composite") != std::string::npos);
}

TEST_CASE("mixes are found by key or name, case and punctuation ignored") {
  const Catalogue& c = support::demo_catalogue();
  for (const char* name :
       {"boathouse-3.2", "Boathouse 3.2", "BOATHOUSE_3.2", "boathouse3,2", " boathouse 3.2 "}) {
    CAPTURE(name);
    REQUIRE(find_mix(c, name));
    CHECK(find_mix(c, name)->key == "boathouse-3.2");
  }
  for (const char* name : {"", "-", "boathouse 32", "boathouse", "granite"}) {
    CAPTURE(name);
    REQUIRE_FALSE(find_mix(c, name));
    CHECK(find_mix(c, name).error().code == Code::unknown_name);
  }
  CHECK(find_mix(c, "boathose-3.2").error().hint.find("boathouse-3.2") != std::string::npos);
  CHECK(find_mix(c, "slip-plastre").error().hint.find("slip-plaster") != std::string::npos);
}

TEST_CASE("a workshop that names scales has no others; pigments are found like mixes") {
  Folder folder;
  folder.write("a.toml", "[[scale]]\nkey = \"counter\"\nstep = \"1 g\"\ncapacity = \"3 kg\"\n");
  folder.write("b.toml", "[[scale]]\nkey = \"drops\"\nstep = \"0.01 g\"\ncapacity = \"200 g\"\n");
  const auto c = load_catalogue(folder.path());
  REQUIRE(c);
  REQUIRE(c->scales.size() == 2);
  CHECK(c->scales[0].key == "counter");
  REQUIRE(find_pigment(*c, "KELP") != nullptr);
  CHECK(find_pigment(*c, "KELP")->name == "Kelp");
  CHECK(find_pigment(*c, "kelpp") == nullptr);
}

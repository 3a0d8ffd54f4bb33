// SPDX-License-Identifier: GPL-3.0-or-later
// From what people type or drop to files.
#include <pourwright/pipeline.hpp>

#include "support/temporary_folder.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>

using namespace pourwright;
namespace fs = std::filesystem;

namespace {

struct Folder : support::TemporaryFolder {
  std::string make(const std::string& name) const {
    const fs::path p = path() / name;
    fs::create_directories(p.parent_path());
    std::ofstream(p) << "x";
    return p.string();
  }
};

/// The one file that an argument means.
FoundFile one(const std::string& argument) {
  const auto found = find_files({argument});
  REQUIRE(found.size() == 1);
  return found[0];
}

}  // namespace

TEST_CASE("A name that exists is taken as it stands, whatever it looks like") {
  const Folder f;
  for (const char* name : {"bowl.stl", "two words.stl", " leading and trailing ", "'quoted.stl'", "\"q\"",
                           "x.stl:4", "a\\ b.stl", "50%41.stl", "caf\xE9.stl", "line\nbreak.stl", "漢.obj"}) {
    const std::string path = f.make(name);
    CAPTURE(path);
    const FoundFile found = one(path);
    CHECK(found.path.string() == path);
    CHECK(found.copies == 0);
    CHECK_FALSE(found.problem);
  }
}

TEST_CASE("What terminals and file managers add is understood") {
  const Folder f;
  const std::string path = f.make("two words é.stl");
  const std::string folder = f.path().string();
  for (const std::string& given :
       {path + " ", path + "\n", path + " \r\n\t", "'" + path + "'", "\"" + path + "\"", "'" + path + "' ",
        "file://" + folder + "/two%20words%20%C3%A9.stl",
        "file://localhost" + folder + "/two%20words%20%c3%a9.stl", "file://" + path,
        folder + "/two\\ words\\ é.stl", "file://" + folder + "/two%20words%20%C3%A9.stl\r\n"}) {
    CAPTURE(given);
    CHECK(one(given).path.string() == path);
  }
}

TEST_CASE("Copies after a colon") {
  const Folder f;
  const std::string path = f.make("tray 1.stl");
  CHECK(one(path + ":4").copies == 4);
  CHECK(one(path + ":4").path.string() == path);
  CHECK(one(path + ":4 \n").copies == 4);
  CHECK(one("'" + path + "':12").copies == 12);
  for (const char* bad : {":0", ":-1", ":", ":4x", ":1.5", ":99999999999999", "::"}) {
    CAPTURE(bad);
    const FoundFile found = one(path + bad);
    REQUIRE(found.problem);
    CHECK(found.problem->code == Code::file_missing);
  }
}

TEST_CASE("A folder is walked in order; hidden files and other files stay out") {
  const Folder f;
  const std::vector<std::string> wanted{f.make("a/2.OBJ"), f.make("a/b/1.ply"), f.make("c.stl"),
                                        f.make("d.3mf"), f.make("e.off")};
  for (const char* other : {".hidden.stl", ".git/x.stl", "a/.b/y.stl", "readme.txt", "picture.png", "stl"})
    f.make(other);
  const auto found = find_files({f.path().string()});
  std::vector<std::string> names;
  for (const FoundFile& x : found) {
    names.push_back(x.path.string());
    CHECK_FALSE(x.problem);
  }
  std::sort(names.begin(), names.end());
  CHECK(names == wanted);
  CHECK(std::is_sorted(found.begin(), found.end(),
                       [](const FoundFile& a, const FoundFile& b) { return a.path < b.path; }));
  for (const FoundFile& x : find_files({f.path().string() + ":3"})) CHECK(x.copies == 3);
}

TEST_CASE("A link to its own folder is no trap") {
  const Folder f;
  f.make("in/x.stl");
  fs::create_directory_symlink(f.path(), f.path() / "in/loop");
  CHECK(find_files({f.path().string()}).size() == 1);
}

TEST_CASE("What is missing is an entry with a reason, and the others are found") {
  const Folder f;
  const std::string path = f.make("ripple_dish.stl");
  f.make("empty/readme.txt");
  const auto found =
      find_files({path, (f.path() / "riple_dish.stl").string(), (f.path() / "empty").string(), "", path});
  REQUIRE(found.size() == 5);
  CHECK_FALSE(found[0].problem);
  REQUIRE(found[1].problem);
  CHECK(found[1].problem->code == Code::file_missing);
  CHECK(found[1].problem->hint == "did you mean “ripple_dish.stl”?");
  CHECK(found[1].path.filename() == "riple_dish.stl");
  REQUIRE(found[2].problem);
  CHECK(found[2].problem->code == Code::nothing_found);
  REQUIRE(found[3].problem);
  CHECK_FALSE(found[4].problem);
  CHECK(find_files({}).empty());
}

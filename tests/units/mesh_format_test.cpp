// SPDX-License-Identifier: GPL-3.0-or-later
// The list of mesh formats: endings are unique, and what a name promises is what its row says.
#include <pourwright/mesh_format.hpp>

#include <set>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("a row of the list is found by its format and by its ending") {
  std::set<std::string_view> endings;
  for (const MeshFormatInfo& f : mesh_formats) {
    CAPTURE(f.name);
    CHECK(&info_of(f.format) == &f);
    if (f.ending.empty()) continue;
    CHECK(endings.insert(f.ending).second);
    CHECK(f.ending.front() == '.');
    CHECK(f.ending == file_ending(f.ending));  // lower case, one dot
    CHECK(promised_format(f.ending) == f.format);
  }
}

TEST_CASE("the ending of a path") {
  CHECK(file_ending("b/Tray.STL") == ".stl");
  CHECK(file_ending(".hidden.ply") == ".ply");
  CHECK(file_ending("a.stl.bak") == ".bak");
  CHECK(file_ending("a.stl/b").empty());
  CHECK(file_ending("stl").empty());
  CHECK(file_ending("").empty());
}

TEST_CASE("no ending, another ending and half an ending promise nothing") {
  for (const char* ending : {"", ".", ".st", "stl", ".stl ", ".txt", ".mtl"})
    CHECK(promised_format(ending) == MeshFormat::unknown);
}

TEST_CASE("messages list the endings of what is read here") {
  CHECK(own_endings() == ".stl, .obj, .ply, .off or .3mf");
}

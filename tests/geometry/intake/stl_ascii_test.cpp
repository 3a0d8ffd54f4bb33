// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

std::string upper(std::string s) {
  for (char& c : s)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return s;
}
void check_cube(const std::string& bytes, std::string_view name = "cube.stl") {
  const MeshFile file = read_well(bytes, name);
  CHECK(file.format == MeshFormat::stl_ascii);
  CHECK(file.soup.vertices.size() == 8);
  CHECK(triangle_set(file.soup) == triangle_set(cube()));
  check_promises(file.soup);
}

}  // namespace

TEST_CASE("ASCII STL: the ways it is written") {
  const std::string plain = stl_ascii(cube());
  check_cube(plain);
  CHECK(read_well(plain, "cube.stl").notes.empty());
  check_cube(upper(plain));
  check_cube(replaced(plain, "\n", "\r\n"));
  check_cube(replaced(plain, "\n", "\r"));
  check_cube(replaced(plain, " ", "\t\t"));
  check_cube("\xEF\xBB\xBF" + plain);
  check_cube("\n\n  " + plain + "\n\n\n");
  check_cube(stl_ascii(cube(), "%+.8E"));
  check_cube(stl_ascii(cube(), "%+.3f"));
  check_cube(stl_ascii(cube(), "%.17g"));
  check_cube(stl_ascii(cube(), "%.9g", ""));
  check_cube(stl_ascii(cube(), "%.9g", std::string(5000, 'n')));
  check_cube(stl_ascii(cube(), "%.9g", "a facet of life"));
  check_cube(replaced(plain, "facet normal 0 0 0", "facet normal nan -nan(ind) 1.#QNAN"));
  check_cube(replaced(plain, "facet normal 0 0 0", "facet"));
  check_cube(replaced(plain, "\n", " "));  // all on one line
  check_cube(replaced(plain, "\n", "\n\n"));
  check_cube(plain, "cube");
  check_cube(plain, "cube.STL");
  check_cube(plain.substr(0, plain.size() - 1));
  check_cube(plain.substr(plain.find('\n') + 1));  // no “solid” line
}

TEST_CASE("ASCII STL: no endsolid is read, with a warning") {
  std::string bytes = stl_ascii(cube());
  bytes.erase(bytes.find("endsolid"));
  const MeshFile file = read_well(bytes, "cube.stl");
  CHECK(file.soup.triangles.size() == 12);
  REQUIRE(has_note(file, "endsolid-missing"));
  CHECK(file.notes[0].warning);
}

TEST_CASE("ASCII STL: several solids are one mesh") {
  TriangleSoup other = cube();
  for (Vec3& v : other.vertices) v.x() += 100;
  const MeshFile file = read_well(stl_ascii(cube()) + stl_ascii(other, "%.9g", "other"), "two.stl");
  CHECK(file.soup.triangles.size() == 24);
  CHECK(file.soup.vertices.size() == 16);
  CHECK(has_note(file, "several-solids"));
}

TEST_CASE("ASCII STL: a decimal comma is named as such") {
  const Problem problem = refused(replaced(stl_ascii(cube(), "%.1f"), ".", ","), "cube.stl");
  CHECK(problem.code == Code::file_malformed);
  CHECK(problem.text.find("decimal comma") != std::string::npos);
  CHECK(problem.text.find("line 4") != std::string::npos);
  CHECK(problem.hint.find("decimal point") != std::string::npos);
}

TEST_CASE("ASCII STL: cut off at any facet") {
  const std::string bytes = stl_ascii(cube());
  const std::size_t last = bytes.rfind("vertex");
  for (const std::size_t at : {last, last + 3, last + 8, bytes.rfind("endloop"), bytes.rfind("endfacet"),
                               bytes.rfind("endfacet") + 4})
    CHECK(
        refused(bytes.substr(0, at), "cube.stl").code ==
        (at == last + 3 || at == bytes.rfind("endfacet") + 4 ? Code::file_malformed : Code::file_truncated));
}

TEST_CASE("ASCII STL: what is wrong is named with its line") {
  const std::string good = stl_ascii(cube());
  const auto check = [&](const std::string& from, const std::string& to, Code code) {
    std::string bytes = good;
    bytes.replace(bytes.find(from), from.size(), to);
    const Problem problem = refused(bytes, "cube.stl");
    CHECK(problem.code == code);
    CHECK(problem.text.find("line ") != std::string::npos);
  };
  check("vertex 0 0 0", "vertex nan 0 0", Code::coordinate_not_finite);
  check("vertex 0 0 0", "vertex 0 inf 0", Code::coordinate_not_finite);
  check("vertex 0 0 0", "vertex 0 0 1e400", Code::coordinate_not_finite);
  check("vertex 0 0 0", "vertex 0 0", Code::file_malformed);
  check("vertex 0 0 0", "vertex 0 0 x", Code::file_malformed);
  check("vertex 0 0 0", "vertex", Code::file_malformed);
  check("vertex 0 0 0", "corner 0 0 0", Code::file_malformed);
  check("outer loop", "inner loop", Code::file_malformed);
  check("endfacet", "end", Code::file_malformed);
}

TEST_CASE("ASCII STL: facets with more corners are cut, with fewer are left out") {
  const std::string head = "solid s\nfacet normal 0 0 1\nouter loop\n", tail = "endloop\nendfacet\n";
  const std::string quad = head + "vertex 0 0 0\nvertex 4 0 0\nvertex 4 4 0\nvertex 0 4 0\n" + tail;
  const MeshFile file = read_well(quad + "endsolid", "quad.stl");
  CHECK(file.soup.triangles.size() == 2);
  CHECK(file.soup.vertices.size() == 4);
  CHECK(file.polygons == 1);
  CHECK(has_note(file, "polygons-triangulated"));
  const std::string needle = head + "vertex 0 0 0\nvertex 4 0 0\n" + tail;
  CHECK(refused(needle + "endsolid", "x.stl").code == Code::no_triangles);
  CHECK(has_note(read_well(needle + quad.substr(8) + "endsolid", "x.stl"), "faces-skipped"));
}

TEST_CASE("ASCII STL: no facet at all") {
  CHECK(refused("solid nothing\nendsolid nothing\n", "x.stl").code == Code::no_triangles);
  CHECK(refused("solid", "x.stl").code == Code::no_triangles);
}

TEST_CASE("ASCII STL: nothing is lost far from the origin") {
  TriangleSoup s = cube();
  for (Vec3& v : s.vertices) v += Vec3(1e8 + 0.123456789, 0, 0);
  CHECK(triangle_set(read_well(stl_ascii(s, "%.17g"), "far.stl").soup) == triangle_set(s));
}

TEST_CASE("ASCII STL: a large mesh across many windows, and the limit") {
  const TriangleSoup s = shapes::renumbered(shapes::sphere(30, 64), 3);
  const MeshFile file = read_well(stl_ascii(s, "%.17g"), "sphere.stl");
  CHECK(triangle_set(file.soup) == triangle_set(s));
  check_promises(file.soup);
  IntakeOptions options;
  options.max_triangles = s.triangles.size() - 1;
  CHECK(refused(stl_ascii(s, "%.17g"), "sphere.stl", options).code == Code::too_large);
  options.max_triangles = 5;
  CHECK(refused(stl_ascii(cube()), "cube.stl", options).code == Code::too_large);
}

TEST_CASE("ASCII STL: units") {
  IntakeOptions options;
  options.unit = LengthUnit::cm;
  const MeshFile file = read_well(stl_ascii(cube()), "cube.stl", options);
  CHECK(volume(file.soup) == doctest::Approx(1'680'000));
  check_promises(file.soup);
}

TEST_CASE("ASCII STL: a stray control character does not make it binary") {
  for (const char odd : {'\0', '\x01', '\x7F'}) {
    check_cube(stl_ascii(cube(), "%.9g", std::string("na") + odd + "me"));
    std::string padded = stl_ascii(cube());
    padded.insert(padded.find("facet"), 1, odd);
    CHECK(refused(padded, "cube.stl").code == Code::file_malformed);
  }
}

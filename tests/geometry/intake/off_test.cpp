// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

void check_off_cube(const std::string& bytes, std::string_view name = "cube.off") {
  const MeshFile file = read_well(bytes, name);
  CHECK(file.format == MeshFormat::off);
  CHECK(file.soup.vertices == cube().vertices);
  CHECK(file.soup.triangles == cube().triangles);
}
/// The rows of the cube with something behind each vertex and each face.
std::string rows_with(const std::string& vertex, const std::string& face) {
  std::string out;
  for (const Vec3& v : cube().vertices) out += text("%g %g %g", v[0], v[1], v[2]) + vertex + "\n";
  for (const Triangle& t : cube().triangles) out += text("3 %u %u %u", t[0], t[1], t[2]) + face + "\n";
  return out;
}

}  // namespace

TEST_CASE("OFF: the ways it is written") {
  check_off_cube(off(cube()));
  check_off_cube("OFF 8 12 18\n" + rows_with("", ""));
  check_off_cube("OFF\n8 12\n" + rows_with("", ""));
  check_off_cube("off\n8 12 0\n" + rows_with("", ""));
  check_off_cube("# first\nOFF # the keyword\n\n# counts\n8 12 0 # rest\n\n" +
                 rows_with(" # vertex", " # face"));
  check_off_cube("COFF\n8 12 0\n" + rows_with(" 255 0 0 255", " 3 0.5 0.5 0.5"));
  check_off_cube("NOFF\n8 12 0\n" + rows_with(" 0 0 1", " 4"));
  check_off_cube("STOFF\n8 12 0\n" + rows_with(" 0.5 0.5", ""));
  check_off_cube("STCNOFF\n8 12 0\n" + rows_with(" 0 0 1 1 1 1 1 0.5 0.5", ""));
  check_off_cube("OFF\n8 12 0\n" + rows_with(" 1 0 0", ""));  // colours without the prefix
  check_off_cube("8 12 0\n" + rows_with("", ""));             // the keyword may be left out
  check_off_cube(replaced(off(cube()), "\n", "\r\n"));
  check_off_cube(replaced(off(cube()), "\n", "\r"));
  check_off_cube("\xEF\xBB\xBF" + off(cube()));
  check_off_cube(off(cube()).substr(0, off(cube()).size() - 1));
  check_off_cube(off(cube()), "cube.txt");
}

TEST_CASE("OFF: vertices without regard to lines") {
  std::string stream, three;
  const TriangleSoup solid = cube();
  for (std::size_t v = 0; v < solid.vertices.size(); ++v) {
    const Vec3& p = solid.vertices[v];
    const std::string row = text("%g %g %g", p[0], p[1], p[2]);
    stream += row + " ";
    three += row + (v == 5 ? "\n" : " ");  // as long as the first line tells that it is one
  }
  std::string faces;
  for (const Triangle& t : solid.triangles) faces += text("3 %u %u %u\n", t[0], t[1], t[2]);
  check_off_cube("OFF 8 12 18\n" + stream + "\n" + faces);
  check_off_cube("OFF\n8 12 18\n# all of them\n" + three + "\n" + faces);
  // Of a vertex with everything that may stand behind it, nothing is taken for another vertex.
  check_off_cube("OFF\n8 12 0\n" + rows_with(" 0 0 1 255 0 0 255 0.5 0.5", ""));
  // With a prefix nobody knows how many numbers a vertex has.
  CHECK(refused("COFF 8 12 18\n" + stream + "\n" + faces, "x.off").code == Code::file_truncated);
  // Cut off within the stream.
  CHECK(refused("OFF 8 12 18\n" + stream.substr(0, stream.size() / 2), "x.off").code == Code::file_truncated);
}

TEST_CASE("OFF: faces with more corners, and with fewer") {
  const MeshFile file =
      read_well("OFF\n4 3 0\n0 0 0\n4 0 0\n1 1 0\n0 4 0\n4 0 1 2 3\n2 0 1\n1 2\n", "dart.off");
  CHECK(file.soup.triangles.size() == 2);
  CHECK(file.polygons == 1);
  CHECK(has_note(file, "faces-skipped"));
}

TEST_CASE("OFF: what is refused") {
  const auto check = [](const std::string& bytes, Code code, std::string_view word) {
    const Problem problem = refused(bytes, "x.off");
    CHECK(problem.code == code);
    CHECK_MESSAGE(problem.text.find(word) != std::string::npos, problem.text);
  };
  const std::string good = off(cube());
  check("OFF\n", Code::file_truncated, "number of vertices");
  check("OFF\n8\n", Code::file_malformed, "number of faces");
  check("OFF\n0 0 0\n", Code::no_triangles, "empty");
  check("OFF\n1 0 0\n0 0 0\n", Code::no_triangles, "points");
  check("OFF\n-8 12 0\n", Code::file_malformed, "-8");
  check("OFF\neight 12 0\n", Code::file_malformed, "eight");
  check("4OFF\n8 12 0\n" + rows_with(" 1", ""), Code::file_malformed, "4OFF");
  check("nOFF\n3\n8 12 0\n" + rows_with("", ""), Code::file_malformed, "nOFF");
  check("OFF BINARY\n", Code::file_malformed, "binary OFF");
  check(replaced(good, "OFF\n8 ", "OFF\n4000000000 "), Code::file_truncated, "more than");
  check(replaced(good, "OFF\n8 12", "OFF\n8 999999999999999999"), Code::file_truncated, "more than");
  check(replaced(good, "OFF\n8 12", "OFF\n8 13"), Code::file_truncated, "12 of 13");
  check(replaced(good, "OFF\n8 12 0\n0 0 0", "OFF\n8 12 0\n0 inf 0"), Code::coordinate_not_finite, "line 3");
  check(replaced(good, "OFF\n8 12 0\n0 0 0", "OFF\n8 12 0\n0 0,5 0"), Code::file_malformed, "decimal comma");
  check(replaced(good, "OFF\n8 12 0\n0 0 0", "OFF\n8 12 0\n0 0"), Code::file_malformed, "line 3");
  const std::size_t last = good.rfind("\n3 ") + 1;
  check(good.substr(0, last) + "3 0 1 8\n", Code::index_out_of_range, "vertex 8");
  check(good.substr(0, last) + "3 0 1 -1\n", Code::file_malformed, "-1");
  check(good.substr(0, last) + "3 0 1\n", Code::file_malformed, "missing");
  check(good.substr(0, last) + "999999999999 0 1 2\n", Code::file_malformed, "missing");
  check(good.substr(0, last), Code::file_truncated, "11 of 12");
  IntakeOptions options;
  options.max_triangles = 11;
  CHECK(refused(good, "x.off", options).code == Code::too_large);
}

TEST_CASE("OFF: what follows the faces is noted") {
  CHECK(has_note(read_well(off(cube()) + "something else\n", "x.off"), "trailing-bytes"));
  CHECK(read_well(off(cube()) + "\n# end\n", "x.off").notes.empty());
}

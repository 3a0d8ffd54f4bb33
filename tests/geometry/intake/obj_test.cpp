// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

const std::string corners = "v 0 0 0\nv 4 0 0\nv 4 4 0\nv 0 4 0\n";

MeshFile check_square(const std::string& bytes) {
  const MeshFile file = read_well(bytes, "square.obj");
  CHECK(file.format == MeshFormat::obj);
  CHECK(file.soup.triangles.size() == 2);
  CHECK(file.soup.vertices.size() == 4);
  double area = 0;
  for (const Triangle& t : file.soup.triangles)
    area += (file.soup.vertices[t[1]] - file.soup.vertices[t[0]])
                .cross(file.soup.vertices[t[2]] - file.soup.vertices[t[0]])
                .z() /
            2;
  CHECK(area == doctest::Approx(16));
  check_promises(file.soup);
  return file;
}

}  // namespace

TEST_CASE("OBJ: vertices keep the order of the file") {
  const MeshFile file = read_well(obj(cube()), "cube.obj");
  CHECK(file.soup.vertices == cube().vertices);
  CHECK(file.soup.triangles == cube().triangles);
  CHECK(file.notes.empty());
}

TEST_CASE("OBJ: the ways faces and vertices are written") {
  check_square(corners + "f 1 2 3 4\n");
  check_square(corners + "f 1 2 3\nf 1 3 4");
  check_square(corners + "f 1/1 2/2 3/3 4/4\n");
  check_square(corners + "f 1//1 2//1 3//1 4//1\n");
  check_square(corners + "f 1/2/3 2//3 3/1 4\n");
  check_square(corners + "f 1/ 2/ 3/ 4/\n");
  check_square(corners + "f -4 -3 -2 -1\n");
  check_square(corners + "f -4/-1/-2 -3 -2//-7 -1\n");
  check_square("f 1 2 3 4\n" + corners);
  check_square("v 0 0 0\nv 4 0 0\nv 4 4 0\nf 1 2 3\nf 1 3 4\nv 0 4 0\n");
  check_square(replaced(corners, " 0\n", " 0 1.0\n") + "f 1 2 3 4\n");
  check_square(replaced(corners, " 0\n", " 0 0.5 0.25 1\n") + "f 1 2 3 4\n");
  check_square(replaced(corners, " 0\n", " 0 0.5 0.25 1 1\n") + "f 1 2 3 4\n");
  check_square(corners + "fo 1 2 3 4\n");
  check_square(replaced(corners, "v", "V") + "F 1 2 3 4\n");
  check_square(replaced(corners, "4", "+4.0e+00") + "f 1 2 3 4\n");
  check_square(corners + "f\t1\t2\t3\t4\t\n");
  check_square("\xEF\xBB\xBF" + corners + "f 1 2 3 4 # a comment\n#another\n");
  check_square(corners + "f 1 2 3 4\n#" + std::string(1'000'000, 'x'));
  check_square(replaced(corners + "f 1 2 3 4\n", "\n", "\r\n"));
  check_square(replaced(corners + "f 1 2 3 4\n", "\n", "\r"));
  check_square(replaced(corners + "f 1 2 3 4\n", "\n", "  \n\n"));
}

TEST_CASE("OBJ: a backslash goes on with the next line") {
  for (const std::string end : {"\n", "\r\n", "\r"}) {
    check_square(corners + "f 1 2 \\" + end + " 3 4\n");
    check_square(corners + "f \\" + end + "1 2\\" + end + "\\" + end + " 3 \\" + end + "4" + end);
    check_square("v 0 0\\" + end + " 0\nv 4 0 0\nv 4 \\" + end + "4 0\nv 0 4 0\nf 1 2 3 4\n");
  }
  CHECK_FALSE(has_note(check_square(corners + "curv2 1 2 \\\n3 4\nf 1 2 3 4\n"), "unknown-lines"));
}

TEST_CASE("OBJ: what is not geometry is passed over, and no other file is opened") {
  const std::string more =
      "mtllib /etc/passwd\nmtllib ../x.mtl\ncall other.obj\nusemtl stone\no thing\ng a b c\ns off\nvt 0 "
      "1\nvn 0 0 1\nvp 1 2\nl 1 2\np 1\n";
  CHECK(check_square(more + corners + more + "f 1 2 3 4\n" + more).notes.size() ==
        1);  // polygons-triangulated
  CHECK(has_note(check_square(corners + "surf 0 1 0 1 1 2 3\nf 1 2 3 4\n"), "free-form-ignored"));
  const MeshFile file = check_square(corners + "f 1 2 3 4\nff 1 2 3\n");
  REQUIRE(has_note(file, "unknown-lines"));
  CHECK(file.notes[0].text.find("line 6") != std::string::npos);
}

TEST_CASE("OBJ: indices that point nowhere are refused with their line") {
  const auto check = [](const std::string& face, std::string_view place) {
    const Problem problem = refused(corners + face + corners.substr(0, 0), "x.obj");
    CHECK(problem.code == Code::index_out_of_range);
    CHECK(problem.text.find(place) != std::string::npos);
  };
  check("f 1 2 3\nf 0 1 2\n", "line 6");
  check("f 1 2 5\n", "line 5");
  check("f 1 2 3\n\nf 1 2 99\nf 1 2 7\n", "line 7");
  check("f -5 1 2\n", "line 5");
  check("f 1 2 4294967297\n", "line 5");
  check("f 1 2 999999999999999999\n", "line 5");
  check("f 1 2 3 99\n", "line 5");
  // A negative index counts back from where it stands, not from the end of the file.
  CHECK(refused("f -1 -2 -3\n" + corners, "x.obj").code == Code::index_out_of_range);
}

TEST_CASE("OBJ: malformed lines are refused with their line") {
  const auto check = [](const std::string& bytes, Code code, std::string_view word) {
    const Problem problem = refused(bytes, "x.obj");
    CHECK(problem.code == code);
    CHECK_MESSAGE(problem.text.find(word) != std::string::npos, problem.text);
  };
  check("v 0 0 0\nv 0,5 1 2\nf 1 1 2\n", Code::file_malformed, "decimal comma");
  check("v 0 0 0\nv 0 1 2,5\nf 1 1 2\n", Code::file_malformed, "line 2");
  check("v 0 0\nf 1 1 1\n", Code::file_malformed, "missing");
  check("v 0 0 # 3\nf 1 1 1\n", Code::file_malformed, "missing");
  check("v 1 2 zebra\n", Code::file_malformed, "zebra");
  check(corners + "f 1 2 a\n", Code::file_malformed, "line 5");
  check(corners + "f 1 2 3.5\n", Code::file_malformed, "3.5");
  check(corners + "f 1,2,3\n", Code::file_malformed, "line 5");
  check(corners + "v nan 1 2\nf 1 2 5\n", Code::coordinate_not_finite, "line 5");
  check(corners + "v 1 -inf 2\nf 1 2 3\n", Code::coordinate_not_finite, "line 5");
  check(corners + "f\n", Code::file_malformed, "nothing behind");
  check("v 1 2", Code::file_truncated, "cut off");
}

TEST_CASE("OBJ: concave faces are cut properly, degenerate ones do no harm") {
  const MeshFile dart = read_well("v 0 0 0\nv 4 0 0\nv 1 1 0\nv 0 4 0\nf 1 2 3 4\n", "dart.obj");
  double sum = 0;
  for (const Triangle& t : dart.soup.triangles) {
    const double z = (dart.soup.vertices[t[1]] - dart.soup.vertices[t[0]])
                         .cross(dart.soup.vertices[t[2]] - dart.soup.vertices[t[0]])
                         .z() /
                     2;
    CHECK(z > 0);
    sum += z;
  }
  CHECK(sum == doctest::Approx(4));
  CHECK(has_note(check_square(corners + "f 1 2\nf 3\n f 1 1 2 2\nf 1 2 3 4\n"), "faces-skipped"));
  CHECK(
      has_note(read_well("v 0 0 0\nv 4 4 0\nv 4 0 0\nv 0 4 0\nf 1 2 3 4\n", "bow.obj"), "polygons-crossed"));
}

TEST_CASE("OBJ: equal vertices are joined, unused ones dropped, neighbours kept apart") {
  const MeshFile split = check_square("v 9 9 9\n" + corners + corners + "f 2 3 4\nf 6 8 9\n");
  CHECK(split.soup.vertices[0] == Vec3(0, 0, 0));
  const MeshFile near =
      read_well("v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1.0000000000000002 0 0\nf 1 2 3\nf 1 4 3\n", "near.obj");
  CHECK(near.soup.vertices.size() == 4);
}

TEST_CASE("OBJ: a unit that would make two coordinates equal joins their vertices") {
  // Neighbouring doubles below 2, times 25.4, fall on the same double.
  double low = 0;
  for (double x = 1.9; low == 0; x = std::nextafter(x, 2.0))
    if (x * 25.4 == std::nextafter(x, 2.0) * 25.4) low = x;
  const std::string bytes = "v 0 0 0\n" + text("v %.17g 0 0\nv %.17g 0 0\n", low, std::nextafter(low, 2.0)) +
                            "v 0 1 0\nf 1 2 4\nf 1 3 4\n";
  CHECK(read_well(bytes, "near.obj").soup.vertices.size() == 4);
  IntakeOptions options;
  options.unit = LengthUnit::in;
  const MeshFile file = read_well(bytes, "near.obj", options);
  CHECK(file.soup.vertices.size() == 3);
  check_promises(file.soup);
}

TEST_CASE("OBJ: a unit that overflows a coordinate") {
  IntakeOptions options;
  options.unit = LengthUnit::m;
  CHECK(refused("v 0 0 0\nv 1e308 0 0\nv 0 1 0\nf 1 2 3\n", "far.obj", options).code ==
        Code::coordinate_not_finite);
}

TEST_CASE("OBJ: points, lines, nothing") {
  CHECK(refused(corners, "x.obj").code == Code::no_triangles);
  CHECK(refused(corners + "l 1 2 3\n", "x.obj").code == Code::no_triangles);
  CHECK(refused("\n\n# nothing\n\n", "x.obj").code == Code::no_triangles);
  CHECK(refused(corners + "f 1 2\n", "x.obj").code == Code::no_triangles);
}

TEST_CASE("OBJ: limits") {
  IntakeOptions options;
  options.max_triangles = 11;
  CHECK(refused(obj(cube()), "cube.obj", options).code == Code::too_large);
  options.max_triangles = 1;
  CHECK(refused(corners + "f 1 2 3 4\n", "x.obj", options).code == Code::too_large);
  CHECK(refused("f 1 2 3 4\n" + corners, "x.obj", options).code == Code::too_large);
  options.max_triangles = 2;
  read_well(corners + "f 1 2 3 4\n", "x.obj", options);
}

TEST_CASE("OBJ: a large mesh across many windows") {
  const TriangleSoup s = shapes::renumbered(shapes::sphere(30, 96), 3);
  const MeshFile file = read_well(obj(s), "sphere.obj");
  CHECK(file.soup.vertices == s.vertices);
  CHECK(file.soup.triangles == s.triangles);
}

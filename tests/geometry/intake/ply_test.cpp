// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

#include <limits>

using namespace mesh_bytes;

namespace {

void check_same(const std::string& bytes, const TriangleSoup& s) {
  const MeshFile file = read_well(bytes, "x.ply");
  CHECK(file.format == MeshFormat::ply);
  CHECK(file.soup.vertices == s.vertices);
  CHECK(file.soup.triangles == s.triangles);
}
std::string erased(std::string s, const std::string& part) {
  return replaced(std::move(s), part, "");
}

/// A square of two triangles in a binary file with everything in an odd place: faces first, lists and numbers
/// of every type round the coordinates, an element nobody knows.
std::string odd_binary(bool big) {
  std::string out =
      std::string("ply\nformat ") + (big ? "binary_big_endian" : "binary_little_endian") +
      " 1.0\nobj_info x\nelement face 2\nproperty uchar red\nproperty list ushort short vertex_index\n"
      "property list uchar float texcoord\nelement camera 1\nproperty double a\nproperty list int double b\n"
      "element vertex 4\nproperty list char int tags\nproperty double z\nproperty short x\nproperty float "
      "nx\n"
      "property uchar y\nend_header\n";
  const std::array<std::array<std::int16_t, 3>, 2> faces{{{0, 1, 2}, {0, 2, 3}}};
  for (const auto& face : faces) {
    put(out, std::uint8_t{200}, big);
    put(out, std::uint16_t{3}, big);
    for (const std::int16_t v : face) put(out, v, big);
    put(out, std::uint8_t{2}, big);
    put(out, 0.5f, big);
    put(out, 0.25f, big);
  }
  put(out, 1.5, big);
  put(out, std::int32_t{1}, big);
  put(out, 2.5, big);
  const std::array<std::array<int, 2>, 4> corners{{{-4, 0}, {4, 0}, {4, 200}, {-4, 200}}};
  for (const auto& [x, y] : corners) {
    put(out, std::int8_t{1}, big);
    put(out, std::int32_t{7}, big);
    put(out, 0.1, big);
    put(out, static_cast<std::int16_t>(x), big);
    put(out, std::numeric_limits<float>::quiet_NaN(), big);
    put(out, static_cast<std::uint8_t>(y), big);
  }
  return out;
}

}  // namespace

TEST_CASE("PLY: five kinds of file, one mesh") {
  const TriangleSoup s = shapes::renumbered(shapes::sphere(30, 40), 5);
  check_same(ply_ascii(s), s);
  check_same(ply_binary<double>(s, false), s);
  check_same(ply_binary<double>(s, true), s);
  for (const bool big : {false, true}) {
    const MeshFile file = read_well(ply_binary<float>(s, big), "x.ply");
    CHECK(triangle_set(file.soup) == triangle_set(as_floats(s)));
    check_promises(file.soup);
  }
}

TEST_CASE("PLY: the ways headers are written") {
  const TriangleSoup s = cube();
  const std::string plain = ply_ascii(s);
  check_same(replaced(plain, "\n", "\r\n"), s);
  check_same(replaced(plain, "\n", "\r"), s);
  check_same(replaced(plain, "vertex_indices", "vertex_index"), s);
  check_same(replaced(plain, "property double", "property float64"), s);
  check_same(replaced(plain, "list uchar int", "list uint8 uint32"), s);
  check_same(replaced(plain, "list uchar int", "list int32 uint8"), s);
  check_same(replaced(plain, "end_header", "comment nothing\nobj_info nothing\nend_header  "), s);
  check_same("\xEF\xBB\xBF" + plain, s);
  check_same(plain.substr(0, plain.size() - 1), s);
  check_same(replaced(plain, "end_header\n", "end_header\n\n\n"), s);
  check_same(plain + "\n\n", s);
  // Binary data that begin with a line feed, after each kind of line end.
  TriangleSoup t = cube();
  t.vertices[0].x() = std::bit_cast<double>(std::uint64_t{0x400000000000000A});
  const std::string binary = ply_binary<double>(t, false);
  const std::size_t body = binary.find("end_header\n") + 11;
  REQUIRE(binary[body] == '\n');
  for (const std::string end : {"\n", "\r\n", "\r"})
    check_same(replaced(binary.substr(0, body), "\n", end) + binary.substr(body), t);
}

TEST_CASE("PLY: elements and properties in any order, lists among them") {
  for (const bool big : {false, true}) {
    const MeshFile file = read_well(odd_binary(big), "odd.ply");
    CHECK(file.soup.vertices == std::vector<Vec3>{{-4, 0, 0.1}, {4, 0, 0.1}, {4, 200, 0.1}, {-4, 200, 0.1}});
    CHECK(file.soup.triangles == std::vector<Triangle>{{0, 1, 2}, {0, 2, 3}});
  }
  const std::string ascii =
      "ply\nformat ascii 1.0\nelement face 1\nproperty uchar red\nproperty list uchar int "
      "vertex_indices\nproperty list uchar float t\n"
      "element edge 1\nproperty int a\nproperty int b\nelement vertex 4\nproperty float nx\nproperty float "
      "z\nproperty list int int tags\n"
      "property float x\nproperty float y\nproperty uchar q\nend_header\n"
      "255 4 0 1 2 3 2 0.5 0.5\n0 1\nnan 7 0 0 0 1\n1 7 2 8 9 4 0 1\n0 7 1 3 4 4 1\n0 7 0 0 4 1\n";
  const MeshFile file = read_well(ascii, "odd.ply");
  CHECK(file.soup.vertices == std::vector<Vec3>{{0, 0, 7}, {4, 0, 7}, {4, 4, 7}, {0, 4, 7}});
  CHECK(file.polygons == 1);
  CHECK(file.soup.triangles.size() == 2);
}

TEST_CASE("PLY: triangle strips") {
  const std::string head =
      "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float "
      "z\nelement tristrips ";
  const std::string corners = "0 0 0\n1 0 0\n0 1 0\n1 1 0\n0 2 0\n";
  const MeshFile file = read_well(
      head + "1\nproperty list int int vertex_indices\nend_header\n" + corners + "10 0 1 2 3 4 -1 2 1 0 0\n",
      "strip.ply");
  CHECK(file.soup.triangles == std::vector<Triangle>{{0, 1, 2}, {2, 1, 3}, {2, 3, 4}, {2, 1, 0}});
  CHECK(refused(head + "1\nproperty list int int vertex_indices\nend_header\n" + corners + "3 0 1 5\n",
                "strip.ply")
            .code == Code::index_out_of_range);
  CHECK(refused(head + "1\nproperty list int int vertex_indices\nend_header\n" + corners + "3 0 1 -2\n",
                "strip.ply")
            .code == Code::index_out_of_range);
  // One strip over thousands of corners keeps its turning direction.
  std::string strip =
      "ply\nformat ascii 1.0\nelement vertex 20000\nproperty float x\nproperty float y\nproperty float "
      "z\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n";
  for (int i = 0; i < 20'000; ++i) strip += text("%d %d 0\n", i / 2, i % 2);
  strip += "20000";
  for (int i = 0; i < 20'000; ++i) strip += text(" %d", i);
  const MeshFile band = read_well(strip + "\n", "band.ply");
  CHECK(band.soup.triangles.size() == 19'998);
  bool all_same = true;
  for (const Triangle& t : band.soup.triangles)
    all_same &= (band.soup.vertices[t[1]] - band.soup.vertices[t[0]])
                    .cross(band.soup.vertices[t[2]] - band.soup.vertices[t[0]])
                    .z() < 0;
  CHECK(all_same);
}

TEST_CASE("PLY: bad headers") {
  const std::string plain = ply_ascii(cube());
  const auto check = [](const std::string& bytes, Code code, std::string_view word) {
    const Problem problem = refused(bytes, "x.ply");
    CHECK(problem.code == code);
    CHECK_MESSAGE(problem.text.find(word) != std::string::npos, problem.text);
  };
  check(erased(plain, "end_header\n"), Code::file_malformed, "line ");
  check(plain.substr(0, plain.find("end_header")), Code::file_truncated, "end_header");
  check(erased(plain, "format ascii 1.0\n"), Code::file_malformed, "format");
  check(replaced(plain, "format ascii", "format morse"), Code::file_malformed, "morse");
  check(erased(plain, "property double y\n"), Code::file_malformed, "“y”");
  check(erased(plain, "property list uchar int vertex_indices\n"), Code::file_malformed, "vertex_indices");
  check(replaced(plain, "list uchar int", "list float int"), Code::file_malformed, "list length");
  check(replaced(plain, "property double x", "property complex x"), Code::file_malformed, "complex");
  check(replaced(plain, "element vertex 8", "element vertex -8"), Code::file_malformed, "count");
  check(replaced(plain, "element vertex 8",
                 "element vertex 8\nproperty int x\nproperty int y\nproperty int z\nelement vertex 8"),
        Code::file_malformed, "two");
  check(replaced(plain, "element vertex", "element corner"), Code::file_malformed, "vertex");
  check(replaced(plain, "property double x", "property list uchar double x"), Code::file_malformed, "“x”");
  check(replaced(plain, "element vertex 8\n", ""), Code::file_malformed, "before any element");
}

TEST_CASE("PLY: counts are checked against the bytes that are there before anything is made") {
  for (const char* count : {"9", "13", "1000000", "4000000000", "18446744073709551615"}) {
    CAPTURE(count);
    for (const std::string& good :
         {ply_ascii(cube()), ply_binary<float>(cube(), false), ply_binary<double>(cube(), true)}) {
      if (count[0] == '9' && good.find("ascii") == std::string::npos) continue;  // nothing contradicts it
      const Code vertex =
          refused(replaced(good, "element vertex 8", std::string("element vertex ") + count), "x.ply").code;
      CHECK((vertex == Code::file_truncated || vertex == Code::too_large ||
             vertex == Code::index_out_of_range || vertex == Code::file_malformed));
      const Code face = refused(replaced(good, "element face 12",
                                         std::string("element face ") + (count[0] == '9' ? "14" : count)),
                                "x.ply")
                            .code;
      CHECK(face == Code::file_truncated);
    }
  }
  // An element without properties has no bytes, however often it is there.
  const TriangleSoup s = cube();
  check_same(replaced(ply_binary<double>(s, false), "element vertex",
                      "element ghost 18446744073709551615\nelement vertex"),
             s);
  // A list that claims to be longer than the file.
  std::string bytes = ply_binary<float>(s, false);
  const std::size_t body = bytes.find("end_header\n") + 11;
  bytes[body + 8 * 12] = '\xFF';
  CHECK(refused(bytes, "x.ply").code == Code::file_truncated);
  CHECK(refused(replaced(bytes, "list uchar", "list char"), "x.ply").code == Code::file_malformed);
}

TEST_CASE("PLY: truncated bodies are refused") {
  for (const std::string& good :
       {ply_ascii(cube()), ply_binary<float>(cube(), false), ply_binary<double>(cube(), true)}) {
    const std::size_t body = good.find("end_header\n") + 11;
    for (std::size_t n = body; n + 2 < good.size(); ++n) {
      const auto result = read(good.substr(0, n), "x.ply");
      REQUIRE_FALSE(result);
      CHECK((result.error().code == Code::file_truncated || result.error().code == Code::file_malformed));
    }
  }
}

TEST_CASE("PLY: bad values are refused with their place") {
  const auto check = [](const std::string& bytes, Code code, std::string_view word) {
    const Problem problem = refused(bytes, "x.ply");
    CHECK(problem.code == code);
    CHECK_MESSAGE(problem.text.find(word) != std::string::npos, problem.text);
  };
  const std::string plain = ply_ascii(cube());
  const std::string first = "end_header\n0 0 0\n";
  REQUIRE(plain.find(first) != std::string::npos);
  check(replaced(plain, first, "end_header\n0 nan 0\n"), Code::coordinate_not_finite, "line 11");
  check(replaced(plain, first, "end_header\n0 0\n"), Code::file_malformed, "line 11");
  check(replaced(plain, first, "end_header\n0 x 0\n"), Code::file_malformed, "line 11");
  check(replaced(plain, first, "end_header\n0,5 0 0\n"), Code::file_malformed, "decimal comma");
  CHECK(has_note(read_well(replaced(plain, first, "end_header\n0 0 0 255 255\n"), "x.ply"), "extra-values"));
  const std::size_t face = plain.rfind("\n3 ") + 1;
  check(plain.substr(0, face) + "3 0 1 8\n", Code::index_out_of_range, "vertex 8");
  check(plain.substr(0, face) + "3 0 1 99\n", Code::index_out_of_range, "8 vertices");
  check(plain.substr(0, face) + "3 0 1 -1\n", Code::index_out_of_range, "-1");
  check(plain.substr(0, face) + "3 0 1 1.5\n", Code::index_out_of_range, "");
  check(plain.substr(0, face) + "-3 0 1 2\n", Code::file_malformed, "");
  std::string bytes = ply_binary<float>(cube(), false), number;
  const std::size_t body = bytes.find("end_header\n") + 11;
  put(number, std::numeric_limits<float>::infinity());
  check(std::string(bytes).replace(body + 12 * 5 + 4, 4, number), Code::coordinate_not_finite, "vertex 6");
  number.clear();
  put(number, std::int32_t{99});
  check(std::string(bytes).replace(body + 12 * 8 + 13 * 3 + 1, 4, number), Code::index_out_of_range,
        "face 4");
}

TEST_CASE("PLY: point clouds, and faces with few or many corners") {
  CHECK(refused("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float "
                "z\nend_header\n0 0 0\n",
                "points.ply")
            .code == Code::no_triangles);
  CHECK(refused("ply\nformat ascii 1.0\nend_header\n", "nothing.ply").code == Code::no_triangles);
  const std::string head =
      "ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float "
      "z\nelement face 3\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n4 0 0\n1 1 0\n0 4 0\n";
  const MeshFile file = read_well(head + "4 0 1 2 3\n2 0 1\n0\n", "x.ply");
  CHECK(file.soup.triangles.size() == 2);
  CHECK(file.polygons == 1);
  CHECK(has_note(file, "faces-skipped"));
}

TEST_CASE("PLY: limits") {
  IntakeOptions options;
  options.max_triangles = 11;
  CHECK(refused(ply_ascii(cube()), "x.ply", options).code == Code::too_large);
  CHECK(refused(ply_binary<float>(cube(), false), "x.ply", options).code == Code::too_large);
}

TEST_CASE("PLY: nothing is lost far from the origin") {
  TriangleSoup s = cube();
  for (Vec3& v : s.vertices) v += Vec3(1e9 + 0.123456789, 0, 0);
  check_same(ply_ascii(s), s);
  check_same(ply_binary<double>(s, false), s);
}

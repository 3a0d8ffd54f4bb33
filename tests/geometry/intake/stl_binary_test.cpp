// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

#include <cmath>
#include <limits>

using namespace mesh_bytes;

TEST_CASE("binary STL: a cube is welded to eight vertices") {
  const MeshFile file = read_well(stl_binary(cube()), "cube.stl");
  CHECK(file.format == MeshFormat::stl_binary);
  CHECK(file.unit == LengthUnit::mm);
  CHECK(file.unit_from == UnitFrom::assumed);
  CHECK(file.soup.vertices.size() == 8);
  CHECK(file.notes.empty());
  CHECK(file.polygons == 0);
  CHECK(triangle_set(file.soup) == triangle_set(cube()));
  check_promises(file.soup);
}

TEST_CASE("binary STL: a header that begins with “solid” does not make it text") {
  const MeshFile file = read_well(stl_binary(cube(), "solid exported by something"), "cube.stl");
  CHECK(file.format == MeshFormat::stl_binary);
  CHECK(file.soup.triangles.size() == 12);
  // Nor when the count is wrong too, so that the size does not tell.
  CHECK(read_well(with_count(stl_binary(cube(), "solid exported"), 99), "cube.stl").soup.triangles.size() ==
        12);
}

TEST_CASE("binary STL: the header's count against the size of the file") {
  const std::string good = stl_binary(cube());
  for (const std::uint32_t count : {0u, 13u, 66u, 1'000'000'000u, 4'000'000'000u}) {
    const MeshFile file = read_well(with_count(good, count), "cube.stl");
    CHECK(file.soup.triangles.size() == 12);
    CHECK(has_note(file, "stl-count"));
  }
  for (const std::size_t more : {1u, 25u, 49u, 50u, 51u, 600u}) {
    const MeshFile file = read_well(good + std::string(more, '\x7F'), "cube.stl");
    CHECK(file.soup.triangles.size() == 12);  // never the junk as one triangle more
    CHECK(has_note(file, "trailing-bytes"));
    CHECK(triangle_set(file.soup) == triangle_set(cube()));
  }
}

TEST_CASE("binary STL: a file cut in mid-triangle is refused, with the triangle") {
  const std::string good = stl_binary(cube());
  const Problem problem = refused(good.substr(0, good.size() - 25), "cube.stl");
  CHECK(problem.code == Code::file_truncated);
  CHECK(problem.text.find("triangle 12") != std::string::npos);
  CHECK(refused(good.substr(0, 100), "cube.stl").code == Code::file_truncated);
  CHECK(refused(good.substr(0, 83), "cube.stl").code == Code::file_truncated);
  CHECK(refused(with_count(good.substr(0, good.size() - 25), 4'000'000'000u), "cube.stl").code ==
        Code::file_truncated);
  // Cut between two triangles it cannot be told from a wrong count, so it is read with a warning.
  const MeshFile file = read_well(good.substr(0, good.size() - 50), "cube.stl");
  CHECK(file.soup.triangles.size() == 11);
  REQUIRE(has_note(file, "stl-count"));
  CHECK(file.notes[0].warning);
}

TEST_CASE("binary STL: header only, and nothing whole behind a count of zero") {
  CHECK(refused(stl_binary({}), "empty.stl").code == Code::no_triangles);
  CHECK(refused(stl_binary({}) + "abc", "empty.stl").code == Code::file_malformed);
}

TEST_CASE("binary STL: coordinates that are not finite are refused with their triangle") {
  for (const float bad :
       {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity(),
        -std::numeric_limits<float>::infinity(), std::numeric_limits<float>::signaling_NaN()})
    for (const std::size_t corner : {0u, 4u, 8u}) {
      std::string bytes = stl_binary(cube()), number;
      put(number, bad);
      bytes.replace(84 + 50 * 6 + 12 + 4 * corner, 4, number);
      const Problem problem = refused(bytes, "cube.stl");
      CHECK(problem.code == Code::coordinate_not_finite);
      CHECK(problem.text.find("triangle 7") != std::string::npos);
    }
  // Normals are nobody's business.
  std::string bytes = stl_binary(cube()), number;
  put(number, std::numeric_limits<float>::quiet_NaN());
  bytes.replace(84, 4, number);
  CHECK(read_well(bytes, "cube.stl").soup.triangles.size() == 12);
}

TEST_CASE("binary STL: minus zero is zero, a neighbouring float is another vertex") {
  TriangleSoup s = cube();
  s.vertices[0].x() = -0.0;
  CHECK(read_well(stl_binary(s), "cube.stl").soup.vertices.size() == 8);
  std::string bytes = stl_binary(s), number;
  put(number, std::nextafter(0.0f, 1.0f));
  bytes.replace(84 + 12, 4, number);
  CHECK(read_well(bytes, "cube.stl").soup.vertices.size() == 9);
}

TEST_CASE("binary STL: triangles that use one vertex twice are kept for the census") {
  TriangleSoup s = cube();
  s.triangles.push_back({0, 0, 1});
  CHECK(read_well(stl_binary(s), "cube.stl").soup.triangles.size() == 13);
}

TEST_CASE("binary STL: a large mesh in any order, across many windows") {
  const TriangleSoup s = shapes::renumbered(shapes::sphere(30, 128), 11);
  REQUIRE(s.triangles.size() > 15'000);
  const MeshFile file = read_well(stl_binary(s), "sphere.stl");
  CHECK(triangle_set(file.soup) == triangle_set(as_floats(s)));
  check_promises(file.soup);
}

TEST_CASE("binary STL: units scale once, after the weld") {
  IntakeOptions options;
  options.unit = LengthUnit::in;
  const MeshFile file = read_well(stl_binary(cube()), "cube.stl", options);
  CHECK(file.unit == LengthUnit::in);
  CHECK(file.unit_from == UnitFrom::option);
  CHECK(volume(file.soup) == doctest::Approx(1680 * 25.4 * 25.4 * 25.4).epsilon(1e-14));
  CHECK(file.soup.vertices.size() == 8);
}

TEST_CASE("binary STL: the limit on triangles") {
  IntakeOptions options;
  options.max_triangles = 11;
  CHECK(refused(stl_binary(cube()), "cube.stl", options).code == Code::too_large);
  options.max_triangles = 12;
  read_well(stl_binary(cube()), "cube.stl", options);
}

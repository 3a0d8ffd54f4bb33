// SPDX-License-Identifier: GPL-3.0-or-later
// The open mesh set, where it is present beside the repository. What each file holds was counted by other
// programs.
#include "mesh_bytes.hpp"
#include "support/source_folder.hpp"

#include <filesystem>

using namespace mesh_bytes;
namespace fs = std::filesystem;

namespace {

const fs::path folder = source_folder() / ".." / "shared" / "meshes";

struct Counted {
  const char* path;
  std::size_t triangles, vertices;
  double volume;
};
// Counts and divergence sums as the set's manifest states them, made with independent readers.
constexpr std::array counted{
#include "open_set_counts.inc"
};

struct Hostile {
  const char* name;
  std::optional<Code> code;  ///< nothing: it reads as the box of 1680 mm³
  const char* note_code;
};
const std::vector<Hostile> hostile{
    {"count_1000000000.stl", std::nullopt, "stl-count"},
    {"count_zero_with_data.stl", std::nullopt, "stl-count"},
    {"crlf_tabs.stl", std::nullopt, nullptr},
    {"exponents.stl", std::nullopt, nullptr},
    {"negative_indices.obj", std::nullopt, nullptr},
    {"quads.obj", std::nullopt, "polygons-triangulated"},
    {"solid_header_binary.stl", std::nullopt, nullptr},
    {"имя с пробелами.stl", std::nullopt, nullptr},
    {"counts_missing.off", Code::file_truncated, nullptr},
    {"decimal_comma.stl", Code::file_malformed, nullptr},
    {"empty.stl", Code::file_empty, nullptr},
    {"empty_lines.obj", Code::no_triangles, nullptr},
    {"header_only.stl", Code::no_triangles, nullptr},
    {"index_zero.obj", Code::index_out_of_range, nullptr},
    {"nan_vertex.obj", Code::coordinate_not_finite, nullptr},
    {"no_end_header.ply", Code::file_malformed, nullptr},
    {"no_model_part.3mf", Code::file_malformed, nullptr},
    {"node_cycle.gltf", Code::format_switched_off, nullptr},
    {"not_a_zip.3mf", Code::file_malformed, nullptr},
    {"points_only.obj", Code::no_triangles, nullptr},
    {"random_bytes.stl", Code::file_truncated, nullptr},
    {"short_body.ply", Code::file_truncated, nullptr},
    {"truncated.stl", Code::file_truncated, nullptr},
};

double sum_about_centre(const TriangleSoup& s) {
  Box box;
  for (const Vec3& v : s.vertices) box.add(v);
  const Vec3 c = box.centre();
  double sum = 0;
  for (const Triangle& t : s.triangles)
    sum += (s.vertices[t[0]] - c).dot((s.vertices[t[1]] - c).cross(s.vertices[t[2]] - c));
  return sum / 6;
}

}  // namespace

TEST_CASE("the open mesh set: clean and real files") {
  if (!fs::is_directory(folder)) {
    WARN_MESSAGE(false, "the open mesh set is not there: nothing was read");
    return;
  }
  for (const Counted& row : counted) {
    CAPTURE(row.path);
    IntakeOptions options;
    options.unit = LengthUnit::mm;  // the counts are in the files' own units
    const auto file = read_mesh_file(folder / row.path, options);
    REQUIRE_MESSAGE(file, file.error().text);
    CHECK(file->soup.triangles.size() == row.triangles);
    CHECK(file->soup.vertices.size() == row.vertices);
    CHECK(sum_about_centre(file->soup) == doctest::Approx(row.volume).epsilon(2e-9));
  }
}

TEST_CASE("the open mesh set: hostile files") {
  if (!fs::is_directory(folder)) return;
  for (const Hostile& row : hostile) {
    CAPTURE(row.name);
    const auto file = read_mesh_file(folder / "hostile" / row.name);
    if (row.code) {
      REQUIRE_FALSE(file);
      CHECK_MESSAGE(file.error().code == *row.code, file.error().text);
      CHECK_FALSE(file.error().hint.empty());
    } else {
      REQUIRE_MESSAGE(file, file.error().text);
      CHECK(sum_about_centre(file->soup) == doctest::Approx(1680));
      CHECK(file->notes.size() == (row.note_code == nullptr ? 0 : 1));
      if (row.note_code != nullptr) CHECK(has_note(*file, row.note_code));
    }
  }
  const auto single = read_mesh_file(folder / "hostile" / "single_triangle.stl");
  REQUIRE(single);
  CHECK(single->soup.triangles.size() == 1);
  IntakeOptions options;
  options.more_formats = true;
  CHECK_FALSE(read_mesh_file(folder / "hostile" / "node_cycle.gltf", options));
  // No file of the folder is left out.
  for (const auto& entry : fs::directory_iterator(folder / "hostile")) {
    const std::string name = entry.path().filename().string();
    const bool known =
        name == "single_triangle.stl" ||
        std::any_of(hostile.begin(), hostile.end(), [&](const Hostile& h) { return name == h.name; });
    CHECK_MESSAGE(known, name);
  }
}

TEST_CASE("the open mesh set: STL files of odd make") {
  if (!fs::is_directory(folder)) return;
  const auto four = read_mesh_file(folder / "real" / "sm_fourVertices.ascii.stl");
  REQUIRE(four);
  CHECK(four->soup.triangles.size() == 5);
  CHECK(four->polygons == 1);
  const auto quad = read_mesh_file(folder / "real" / "sm_quad.ascii.stl");
  REQUIRE(quad);
  CHECK(quad->soup.triangles.size() == 5);
  CHECK(sum_about_centre(quad->soup) == doctest::Approx(1.0 / 6));
  const auto counter = read_mesh_file(folder / "real" / "sm_incorrectFaceCounter.bin.stl");
  REQUIRE(counter);
  CHECK(counter->soup.triangles.size() == 4);
  CHECK(has_note(*counter, "stl-count"));
}

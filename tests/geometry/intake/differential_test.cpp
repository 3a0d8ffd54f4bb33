// SPDX-License-Identifier: GPL-3.0-or-later
// The own readers against Assimp on clean files: the same triangles, coordinate by coordinate. Assimp keeps
// single precision, so the coordinates are singles to begin with.
#include "geometry/intake/more_formats.hpp"
#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

intake::Job job() {
  return {"file", std::nullopt, 10'000'000, std::uint64_t{1} << 30};
}

void compare(const std::string& bytes, const std::string& ending, std::string_view importer) {
  CAPTURE(ending);
  CAPTURE(importer);
  const MeshFile own = read_well(bytes, "mesh" + ending);
  const auto other = intake::read_with_assimp(std::as_bytes(std::span(bytes.data(), bytes.size())), importer,
                                              ending, job(), 1);
  REQUIRE_MESSAGE(other, other.error().text);
  CHECK(triangle_set(own.soup) == triangle_set(other->soup));
  CHECK(own.soup.vertices.size() == other->soup.vertices.size());
  check_promises(other->soup);
}

}  // namespace

TEST_CASE("own readers and Assimp agree on clean files") {
  if (!intake::assimp_built()) {
    WARN_MESSAGE(false, "built without Assimp: nothing was compared");
    return;
  }
  // A ring: curved, closed, with a hole through it; and a block of cells moved off the origin.
  std::vector<shapes::Station> section;
  for (int i = 0; i < 16; ++i)
    section.push_back({30 + 10 * std::cos(i * shapes::pi / 8), 10 * std::sin(i * shapes::pi / 8)});
  TriangleSoup far = shapes::sphere(3, 16);
  for (Vec3& v : far.vertices) v += Vec3(1000.5, -2000.25, 77);
  for (const TriangleSoup& exact : {shapes::revolve(section, 48, true), far, cube()}) {
    const TriangleSoup s = as_floats(exact);
    REQUIRE(s.triangles.size() >= 12);
    compare(stl_binary(s), ".stl", "STL");
    compare(stl_ascii(s, "%.17g"), ".stl", "STL");
    compare(ply_ascii(s), ".ply", "PLY");
    compare(ply_binary<float>(s, false), ".ply", "PLY");
    compare(ply_binary<float>(s, true), ".ply", "PLY");
    compare(obj(s), ".obj", "Wavefront");
    compare(off(s), ".off", "OFF");
  }
}

// SPDX-License-Identifier: GPL-3.0-or-later
// Files cut at every length and with single bytes changed: a mesh that keeps its promises or a problem with
// words, never a crash. Run with sanitizers these tests also prove that no byte outside the file is looked
// at.
#include "geometry/intake/readers.hpp"
#include "mesh_bytes.hpp"

#include <random>

using namespace mesh_bytes;

namespace {

TriangleSoup tetrahedron() {
  TriangleSoup s;
  s.vertices = {{0, 0, 0}, {10.5, 0, 0}, {0, 10.25, 0}, {0, 0, 10.125}};
  s.triangles = {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}};
  return s;
}

std::vector<std::pair<std::string, std::string>> samples() {
  const TriangleSoup s = tetrahedron();
  const std::string square =
      "ply\nformat ascii 1.0\nelement vertex 5\nproperty list uchar int t\nproperty float x\nproperty float "
      "y\nproperty float z\n";
  const std::string square_rows = "1 7 0 0 0\n0 4 0 0\n0 1 1 0\n0 0 4 0\n0 1 1 1\n";
  return {
      {"b.stl", stl_binary(s)},
      {"a.stl", stl_ascii(s, "%+.5e")},
      {"c.obj",
       "# c\nmtllib a\no x\nv 0 0 0 1\nv 4 0 0\nv 1 1 0\nv 0 4 0\nvn 0 0 1\nf 1/1/1 2//1 3/1 \\\n 4\nf -4 -3 "
       "-2\nl 1 2\ncurv 0 1\n"},
      {"d.ply", ply_ascii(s)},
      {"e.ply", ply_binary<float>(s, false)},
      {"f.ply", ply_binary<double>(s, true)},
      {"g.ply", square + "element face 1\nproperty list uchar int vertex_indices\nend_header\n" +
                    square_rows + "4 0 1 2 3\n"},
      {"h.ply", square + "element tristrips 1\nproperty list int int vertex_indices\nend_header\n" +
                    square_rows + "6 0 1 2 3 -1 4\n"},
      {"i.off", "STCOFF # c\n4 2 0\n0 0 0 1\n4 0 0 1\n1 1 0 1\n0 4 0 1\n4 0 1 2 3 1\n3 0 1 2\n"},
      {"j.3mf", three_mf(s)},
      {"k.model", mf_model("<object id=\"1\">" + mf_mesh(s) +
                               "</object><object id=\"2\"><components><component objectid=\"1\" "
                               "transform=\"1 0 0 0 1 0 0 0 1 5 5 5\"/></components></object>",
                           "<item objectid=\"2\"/>")},
  };
}

void check_result(const Expected<MeshFile>& result) {
  if (result) {
    REQUIRE_FALSE(result->soup.triangles.empty());
    for (const Vec3& v : result->soup.vertices) REQUIRE(v.allFinite());
    for (const Triangle& t : result->soup.triangles)
      for (const Index v : t) REQUIRE(v < result->soup.vertices.size());
  } else {
    REQUIRE_FALSE(result.error().text.empty());
    REQUIRE_FALSE(result.error().hint.empty());
  }
}

/// The reader itself, which may be given bytes that the look at the content would have turned away.
void survive_reader(const std::string& name, const std::string& bytes) {
  const auto span = std::as_bytes(std::span(bytes.data(), bytes.size()));
  intake::ByteWindow window(intake::memory_source(span), bytes.size());
  const intake::Job job{name, std::nullopt, 1'000'000, std::uint64_t{1} << 30};
  if (name == "a.stl") check_result(intake::read_stl_ascii(window, job));
  if (name == "b.stl") check_result(intake::read_stl_binary(window, job));
  if (name.ends_with(".obj")) check_result(intake::read_obj(window, job));
  if (name.ends_with(".ply")) check_result(intake::read_ply(window, job));
  if (name.ends_with(".off")) check_result(intake::read_off(window, job));
}

/// Reads a sample; a bare model part is packed first, so that damage reaches the XML.
void survive(const std::string& name, const std::string& bytes) {
  const bool model = name == "k.model";
  check_result(read(model ? three_mf(bytes) : bytes, model ? "k.3mf" : name));
  survive_reader(name, bytes);
}

}  // namespace

TEST_CASE("the samples are read whole") {
  for (const auto& [name, bytes] : samples()) {
    CAPTURE(name);
    const auto result = read(name == "k.model" ? three_mf(bytes) : bytes, name == "k.model" ? "k.3mf" : name);
    REQUIRE_MESSAGE(result, result.error().text);
    check_promises(result->soup);
  }
}

TEST_CASE("cut at every length") {
  for (const auto& [name, bytes] : samples())
    for (std::size_t n = 0; n < bytes.size(); ++n) {
      CAPTURE(name);
      CAPTURE(n);
      survive(name, bytes.substr(0, n));
    }
}

TEST_CASE("single bytes changed, taken out, put in") {
  std::mt19937 random(20240915);
  const std::string telling = std::string("\xFF\n\r -+.,0129eE/\\#\"<>nv") + '\0';
  for (const auto& [name, bytes] : samples()) {
    const int rounds = name == "k.model" ? 700 : 3000;
    for (int i = 0; i < rounds; ++i) {
      std::string damaged = bytes;
      const std::size_t at = random() % damaged.size();
      const char c =
          random() % 2 == 0 ? static_cast<char>(random() % 256) : telling[random() % telling.size()];
      switch (random() % 4) {
        case 0:
          damaged.erase(at, 1);
          break;
        case 1:
          damaged.insert(at, 1, c);
          break;
        default:
          damaged[at] = c;
      }
      CAPTURE(name);
      CAPTURE(i);
      survive(name, damaged);
    }
  }
}

TEST_CASE("runs of bytes repeated, moved and overwritten") {
  std::mt19937 random(77);
  const auto all = samples();
  for (int i = 0; i < 6000; ++i) {
    const auto& [name, bytes] = all[random() % (all.size() - 1)];
    std::string damaged = bytes;
    const std::size_t from = random() % bytes.size(), n = random() % 64;
    damaged.insert(random() % bytes.size(), bytes.substr(from, n));
    if (random() % 2 == 0) damaged.erase(random() % damaged.size(), random() % 64);
    CAPTURE(name);
    CAPTURE(i);
    survive(name, damaged);
  }
}

TEST_CASE("noise under every name") {
  std::mt19937 random(4);
  for (int i = 0; i < 3000; ++i) {
    std::string noise(random() % 300, '\0');
    const bool letters = random() % 2 == 0;
    for (char& c : noise) c = static_cast<char>(letters ? 32 + random() % 95 : random() % 256);
    for (const char* start : {"", "solid ", "ply\n", "OFF\n", "PK\x03\x04", "v 1 2 3\n"})
      for (const char* name : {"x.stl", "x.obj", "x.ply", "x.off", "x.3mf", "x"}) {
        survive(name, start + noise);
        survive_reader("a.stl", start + noise);
      }
  }
}

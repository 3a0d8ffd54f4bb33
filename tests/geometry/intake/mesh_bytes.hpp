// SPDX-License-Identifier: GPL-3.0-or-later
// Mesh files as byte strings, written independently of the readers, and ways to compare what was read.
#pragma once

#include <pourwright/intake.hpp>

#include "support/shapes.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdio>
#include <cstring>
#include <map>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <zip.h>

namespace mesh_bytes {

using namespace pourwright;

inline TriangleSoup cube() {
  return shapes::box({0, 0, 0}, {20, 12, 7});
}

/// Coordinates rounded to single precision. Through a volatile: g++ 12.2 -O2 vectorizes pairs of casts to
/// float and back into nothing.
inline TriangleSoup as_floats(TriangleSoup s) {
  for (Vec3& v : s.vertices)
    for (int axis = 0; axis < 3; ++axis) {
      const volatile float rounded = static_cast<float>(v[axis]);
      v[axis] = static_cast<double>(rounded);
    }
  return s;
}

inline Expected<MeshFile> read(const std::string& bytes, std::string_view name,
                               const IntakeOptions& options = {}) {
  return read_mesh_bytes(std::as_bytes(std::span(bytes.data(), bytes.size())), name, options);
}

/// Fails the test with the reader's own words when the file cannot be read.
inline MeshFile read_well(const std::string& bytes, std::string_view name,
                          const IntakeOptions& options = {}) {
  auto result = read(bytes, name, options);
  if (!result) FAIL(std::string(name) << ": " << result.error().text);
  return *std::move(result);
}

inline Problem refused(const std::string& bytes, std::string_view name, const IntakeOptions& options = {}) {
  const auto result = read(bytes, name, options);
  if (result) FAIL(std::string(name) << " was read, but should not be: " << bytes.substr(0, 500));
  CHECK_FALSE(result.error().text.empty());
  CHECK_FALSE(result.error().hint.empty());
  return result.error();
}

inline bool has_note(const MeshFile& file, std::string_view code) {
  return std::any_of(file.notes.begin(), file.notes.end(), [&](const Note& n) { return n.code == code; });
}

inline double volume(const TriangleSoup& s) {
  double sum = 0;
  for (const Triangle& t : s.triangles) sum += s.vertices[t[0]].dot(s.vertices[t[1]].cross(s.vertices[t[2]]));
  return sum / 6;
}

using Corners = std::array<std::array<double, 3>, 3>;
/// The triangles by coordinates, each starting at its least corner, in sorted order.
inline std::vector<Corners> triangle_set(const TriangleSoup& s) {
  std::vector<Corners> out;
  for (const Triangle& t : s.triangles) {
    Corners c{};
    for (std::size_t k = 0; k < 3; ++k)
      for (int axis = 0; axis < 3; ++axis)
        c[k][static_cast<std::size_t>(axis)] = s.vertices[t[k]][axis] + 0.0;
    std::rotate(c.begin(), std::min_element(c.begin(), c.end()), c.end());
    out.push_back(c);
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// What TriangleSoup promises: finite coordinates, indices in range, no two vertices equal, none unused.
inline void check_promises(const TriangleSoup& s) {
  std::vector<std::array<std::uint64_t, 3>> bits;
  for (const Vec3& v : s.vertices) {
    CHECK(v.allFinite());
    bits.push_back({std::bit_cast<std::uint64_t>(v[0]), std::bit_cast<std::uint64_t>(v[1]),
                    std::bit_cast<std::uint64_t>(v[2])});
    for (const std::uint64_t b : bits.back()) CHECK(b != std::uint64_t{1} << 63);
  }
  std::sort(bits.begin(), bits.end());
  CHECK(std::adjacent_find(bits.begin(), bits.end()) == bits.end());
  std::vector<bool> used(s.vertices.size());
  for (const Triangle& t : s.triangles)
    for (const Index v : t) {
      REQUIRE(v < s.vertices.size());
      used[v] = true;
    }
  CHECK(std::find(used.begin(), used.end(), false) == used.end());
}

// ---- writers --------------------------------------------------------------------------------------------

template <class T>
void put(std::string& out, T value, bool big = false) {
  std::array<char, sizeof(T)> bytes;
  std::memcpy(bytes.data(), &value, sizeof(T));
  if (big == (std::endian::native == std::endian::little)) std::reverse(bytes.begin(), bytes.end());
  out.append(bytes.data(), bytes.size());
}

template <class... Args>
std::string text(const char* format, Args... args) {
  std::array<char, 512> buffer;
  const int n = std::snprintf(buffer.data(), buffer.size(), format, args...);
  return std::string(buffer.data(), static_cast<std::size_t>(n));
}

inline std::string replaced(std::string s, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = s.find(from, at)) != std::string::npos; at += to.size())
    s.replace(at, from.size(), to);
  return s;
}

inline std::string stl_binary(const TriangleSoup& s, std::string header = "binary") {
  header.resize(80);
  std::string out = header;
  put(out, static_cast<std::uint32_t>(s.triangles.size()));
  for (const Triangle& t : s.triangles) {
    for (int k = 0; k < 3; ++k) put(out, 0.0f);
    for (const Index v : t)
      for (int axis = 0; axis < 3; ++axis) put(out, static_cast<float>(s.vertices[v][axis]));
    put(out, std::uint16_t{0});
  }
  return out;
}
inline std::string with_count(std::string stl, std::uint32_t count) {
  std::string number;
  put(number, count);
  return stl.replace(80, 4, number);
}

inline std::string stl_ascii(const TriangleSoup& s, const char* number = "%.9g",
                             const std::string& name = "thing") {
  std::string out = "solid " + name + "\n";
  for (const Triangle& t : s.triangles) {
    out += "  facet normal 0 0 0\n    outer loop\n";
    for (const Index v : t) {
      out += "      vertex";
      for (int axis = 0; axis < 3; ++axis) out += " " + text(number, s.vertices[v][axis]);
      out += "\n";
    }
    out += "    endloop\n  endfacet\n";
  }
  return out + "endsolid " + name + "\n";
}

inline std::string rows(const TriangleSoup& s, const std::string& vertex, const std::string& face,
                        std::uint32_t base) {
  std::string out;
  for (const Vec3& v : s.vertices) out += vertex + text("%.17g %.17g %.17g\n", v[0], v[1], v[2]);
  for (const Triangle& t : s.triangles)
    out += face + text("%u %u %u\n", t[0] + base, t[1] + base, t[2] + base);
  return out;
}
inline std::string obj(const TriangleSoup& s) {
  return rows(s, "v ", "f ", 1);
}
inline std::string off(const TriangleSoup& s) {
  return text("OFF\n%zu %zu 0\n", s.vertices.size(), s.triangles.size()) + rows(s, "", "3 ", 0);
}

inline std::string ply_head(const TriangleSoup& s, const std::string& format, const std::string& type) {
  return "ply\nformat " + format + " 1.0\ncomment made for a test\n" +
         text("element vertex %zu\n", s.vertices.size()) + "property " + type + " x\nproperty " + type +
         " y\nproperty " + type + " z\n" + text("element face %zu\n", s.triangles.size()) +
         "property list uchar int vertex_indices\nend_header\n";
}
inline std::string ply_ascii(const TriangleSoup& s) {
  return ply_head(s, "ascii", "double") + rows(s, "", "3 ", 0);
}
template <class T>
std::string ply_binary(const TriangleSoup& s, bool big) {
  std::string out =
      ply_head(s, big ? "binary_big_endian" : "binary_little_endian", sizeof(T) == 4 ? "float" : "double");
  for (const Vec3& v : s.vertices)
    for (int axis = 0; axis < 3; ++axis) put(out, static_cast<T>(v[axis]), big);
  for (const Triangle& t : s.triangles) {
    put(out, std::uint8_t{3});
    for (const Index v : t) put(out, static_cast<std::int32_t>(v), big);
  }
  return out;
}

inline std::string zip_of(const std::map<std::string, std::string>& entries) {
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* const whole = zip_source_buffer_create(nullptr, 0, 0, &error);
  REQUIRE(whole != nullptr);
  zip_source_keep(whole);
  zip_t* const archive = zip_open_from_source(whole, ZIP_TRUNCATE, &error);
  REQUIRE(archive != nullptr);
  for (const auto& [name, content] : entries) {
    zip_source_t* const source = zip_source_buffer(archive, content.data(), content.size(), 0);
    const zip_int64_t at = zip_file_add(archive, name.c_str(), source, ZIP_FL_ENC_UTF_8);
    REQUIRE(at >= 0);
    zip_file_set_mtime(archive, static_cast<zip_uint64_t>(at), 1'000'000'000, 0);
  }
  REQUIRE(zip_close(archive) == 0);
  REQUIRE(zip_source_open(whole) == 0);
  zip_stat_t about;
  zip_source_stat(whole, &about);
  std::string out(about.size, '\0');
  REQUIRE(zip_source_read(whole, out.data(), out.size()) == static_cast<zip_int64_t>(out.size()));
  zip_source_close(whole);
  zip_source_free(whole);
  return out;
}

inline std::string mf_mesh(const TriangleSoup& s) {
  std::string out = "<mesh><vertices>";
  for (const Vec3& v : s.vertices)
    out += text("<vertex x=\"%.17g\" y=\"%.17g\" z=\"%.17g\"/>", v[0], v[1], v[2]);
  out += "</vertices><triangles>";
  for (const Triangle& t : s.triangles)
    out += text("<triangle v1=\"%u\" v2=\"%u\" v3=\"%u\"/>", t[0], t[1], t[2]);
  return out + "</triangles></mesh>";
}
/// A model part; `resources` and `build` are what stands inside those elements.
inline std::string mf_model(const std::string& resources, const std::string& build,
                            const std::string& unit = " unit=\"millimeter\"") {
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model" + unit +
         " xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\""
         " xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\"><resources>" +
         resources + "</resources><build>" + build + "</build></model>";
}
inline std::string mf_relations(const std::string& target) {
  return "<Relationships "
         "xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Target=\"" +
         target +
         "\" Id=\"r\" "
         "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";
}
inline std::string three_mf(const std::string& model) {
  return zip_of({{"_rels/.rels", mf_relations("/3D/3dmodel.model")}, {"3D/3dmodel.model", model}});
}
inline std::string three_mf(const TriangleSoup& s) {
  return three_mf(
      mf_model("<object id=\"1\" type=\"model\">" + mf_mesh(s) + "</object>", "<item objectid=\"1\"/>"));
}

}  // namespace mesh_bytes

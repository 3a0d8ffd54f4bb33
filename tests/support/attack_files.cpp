// SPDX-License-Identifier: GPL-3.0-or-later
// Attack meshes as files, in the tidy and the odd ways in which programs write them.
#include "support/attack_parts.hpp"

#include <bit>

namespace attacks {
namespace {

template <class T>
void put(std::string& out, T value) {  // little-endian, as every machine this runs on
  out.append(reinterpret_cast<const char*>(&value), sizeof value);
}
static_assert(std::endian::native == std::endian::little);

float narrow(double v) {
  volatile float f = static_cast<float>(v);  // kept in memory: g++ 12 folds neighbouring conversions wrongly
  return f;
}

std::string binary_stl(const TriangleSoup& s) {
  std::string out(80, ' ');
  put(out, static_cast<std::uint32_t>(s.triangles.size()));
  for (const Triangle& t : s.triangles) {
    for (int k = 0; k < 3; ++k) put(out, 0.0F);
    for (const Index v : t)
      for (int k = 0; k < 3; ++k) put(out, narrow(s.vertices[v][k]));
    put(out, std::uint16_t{0});
  }
  return out;
}

std::string text_stl(const TriangleSoup& s, const char* number) {
  std::string out = "solid part\n";
  for (const Triangle& t : s.triangles) {
    out += "facet normal 0 0 0\n outer loop\n";
    for (const Index v : t) {
      out += "  vertex";
      for (int k = 0; k < 3; ++k) out += ' ' + text(number, s.vertices[v][k]);
      out += '\n';
    }
    out += " endloop\nendfacet\n";
  }
  return out + "endsolid part\n";
}

std::string loud(const std::string& quiet) {
  std::string out;
  int line = 0;
  for (const char c : quiet) {
    if (c == '\n')
      out += ++line % 7 == 0 ? "\r\n\r\n" : "\r\n";
    else if (c == ' ')
      out += line % 3 == 0 ? "\t " : " ";
    else
      out += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  }
  return out;
}

std::string ply(const TriangleSoup& s, bool binary) {
  std::string out = "ply\nformat " + std::string(binary ? "binary_little_endian" : "ascii") + " 1.0\n";
  out += text("element vertex %zu\n", s.vertices.size());
  for (const char* axis : {"x", "y", "z"}) out += text("property double %s\n", axis);
  out += text("element face %zu\nproperty list uchar int vertex_indices\nend_header\n", s.triangles.size());
  if (!binary) {
    for (const Vec3& v : s.vertices) out += text("%.17g %.17g %.17g\n", v.x(), v.y(), v.z());
    for (const Triangle& t : s.triangles) out += text("3 %u %u %u\n", t[0], t[1], t[2]);
    return out;
  }
  for (const Vec3& v : s.vertices)
    for (int k = 0; k < 3; ++k) put(out, v[k]);
  for (const Triangle& t : s.triangles) {
    put(out, std::uint8_t{3});
    for (const Index v : t) put(out, static_cast<std::int32_t>(v));
  }
  return out;
}

std::string obj(const TriangleSoup& s, bool backward) {
  std::string out = "# part\no part\n";
  for (const Vec3& v : s.vertices) out += text("v %.17g %.17g %.17g\n", v.x(), v.y(), v.z());
  if (backward) out += "vt 0 0\nvn 0 0 1\n";
  const auto n = static_cast<long>(s.vertices.size());
  for (const Triangle& t : s.triangles) {
    out += 'f';
    for (const Index v : t)
      out += backward ? text(" %ld/1/1", static_cast<long>(v) - n) : text(" %ld", static_cast<long>(v) + 1);
    out += '\n';
  }
  return out;
}

std::string off(const TriangleSoup& s, bool flat) {
  std::string out = (flat ? "OFF " : "OFF\n") + text("%zu %zu 0\n", s.vertices.size(), s.triangles.size());
  for (const Vec3& v : s.vertices)
    out += text("%.17g %.17g %.17g", v.x(), v.y(), v.z()) + (flat ? ' ' : '\n');
  if (flat) out += '\n';
  for (const Triangle& t : s.triangles) out += text("3 %u %u %u\n", t[0], t[1], t[2]);
  return out;
}

}  // namespace

std::string ending(Form form) {
  switch (form) {
    case Form::ply:
    case Form::text_ply:
      return ".ply";
    case Form::obj:
    case Form::backward_obj:
      return ".obj";
    case Form::off:
    case Form::flat_off:
      return ".off";
    default:
      return ".stl";
  }
}

std::string file_bytes(const Case& c) {
  switch (c.form) {
    case Form::binary_stl:
      return binary_stl(c.mesh);
    case Form::text_stl:
      return text_stl(c.mesh, "%.9g");
    case Form::short_stl:
      return text_stl(c.mesh, "%.3f");
    case Form::loud_stl:
      return loud(text_stl(c.mesh, "%.9g"));
    case Form::ply:
    case Form::text_ply:
      return ply(c.mesh, c.form == Form::ply);
    case Form::obj:
    case Form::backward_obj:
      return obj(c.mesh, c.form == Form::backward_obj);
    case Form::off:
    case Form::flat_off:
      return off(c.mesh, c.form == Form::flat_off);
  }
  return {};
}

}  // namespace attacks

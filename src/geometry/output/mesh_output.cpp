// SPDX-License-Identifier: GPL-3.0-or-later
// Bytes of a mesh file, the same on every machine: binary STL in single precision; binary PLY and OBJ text,
// whose doubles read back to the same bits.
#include <pourwright/mesh_output.hpp>

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>
#include <cmath>
#include <cstring>
#include <limits>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Appends the little-endian bytes of a number.
template <class Number>
void put(std::string& out, Number value) {
  std::array<char, sizeof value> bytes;
  std::memcpy(bytes.data(), &value, sizeof value);
  if constexpr (std::endian::native == std::endian::big) std::reverse(bytes.begin(), bytes.end());
  out.append(bytes.data(), bytes.size());
}

std::string stl(const TriangleSoup& mesh) {
  std::string out(80, ' ');
  out.replace(0, 10, "pourwright");
  out.reserve(84 + 50 * mesh.triangles.size());
  put(out, static_cast<std::uint32_t>(mesh.triangles.size()));
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    Vec3 n = (b - a).cross(c - a);
    const double length = n.norm();
    n = length > 0 ? Vec3(n / length) : Vec3::Zero();
    for (const Vec3* p : std::array<const Vec3*, 4>{&n, &a, &b, &c})
      for (int k = 0; k < 3; ++k) put(out, static_cast<float>((*p)[k]));
    put(out, std::uint16_t{0});
  }
  return out;
}

std::string ply(const TriangleSoup& mesh) {
  std::string out = fmt::format(
      "ply\nformat binary_little_endian 1.0\ncomment millimetres\nelement vertex {}\nproperty double "
      "x\nproperty double y\n"
      "property double z\nelement face {}\nproperty list uchar uint vertex_indices\nend_header\n",
      mesh.vertices.size(), mesh.triangles.size());
  out.reserve(out.size() + 24 * mesh.vertices.size() + 13 * mesh.triangles.size());
  for (const Vec3& p : mesh.vertices)
    for (int k = 0; k < 3; ++k) put(out, p[k]);
  for (const Triangle& t : mesh.triangles) {
    put(out, std::uint8_t{3});
    for (const Index v : t) put(out, v);
  }
  return out;
}

std::string obj(const TriangleSoup& mesh) {
  std::string out = "# millimetres\n";
  const auto number = [&](auto v) {
    std::array<char, 32> text;
    const auto end = std::to_chars(text.data(), text.data() + text.size(), v).ptr;
    out += ' ';
    out.append(text.data(), end);
  };
  for (const Vec3& p : mesh.vertices) {
    out += 'v';
    for (int k = 0; k < 3; ++k) number(p[k]);
    out += '\n';
  }
  for (const Triangle& t : mesh.triangles) {
    out += 'f';
    for (const Index v : t) number(v + 1);
    out += '\n';
  }
  return out;
}

}  // namespace

Expected<OutputFormat> output_format(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  for (char& c : ending)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  if (ending == ".stl") return OutputFormat::stl;
  if (ending == ".ply") return OutputFormat::ply;
  if (ending == ".obj") return OutputFormat::obj;
  return fail(Code::usage, fmt::format("“{}” does not end in a format that can be written", path.string()),
              "end the name in .stl, .ply or .obj");
}

std::string mesh_bytes(const TriangleSoup& mesh, OutputFormat format) {
  switch (format) {
    case OutputFormat::stl:
      return stl(mesh);
    case OutputFormat::ply:
      return ply(mesh);
    case OutputFormat::obj:
      return obj(mesh);
  }
  return {};
}

namespace {

/// Share of the volume of the box that rounding may move: ten times what a mesh near the origin loses.
constexpr double most_moved = 1e-5;

/// What moving every vertex by half a unit in the last place of the farthest coordinate may do to the volume,
/// as a share of the box's.
double lost_to_single_precision(const TriangleSoup& mesh, const Box& box) {
  const double farthest = std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff());
  double area = 0;
  for (const Triangle& t : mesh.triangles) {
    const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
    area += (b - a).cross(c - a).norm() / 2;
  }
  const double volume = box.size().prod();
  return volume > 0 ? farthest * 0x1p-24 * area / volume : 0;
}

}  // namespace

Expected<FittedBytes> fitted_bytes(TriangleSoup mesh, OutputFormat format) {
  FittedBytes out;
  const Box box = bounds(mesh);
  if (format == OutputFormat::stl && !box.empty() && lost_to_single_precision(mesh, box) > most_moved) {
    const Vec3 centre = box.centre();
    for (int k = 0; k < 3; ++k) out.moved[k] = -std::round(centre[k]);
    if (out.moved.allFinite())
      for (Vec3& p : mesh.vertices) p += out.moved;
  }
  const double largest = format == OutputFormat::stl ? static_cast<double>(std::numeric_limits<float>::max())
                                                     : std::numeric_limits<double>::max();
  for (const Vec3& p : mesh.vertices)
    if (!(p.cwiseAbs().maxCoeff() <= largest) || !p.allFinite())
      return fail(Code::coordinate_not_finite, "a coordinate of the mesh is too large for this format",
                  "write .ply or .obj, or say the unit (--unit)");
  out.bytes = mesh_bytes(mesh, format);
  return out;
}

}  // namespace pourwright

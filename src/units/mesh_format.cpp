// SPDX-License-Identifier: GPL-3.0-or-later
// Look-ups in the list of mesh formats. It stands on the ground floor because both wings name files.
#include <pourwright/mesh_format.hpp>

#include <array>
#include <vector>

namespace pourwright {

namespace {

constexpr std::array formats{
    MeshFormatInfo{MeshFormat::stl_binary, "binary STL", ".stl", true},
    MeshFormatInfo{MeshFormat::stl_ascii, "ASCII STL", "", true},
    MeshFormatInfo{MeshFormat::obj, "OBJ", ".obj", true},
    MeshFormatInfo{MeshFormat::ply, "PLY", ".ply", true},
    MeshFormatInfo{MeshFormat::off, "OFF", ".off", true},
    MeshFormatInfo{MeshFormat::three_mf, "3MF", ".3mf", true},
    MeshFormatInfo{MeshFormat::gltf, "glTF", ".gltf", false},
    MeshFormatInfo{MeshFormat::glb, "glTF", ".glb", false},
    MeshFormatInfo{MeshFormat::amf, "AMF", ".amf", false},
    MeshFormatInfo{MeshFormat::x3d, "X3D", ".x3d", false},
    MeshFormatInfo{MeshFormat::collada, "COLLADA", ".dae", false},
    MeshFormatInfo{MeshFormat::wide_text, "text in UTF-16 or UTF-32", "", true},
    MeshFormatInfo{MeshFormat::unknown, "unknown", "", true},
};

// A format is the number of its row.
static_assert([] {
  for (std::size_t i = 0; i < formats.size(); ++i)
    if (static_cast<std::size_t>(formats[i].format) != i) return false;
  return true;
}());

}  // namespace

std::span<const MeshFormatInfo> mesh_formats() {
  return formats;
}

const MeshFormatInfo& info_of(MeshFormat format) {
  return formats[static_cast<std::size_t>(format)];
}

std::string file_ending(std::string_view path) {
  const std::string_view name = path.substr(path.find_last_of('/') + 1);
  const std::size_t dot = name.find_last_of('.');
  if (dot == std::string_view::npos) return {};
  std::string ending(name.substr(dot));
  for (char& c : ending)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return ending;
}

MeshFormat promised_format(std::string_view ending) {
  for (const MeshFormatInfo& f : formats)
    if (!ending.empty() && f.ending == ending) return f.format;
  return MeshFormat::unknown;
}

std::string own_endings() {
  std::vector<std::string_view> endings;
  for (const MeshFormatInfo& f : formats)
    if (f.own && !f.ending.empty()) endings.push_back(f.ending);
  std::string out;
  for (std::size_t i = 0; i < endings.size(); ++i) {
    if (i > 0) out += i + 1 == endings.size() ? " or " : ", ";
    out += endings[i];
  }
  return out;
}

}  // namespace pourwright

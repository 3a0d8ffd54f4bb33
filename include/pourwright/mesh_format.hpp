// SPDX-License-Identifier: GPL-3.0-or-later
// The mesh formats and the endings of their files' names: the one list that walking folders, reading,
// messages and the names of molds go by. A name only promises a format; what a file holds decides (see
// intake.hpp).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace pourwright {

/// What a file may hold.
enum class MeshFormat : std::uint8_t {
  stl_binary,  ///< a header, a count, 50 bytes a triangle
  stl_ascii,   ///< facets in words
  obj,         ///< Wavefront, the geometry part
  ply,         ///< Stanford polygon format, text or binary of either byte order
  off,         ///< Geomview's oogl
  three_mf,    ///< 3MF Consortium, core specification: a ZIP archive of XML
  gltf,        ///< Khronos glTF 2.0, text
  glb,         ///< the same in one binary piece
  amf,         ///< ISO/ASTM 52915
  x3d,         ///< ISO/IEC 19775-1
  collada,     ///< Khronos COLLADA 1.4 and 1.5
  wide_text,   ///< UTF-16 or UTF-32: told from `unknown` because there is a better hint to give
  unknown,
};

/// One row of the list: a new format has one here, its reader stands in src/geometry/intake/.
struct MeshFormatInfo {
  MeshFormat format;
  std::string_view name;    ///< as messages say it
  std::string_view ending;  ///< lower case with the dot; may be empty
  bool own;                 ///< read or refused here; the others through Assimp, with --more-formats
};
/// In the order of the enum.
inline constexpr std::array mesh_formats{
    MeshFormatInfo{MeshFormat::stl_binary, "binary STL", ".stl", true},
    MeshFormatInfo{MeshFormat::stl_ascii, "ASCII STL", "", true},  // its ending is the other's
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

/// The row of a format.
const MeshFormatInfo& info_of(MeshFormat format);
/// ".stl" of "b/Tray.STL"; empty when there is none.
std::string file_ending(std::string_view path);
/// The format that an ending promises (binary STL for either kind of STL), or `unknown`.
MeshFormat promised_format(std::string_view ending);
/// The endings of what is read here, for messages: ".stl, .obj, .ply, .off or .3mf".
std::string own_endings();

}  // namespace pourwright

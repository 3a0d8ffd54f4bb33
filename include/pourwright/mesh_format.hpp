// SPDX-License-Identifier: GPL-3.0-or-later
// The mesh formats and the endings of their files' names: the one list that walking folders, reading,
// messages and the names of molds go by. A name only promises a format; what a file holds decides (see
// intake.hpp).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace pourwright {

/// What a file may hold. 3MF is a ZIP archive; glTF comes as text and, as GLB, in one piece.
enum class MeshFormat : std::uint8_t {
  stl_binary,
  stl_ascii,
  obj,
  ply,
  off,
  three_mf,
  gltf,
  glb,
  amf,
  x3d,
  collada,
  wide_text,  ///< is told from `unknown` because there is a better hint to give
  unknown,
};

/// One row of the list: a new format has one here and its reader in src/geometry/intake/.
struct MeshFormatInfo {
  MeshFormat format;
  std::string_view name;    ///< as messages say it
  std::string_view ending;  ///< lower case with the dot; may be empty
  bool own;                 ///< read or refused here; the others through Assimp, with --more-formats
};
/// All rows, in the order of the enum.
std::span<const MeshFormatInfo> mesh_formats();
/// The row of a format.
const MeshFormatInfo& info_of(MeshFormat format);
/// ".stl" of "b/Tray.STL"; empty when there is none.
std::string file_ending(std::string_view path);
/// The format that an ending promises (binary STL for either kind of STL), or `unknown`.
MeshFormat promised_format(std::string_view ending);
/// The endings of what is read here, for messages: ".stl, .obj, .ply, .off or .3mf".
std::string own_endings();

}  // namespace pourwright

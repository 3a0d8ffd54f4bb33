// SPDX-License-Identifier: GPL-3.0-or-later
// Which format a file is in: its content decides, its name only where the content leaves it open.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace pourwright::intake {

enum class FileKind : std::uint8_t {
  stl_binary,
  stl_ascii,
  obj,
  ply,
  off,
  zip,
  gltf,
  glb,
  amf,
  x3d,
  collada,    ///< through Assimp
  wide_text,  ///< text in UTF-16 or UTF-32
  unknown,
};

/// `head` is the file's first bytes (64 KB are plenty), `size` all of it, `ending` lower case with the dot.
FileKind sniff(std::string_view head, std::uint64_t size, std::string_view ending);

/// The kind a name's ending promises, or unknown.
FileKind kind_of_ending(std::string_view ending);
/// ".stl" of "Tray.STL"; empty when there is none.
std::string ending_of(std::string_view name);
bool needs_assimp(FileKind kind);
std::string_view format_name(FileKind kind);

}  // namespace pourwright::intake

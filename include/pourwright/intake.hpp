// SPDX-License-Identifier: GPL-3.0-or-later
// Mesh files to triangles. Own bounded readers for STL, PLY, OBJ, OFF and 3MF; further open formats through
// Assimp when asked for. No reader trusts a count in a file before the bytes that remain bear it out.
#pragma once

#include <pourwright/mesh.hpp>
#include <pourwright/mesh_format.hpp>

#include <filesystem>
#include <functional>
#include <optional>
#include <span>
#include <string>

namespace pourwright {

struct IntakeOptions {
  std::optional<LengthUnit> unit;  ///< overrides what the file says; millimetres when neither does
  /// Let Assimp read what the own readers do not: glTF, AMF, X3D, COLLADA. It runs in a forked child process,
  /// so no other thread may have been started yet.
  bool more_formats = false;
  std::size_t max_triangles = 200'000'000;
  std::size_t max_bytes = std::size_t{16} << 30;
};

enum class UnitFrom : std::uint8_t { assumed, option, file };

struct MeshFile {
  TriangleSoup soup;  ///< in millimetres
  MeshFormat format = MeshFormat::unknown;
  LengthUnit unit = LengthUnit::mm;
  UnitFrom unit_from = UnitFrom::assumed;
  std::size_t polygons = 0;  ///< faces with more than three corners that were triangulated
  Notes notes;
};

/// Reads one mesh file. The format is decided by content first, by the name's ending second. Only a regular
/// file is read, and never a second one. Time O(bytes); memory about 40 bytes per triangle, 60 for 3MF.
Expected<MeshFile> read_mesh_file(const std::filesystem::path& path, const IntakeOptions& options = {});

/// The same from bytes already in memory; `label` is used in messages, its ending as a hint of the format.
Expected<MeshFile> read_mesh_bytes(std::span<const std::byte> bytes, std::string_view label,
                                   const IntakeOptions& options = {});

/// Endings that `read_mesh_file` may be able to read, lower case with the dot, for walking folders.
bool looks_like_mesh_name(const std::filesystem::path& path);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles to the bytes of a mesh file, in millimetres.
#pragma once

#include <pourwright/mesh.hpp>

#include <filesystem>
#include <string>

namespace pourwright {

enum class OutputFormat : std::uint8_t {
  stl,  ///< binary; coordinates become 32-bit floats
  ply,  ///< binary little-endian, double
  obj,  ///< text; every double is written so that it is read back exactly
};

/// By the name's ending: .stl, .ply or .obj.
Expected<OutputFormat> output_format(const std::filesystem::path& path);

/// O(triangles). The same bytes for the same mesh on every machine.
std::string mesh_bytes(const TriangleSoup& mesh, OutputFormat format);

}  // namespace pourwright

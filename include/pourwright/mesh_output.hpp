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

/// A file's bytes, and how far the mesh was moved for them.
struct FittedBytes {
  std::string bytes;
  Vec3 moved = Vec3::Zero();  ///< mm, whole ones; zero when it stays where it is
};
/// The bytes of a mesh that its format can hold. Formats of single precision lose digits far from the origin:
/// where that may move the volume by more than a hundred-thousandth of the mesh's box, the mesh is moved to
/// the origin first. Fails when a coordinate is not finite, or not any more in the format's precision.
/// O(triangles).
Expected<FittedBytes> fitted_bytes(TriangleSoup mesh, OutputFormat format);

}  // namespace pourwright

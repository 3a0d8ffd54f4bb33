// SPDX-License-Identifier: GPL-3.0-or-later
// Meshes to measure speed on, and the file formats to write them in. Everything follows from the triangle
// count.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace bench {

struct Mesh {
  std::vector<std::array<float, 3>> vertices;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

/// "torus", "bowl" (level rings), "wavy" (a bowl whose wall has many small pits) or "box" (12 triangles).
/// Row by row, as most programs write; about `triangles` triangles.
Mesh make(const std::string& shape, std::size_t triangles);

/// By the name's ending: .stl (binary), .txt.stl (ASCII), .obj, .ply (binary). False when it cannot be
/// written.
bool write(const Mesh& mesh, const std::string& path);

}  // namespace bench

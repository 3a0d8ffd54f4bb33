// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/mesh.hpp>

#include <filesystem>
#include <fstream>

/// Every digit of a double survives.
inline void write_obj(const std::filesystem::path& path, const pourwright::TriangleSoup& soup) {
  std::ofstream out(path);
  out.precision(17);
  for (const pourwright::Vec3& p : soup.vertices)
    out << "v " << p.x() << ' ' << p.y() << ' ' << p.z() << '\n';
  for (const pourwright::Triangle& t : soup.triangles)
    out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << '\n';
}

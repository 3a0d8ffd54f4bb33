// SPDX-License-Identifier: GPL-3.0-or-later
// One function per format. Each reads the window from its start, trusts nothing in it, and returns
// millimetres.
#pragma once

#include <pourwright/intake.hpp>

#include "geometry/intake/byte_window.hpp"
#include "geometry/intake/face_collector.hpp"

#include <array>

namespace pourwright::intake {

/// Binary STL: 80 bytes of anything, a count, 50 bytes a triangle. Little-endian floats, welded as such.
Expected<MeshFile> read_stl_binary(ByteWindow& bytes, const Job& job);
Expected<MeshFile> read_stl_ascii(ByteWindow& bytes, const Job& job);
Expected<MeshFile> read_obj(ByteWindow& bytes, const Job& job);
Expected<MeshFile> read_ply(ByteWindow& bytes, const Job& job);
Expected<MeshFile> read_off(ByteWindow& bytes, const Job& job);

/// Which of them reads a format; 3MF and what Assimp reads are not among them.
struct Reader {
  MeshFormat format;
  Expected<MeshFile> (*read)(ByteWindow& bytes, const Job& job);
};
inline constexpr std::array readers{
    Reader{MeshFormat::stl_binary, read_stl_binary},
    Reader{MeshFormat::stl_ascii, read_stl_ascii},
    Reader{MeshFormat::obj, read_obj},
    Reader{MeshFormat::ply, read_ply},
    Reader{MeshFormat::off, read_off},
};

/// A 3MF package needs its bytes in any order: an open file, or memory when fd is −1.
struct Package {
  int fd = -1;
  std::uint64_t size = 0;
  std::span<const std::byte> memory;
};
Expected<MeshFile> read_three_mf(const Package& package, const Job& job);

}  // namespace pourwright::intake

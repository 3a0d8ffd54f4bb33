// SPDX-License-Identifier: GPL-3.0-or-later
// Formats that Assimp reads for us. It crashes on damaged files of several kinds, so it runs in a child
// process with limits on memory, time and open files; what comes back through the pipe is checked like any
// other file.
#pragma once

#include "geometry/intake/face_collector.hpp"
#include "geometry/intake/sniff.hpp"

#include <span>
#include <string_view>

namespace pourwright::intake {

bool assimp_built();

/// Vertices in the file's own unit and frame, node transforms applied, as one TriangleSoup of `format`
/// unknown. `importer` is a part of Assimp's own name of the one importer to use, `ending` the hint it gets.
/// Forks: no other thread may be running.
Expected<MeshFile> read_with_assimp(std::span<const std::byte> bytes, std::string_view importer,
                                    std::string_view ending, const Job& job, double scale);

/// glTF, AMF, X3D and COLLADA, in millimetres by the unit that the format or the file declares.
Expected<MeshFile> read_more(std::span<const std::byte> bytes, MeshFormat format, const Job& job);

}  // namespace pourwright::intake

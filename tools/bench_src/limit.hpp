// SPDX-License-Identifier: GPL-3.0-or-later
// The practical limit: the least code that takes a well-formed file to the volume of a closed, oriented mesh.
// It detects no format, doubts no byte and explains nothing, so a careful reader cannot be as fast; the ratio
// to it says what the care costs.
#pragma once

#include <cstddef>
#include <string>

namespace bench {

struct LimitResult {
  std::size_t triangles = 0, vertices = 0;
  bool closed = false;  ///< every edge exactly once each way
  double volume = 0;
  double read_s = 0, topology_s = 0, volume_s = 0;  ///< CPU
};

/// The format is taken from the name, as `write` in shapes.hpp chooses it.
LimitResult limit(const std::string& path);

/// CPU seconds of this process, in user and system mode.
double cpu_seconds();

}  // namespace bench

// SPDX-License-Identifier: GPL-3.0-or-later
// Which format a file is in: its content decides, its name only where the content leaves it open.
#pragma once

#include <pourwright/mesh_format.hpp>

#include <cstdint>
#include <string_view>

namespace pourwright::intake {

/// `head` is the file's first bytes (64 KB are plenty), `size` all of it, `ending` lower case with the dot.
MeshFormat sniff(std::string_view head, std::uint64_t size, std::string_view ending);

}  // namespace pourwright::intake

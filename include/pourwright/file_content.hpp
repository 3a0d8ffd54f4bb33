// SPDX-License-Identifier: GPL-3.0-or-later
// What a file is that is none of those this program reads: pictures, documents, archives, sound, by the bytes
// they begin with. A file that was renamed is called what it is instead of being blamed for its grammar.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace pourwright {

/// "a JPEG picture", "a gzip archive"; empty when nothing is known of it. `head` is the file's first bytes
/// (600 are enough for everything in the list), `size` all of it. O(head). Meshes are not in the list, and a
/// ZIP archive is named although a 3MF is one: ask for those first.
std::string_view content_name(std::string_view head, std::uint64_t size);

/// What to do about such a file where `wanted` was expected: "the 3D model", "the run file".
std::string content_hint(std::string_view content, std::string_view wanted);

}  // namespace pourwright

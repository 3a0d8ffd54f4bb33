// SPDX-License-Identifier: GPL-3.0-or-later
// Letters as lines of a pen.
#pragma once

#include <pourwright/drawing.hpp>

#include <string_view>
#include <vector>

namespace pourwright::drawing {

/// The lines of the pen for UTF-8 text that begins at `at`, on the line on which letters stand. A letter
/// that the lettering lacks is an empty box; malformed bytes are too.
std::vector<Ring> lettered(std::string_view text, At at, double size);
double pen_width(double size, bool bold);
/// Whether every letter of the text has a form of its own.
bool can_letter(std::string_view text);
/// Letters of UTF-8 text, malformed bytes as U+FFFD each.
std::vector<char32_t> letters_of(std::string_view text);

}  // namespace pourwright::drawing

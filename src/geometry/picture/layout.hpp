// SPDX-License-Identifier: GPL-3.0-or-later
// Marks, scales and words beside the views.
#pragma once

#include <pourwright/picture.hpp>

#include "geometry/picture/shade.hpp"

#include <string>

namespace pourwright::picture {

/// A part of the sheet, in points.
struct Place {
  double x = 0, y = 0, width = 0, height = 0;
};

enum class Mark { spill, vent, drain, thinnest };
/// The sign of a mark, at a place of the sheet.
void put_mark(drawing::Sheet& sheet, Mark mark, drawing::At at);

/// 1, 2 or 5 times a power of ten, at most `most`.
double round_length(double most);
/// Millimetres in words: "20 mm", "0.5 mm", "1.2 m".
std::string length_text(double mm, char decimal);
/// A number without more digits than `step` calls for.
std::string number_text(double v, double step, char decimal);

void put_words(drawing::Sheet& sheet, drawing::At at, double size, std::string text, const drawing::Ink& ink,
               drawing::Anchor anchor = drawing::Anchor::start, bool bold = false);
void put_line(drawing::Sheet& sheet, drawing::Ring line, const drawing::Stroke& stroke);
void put_box(drawing::Sheet& sheet, const Place& a, const drawing::Ink& fill,
             std::optional<drawing::Stroke> edge = {});
/// A bar as long as a round length, with what that is.
void put_scale(drawing::Sheet& sheet, drawing::At left, double points_per_mm, char decimal);
/// The tones with their thicknesses, the limit on them.
void put_tones(drawing::Sheet& sheet, const Place& a, double most, std::optional<double> limit,
               const PictureWords& words);

}  // namespace pourwright::picture

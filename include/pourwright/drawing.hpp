// SPDX-License-Identifier: GPL-3.0-or-later
// A drawing as plain values, and the two files made from it: PNG, painted here point by point, and SVG. It
// knows neither a triangle nor a gram: points on a page, inks and words.
//
// Laws: the same drawing gives the same bytes, on every run and whatever fonts the machine has, because
// letters are drawn with a lettering of our own (docs/algorithms/pictures.md). Words from outside are made
// harmless in both files. Lengths are points of the PNG; x runs right, y down, from the upper left corner.
#pragma once

#include <pourwright/problem.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace pourwright::drawing {

struct Ink {
  std::uint8_t r = 0, g = 0, b = 0;
  double alpha = 1;  ///< 0: not there, 1: hides what is below
  bool operator==(const Ink&) const = default;
};
/// From 0xRRGGBB.
constexpr Ink ink(std::uint32_t rgb, double alpha = 1) {
  return {static_cast<std::uint8_t>(rgb >> 16 & 255), static_cast<std::uint8_t>(rgb >> 8 & 255),
          static_cast<std::uint8_t>(rgb & 255), alpha};
}
/// `share` of b and the rest of a, channel by channel.
Ink mixed(const Ink& a, const Ink& b, double share);
/// Lightness L* of CIE 1976 (0 to 100) of an opaque sRGB ink under D65.
double lightness(const Ink& ink);

struct At {
  double x = 0, y = 0;
};
using Ring = std::vector<At>;

/// Points of colour, four bytes each (red, green, blue, opacity), row by row from the top.
struct Raster {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;
};

struct Stroke {
  drawing::Ink ink;
  double width = 1;
  double dash = 0;  ///< length of a dash and of the gap after it; 0: a whole line
};

/// Lines and areas. Where rings wind round a place more often one way than the other, it is inside.
struct Shape {
  std::vector<Ring> rings;
  bool closed = true;  ///< each ring returns to where it began
  std::optional<Ink> fill = {};
  std::optional<Stroke> edge = {};
  std::string says = {};  ///< what it is, for those who cannot see it; may be empty
};

/// A picture of points, put down without scaling.
struct Placed {
  int x = 0, y = 0;
  Raster raster;
  std::string says;
};

enum class Anchor : std::uint8_t { start, middle, end };

struct Words {
  At at;  ///< on the line on which letters stand
  double size = 16;
  std::string text;
  drawing::Ink ink;
  Anchor anchor = Anchor::start;
  bool bold = false;
};

struct Sheet {
  int width = 0, height = 0;
  Ink paper;
  std::string title, says;                                ///< for those who cannot see it
  std::vector<std::variant<Placed, Shape, Words>> items;  ///< later ones lie on top
};

/// Parallel lines `apart` from each other inside the rings, at `degrees` from level (counter-clockwise as
/// seen). The lines of all areas with the same angle continue each other.
std::vector<Ring> hatching(const std::vector<Ring>& rings, double degrees, double apart);
/// A circle of enough corners to look round.
Ring circle(At centre, double radius);
/// The width of a line of words in our own lettering.
double width_of(std::string_view text, double size, bool bold = false);
/// Cut in the middle, with "…" where something was left out, to be no wider than `width`.
std::string fitted(std::string_view text, double size, double width, bool bold = false);

/// O(points). The sheet as it is seen.
Raster painted(const Sheet& sheet);
/// Eight bits a channel, without a time stamp. Fails when there is not enough memory.
Expected<std::string> png_of(const Raster& raster);
/// UTF-8, without script, style sheet or anything fetched.
Expected<std::string> svg_of(const Sheet& sheet);

/// Colours for amounts, from little to much: lightness rises strictly along them, for eyes of every kind.
inline constexpr int tones = 64;
/// 0 … tones − 1; others are clamped.
Ink tone(int index);
/// Where `share` of the way from nothing to the most lies.
Ink tone_at(double share);

}  // namespace pourwright::drawing

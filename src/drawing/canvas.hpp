// SPDX-License-Identifier: GPL-3.0-or-later
// Points of colour that areas, lines and letters are laid on.
#pragma once

#include <pourwright/drawing.hpp>

#include <vector>

namespace pourwright::drawing {

class Canvas {
 public:
  Canvas(int width, int height, const Ink& paper);

  /// The area that the rings wind round, as much of each point as it covers.
  void fill(const std::vector<Ring>& rings, const Ink& ink);
  /// Lines with round ends and corners.
  void draw(const std::vector<Ring>& rings, bool closed, const Stroke& stroke);
  void place(const Placed& placed);
  void write(const Words& words);

  Raster take() { return std::move(raster_); }

 private:
  void blend(int x, int y, const Ink& ink, double share);

  Raster raster_;
};

}  // namespace pourwright::drawing

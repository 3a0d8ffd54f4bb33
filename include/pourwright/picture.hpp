// SPDX-License-Identifier: GPL-3.0-or-later
// A mold and what is cast in it, as a drawing: seen through from the side, from above, cut through, and the
// piece by its wall thickness. Drawn by rays; needs neither screen nor graphics card. Millimetres only.
// What is drawn how: docs/algorithms/pictures.md.
//
// Laws: the same values give the same drawing, bit for bit, for any number of jobs. The liquid stands where
// the given body of it ends, so its height in the section is its level.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/drawing.hpp>
#include <pourwright/mesh.hpp>
#include <pourwright/picture_words.hpp>

#include <optional>
#include <vector>

namespace pourwright {

/// Thickness of the cast piece at one place.
struct ThicknessAt {
  Vec3 at = Vec3::Zero(), normal = Vec3::UnitZ();
  double mm = 0;
  bool own = true;  ///< false: borrowed from beside an edge
};

struct PictureOf {
  TriangleSoup mold;      ///< as measured; of a piece, the piece; of a scan, its open surface
  TriangleSoup piece;     ///< what is cast in it, all bodies together; none in a piece file
  bool is_piece = false;  ///< `mold` is the piece itself
  bool open = false;      ///< the mold is a scan's open surface
  Vec3 up = Vec3::UnitZ();
  std::vector<Cavity> cavities;
  std::vector<Drain> drains;
  std::vector<ThicknessAt> thickness;  ///< none: not known
  bool thickness_of_mold = false;      ///< of `mold` instead of `piece`
  std::optional<Length> limit;         ///< thinner than this is thin
  std::optional<Point> thinnest;       ///< where
};

struct PictureOptions {
  int width = 1600, height = 1200;
  int jobs = 1;  ///< threads
};

/// O(points · log triangles). Fails when there is nothing to draw.
Expected<drawing::Sheet> draw_picture(const PictureOf& what, const PictureWords& words,
                                      const PictureOptions& options = {});

}  // namespace pourwright

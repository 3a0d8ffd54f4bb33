// SPDX-License-Identifier: GPL-3.0-or-later
// The words on a picture of a mold: the report writes them, the picture puts them in their places. So numbers
// and grams come through, and the picture reckons none of them.
#pragma once

#include <string>
#include <vector>

namespace pourwright {

struct PictureWords {
  std::string title;               ///< the file's name
  std::vector<std::string> under;  ///< lines under it: size, reading, what was assumed
  struct Figure {
    std::string label, value;
  };
  std::vector<Figure> figures;  ///< what is looked for first: how much it takes

  // Over the views.
  std::string mold, piece, top, section;
  // Of the scale of thickness.
  std::string thickness;  ///< "wall thickness, mm"
  std::string thin;       ///< "thinner than 3 mm"
  // Beside the marks; an empty one is not listed.
  std::string liquid, level, spill, vent, drain, thinnest, body;
  std::string cut;                 ///< of the line along which the section is taken
  std::vector<std::string> notes;  ///< at the foot: what could not be shown, and why
  char decimal = '.';
};

}  // namespace pourwright

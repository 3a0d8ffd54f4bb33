// SPDX-License-Identifier: GPL-3.0-or-later
// What the several bodies of a file are to each other: parts of one mold that lie apart, halves laid side by
// side, and bodies that play no part.
#pragma once

#include <pourwright/cavity.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// Bodies that would make one mold if they touched.
struct Apart {
  Length gap;    ///< between the faces that look at each other
  Volume holds;  ///< what they hold joined
};

struct Bodies {
  std::size_t count = 0;
  std::optional<Apart> apart;  ///< when joined they hold clearly more
  std::vector<Box> idle;       ///< of those that no filled cavity touches
  bool side_by_side = false;   ///< two that look like the halves of one mold, opened and laid down
};

/// "--gap 0.31mm": wide enough to join them.
std::string gap_option(const Apart& apart);

/// Of a body as it was proven, with what was found in it; gaps wider than `closed` are looked for.
Bodies look_at_bodies(const ClosedBody& body, const CavityResult& found, const CavityOptions& options,
                      Length closed);

}  // namespace pourwright

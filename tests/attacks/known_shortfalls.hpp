// SPDX-License-Identifier: GPL-3.0-or-later
// What the program is known to fall short of in the default run. A family that is not named falls short in
// nothing. What is cured is taken off the list; nothing is added to it to make a run pass.
#pragma once

#include <array>
#include <cstddef>

namespace known_shortfalls {

struct Shortfall {
  const char* family;
  std::size_t silent, refused_wrongly;  // of the default run's meshes
  const char* reason;
};

inline constexpr std::array list{
    Shortfall{"bricksdmg", 1, 1,
              "a cup that floats under the brim is not filled; a triangle missing among bricks"},
    Shortfall{"stack", 0, 1, "a triangle missing beside a shared face"},
    Shortfall{"laminate", 0, 1, "a triangle missing beside shared faces"},
    Shortfall{"dmgbodies", 0, 1, "a triangle missing beside touching faces"},
    Shortfall{"gapbox", 2, 0, "a channel stays where two gaps meet, and the mold is read as a piece"},
    Shortfall{"slabs", 1, 0, "a channel stays where two gaps meet, and the mold is read as a piece"},
    Shortfall{"plug", 2, 0, "slits between plug and ring of other facet counts drain the cavity"},
    Shortfall{"copies", 1, 0, "an inside-out body half out of another is no warning"},
    Shortfall{"facets", 1, 0, "a corner is invented beyond the plain closing of a missing triangle"},
    Shortfall{"cadfaces", 0, 1, "a rim that is missing whole between two shells"},
    Shortfall{"capped", 2, 0, "clean vertices silence the estimate of noise"},
    Shortfall{"scannoise", 1, 0, "noise alike over several edges is not seen"},
    Shortfall{"manybricks", 0, 2, "many bricks that touch, turned, do not unite"},
};

constexpr Shortfall total() {
  Shortfall sum{"all", 0, 0, ""};
  for (const Shortfall& s : list) {
    sum.silent += s.silent;
    sum.refused_wrongly += s.refused_wrongly;
  }
  return sum;
}

}  // namespace known_shortfalls

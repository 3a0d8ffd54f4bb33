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
    Shortfall{"laminate", 0, 1, "a triangle missing beside shared faces"},
    Shortfall{"scannoise", 1, 0, "noise alike over several edges is not seen"},
    Shortfall{"manybricks", 0, 1, "many bricks that touch, turned, do not unite"},
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

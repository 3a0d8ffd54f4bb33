// SPDX-License-Identifier: GPL-3.0-or-later
// What the program is known to fall short of, as shares of the meshes.
#pragma once

namespace known_shortfalls {

inline constexpr double silent = 1.0 / 81, refused_wrongly = 2.0 / 81, slow = 0;

}  // namespace known_shortfalls

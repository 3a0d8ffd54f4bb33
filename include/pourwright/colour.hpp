// SPDX-License-Identifier: GPL-3.0-or-later
// What a blend of pigments will look like when dry, from dried swatches of each pigment alone: a guess that
// saves test pours, never a promise. Method and its limits: docs/algorithms/colour.md.
#pragma once

#include <pourwright/recipe.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// The share of light sent back in each of three broad bands, 0 … 1, under daylight (D65): linear sRGB.
struct Colour {
  double red = 0, green = 0, blue = 0;
};

/// CIE 1976 L*a*b*, D65: how different two colours look.
struct Lab {
  double l = 0, a = 0, b = 0;
};

/// "#5f8a62", "#abc" or "lab(52 -18 14)". Colours that no surface shows are refused.
Expected<Colour> parse_colour(std::string_view text);
std::string hex(const Colour& colour);  ///< "#5f8a62", the nearest a screen shows
Lab lab(const Colour& colour);
Colour from_lab(const Lab& lab);
/// CIEDE2000: below 1 two pieces pass as the same, above 3 anyone sees the difference (common practice).
/// Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21–30.
double difference(const Lab& one, const Lab& other);

/// Kubelka and Munk: absorption over scattering of a layer nothing shines through, from the light it sends
/// back. `reflectance` in (0, 1].
double absorption(double reflectance);
double reflectance(double absorption);  ///< its inverse

/// How a damp piece of a porous material looks: its pores full of water send less light back.
/// Lekner and Dorf, Applied Optics 27 (1988) 1278–1280, water of refractive index 1.33.
Colour when_damp(const Colour& dry);

/// A dried piece of the mix with one pigment in it.
struct Swatch {
  PigmentDose pigment;
  Colour dried;
};

struct Blend {
  std::vector<PigmentDose> doses;
  Colour dried, damp;
  Notes notes;  ///< doses beyond their swatch
};

/// The dried colour of `base`, the mix without pigment, with all `doses` in it. Fails with unknown_name for a
/// pigment without a swatch and shares_invalid for a swatch without a dose.
Expected<Blend> blend(const Colour& base, const std::vector<Swatch>& swatches,
                      const std::vector<PigmentDose>& doses);

/// The doses, in hundredths of a per cent and together at most `ceiling`, whose blend comes nearest to
/// `target`. O(pigments² · steps); the same answer every time.
Expected<Blend> match(const Colour& base, const std::vector<Swatch>& swatches, const Colour& target,
                      Ratio ceiling);

}  // namespace pourwright

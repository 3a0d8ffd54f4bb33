// SPDX-License-Identifier: GPL-3.0-or-later
// Inks: mixing, CIE lightness, and the tones for amounts. Law: lightness rises strictly with the amount, also
// as protanopic, deuteranopic and tritanopic eyes see it (simulated after G. M. Machado and others, IEEE
// Trans. Vis. Comput. Graph. 15(6), 2009, in the test). Lightness: CIE 15:2004, sRGB: IEC 61966-2-1.
#include <pourwright/drawing.hpp>

#include <algorithm>
#include <array>
#include <cmath>

namespace pourwright::drawing {
namespace {

/// From plum through brick and clay to a pale reed green: hue helps whom it can, lightness tells everybody.
constexpr std::array<std::uint32_t, 9> steps = {0x35112f, 0x591b3f, 0x7f2d43, 0xa04743, 0xba6546,
                                                0xcc8754, 0xd6ab6f, 0xdbcf98, 0xe6efcc};

double linear(std::uint8_t channel) {
  const double c = channel / 255.0;
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

std::uint8_t between(std::uint8_t a, std::uint8_t b, double share) {
  return static_cast<std::uint8_t>(std::lround(a + (b - a) * share));
}

}  // namespace

Ink mixed(const Ink& a, const Ink& b, double share) {
  return {between(a.r, b.r, share), between(a.g, b.g, share), between(a.b, b.b, share),
          a.alpha + (b.alpha - a.alpha) * share};
}

double lightness(const Ink& ink) {
  const double y = 0.2126 * linear(ink.r) + 0.7152 * linear(ink.g) + 0.0722 * linear(ink.b);
  return y > 216.0 / 24389 ? 116 * std::cbrt(y) - 16 : 24389.0 / 27 * y;
}

Ink tone(int index) {
  const double way = std::clamp(index, 0, tones - 1) * (steps.size() - 1.0) / (tones - 1);
  const auto k = std::min(static_cast<std::size_t>(way), steps.size() - 2);
  return mixed(ink(steps[k]), ink(steps[k + 1]), way - static_cast<double>(k));
}

Ink tone_at(double share) {
  if (!(share > 0)) return tone(0);
  return tone(static_cast<int>(std::min(share, 1.0) * (tones - 1) + 0.5));
}

}  // namespace pourwright::drawing

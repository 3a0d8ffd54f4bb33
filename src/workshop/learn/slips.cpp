// SPDX-License-Identifier: GPL-3.0-or-later
// The slips of a bench, from those that leave an exact trace (a unit) to those that leave none (a spill).
#include "workshop/learn/slips.hpp"

#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::learn {
namespace {

struct UnitSlip {
  double factor;  ///< what was read, over what is true
  std::string_view words;
};
constexpr double ounce = 28.349523125, pound = 453.59237;
constexpr std::array units{UnitSlip{1 / ounce, "ounces typed as grams"},
                           UnitSlip{ounce, "grams typed as ounces"},
                           UnitSlip{1 / pound, "pounds typed as grams"},
                           UnitSlip{pound, "grams typed as pounds"},
                           UnitSlip{1e-3, "kilograms typed as grams"},
                           UnitSlip{1e3, "grams typed as kilograms"},
                           UnitSlip{10, "a decimal point too far to the right"},
                           UnitSlip{0.1, "a decimal point too far to the left"}};

bool near(double a, double b, double within) {
  return std::abs(a / b - 1) <= within;
}

}  // namespace

std::string likely_slip(Weighed what, double read, double expected, double grams, int copies,
                        const std::vector<OtherMold>& others) {
  if (!(read > 0) || !(expected > 0)) return {};
  const double times = read / expected;
  for (const UnitSlip& u : units)
    if (near(times, u.factor, 0.08)) return std::string(u.words);
  for (const OtherMold& m : others)
    if (near(read, m.holds, 0.04)) return fmt::format("another mold: it fits “{}”", m.name);
  if (what != Weighed::cup)
    for (int n = 1; n <= 12; ++n) {
      if (n == copies || !near(times, static_cast<double>(n) / copies, 0.06)) continue;
      return fmt::format("{} {} rather than {}", n, n == 1 ? "copy" : "copies", copies);
    }
  const double over = (read - expected) * grams;
  if (over > 2 && times < 4)
    return fmt::format("a tare left in: {:.0f} g too much, as an empty {} would weigh", over,
                       what == Weighed::water ? "mold"
                       : what == Weighed::cup ? "cup"
                                              : "bucket");
  if (times < 1 && what == Weighed::water) return "not filled to the brim";
  if (times < 1 && what == Weighed::pour)
    return "the cup weighed along with what was left, or molds not filled";
  if (times < 1) return "a cup not filled to its mark";
  return {};
}

}  // namespace pourwright::learn

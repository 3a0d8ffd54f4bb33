// SPDX-License-Identifier: GPL-3.0-or-later
// The words of the enums at the door: what JSON, pages and messages call them. Law: one word for one value,
// never renamed, and no second place that spells them.
#include <pourwright/door.hpp>

#include <cstddef>

namespace pourwright {
namespace {

template <class E, std::size_t N>
std::string_view word(const std::array<std::string_view, N>& words, E value) {
  return words.at(static_cast<std::size_t>(value));
}

}  // namespace

std::string_view name(UnitFrom from) {
  static constexpr std::array<std::string_view, 3> words{"assumed", "option", "file"};
  return word(words, from);
}

std::string_view name(Reading reading) {
  static constexpr std::array<std::string_view, 3> words{"mold", "piece", "scan"};
  return word(words, reading);
}

std::string_view name(CavityKind kind) {
  static constexpr std::array<std::string_view, 3> words{"open", "pool", "sealed"};
  return word(words, kind);
}

std::string_view name(DrainKind kind) {
  static constexpr std::array<std::string_view, 2> words{"bottom", "side"};
  return word(words, kind);
}

std::string_view name(ThinKind kind) {
  static constexpr std::array<std::string_view, 5> words{"fin", "lip", "neck", "plate", "tip"};
  return word(words, kind);
}

std::string_view name(WallsOf whose) {
  static constexpr std::array<std::string_view, 2> words{"piece", "mold"};
  return word(words, whose);
}

std::string_view name(Opening opening) {
  static constexpr std::array<std::string_view, 3> words{"fill-plane", "flat-top", "nowhere"};
  return word(words, opening);
}

std::string_view name(Mending what) {
  static constexpr std::array<std::string_view, 17> words{
      "doubled-faces", "shared-faces", "flat-faces",   "t-junctions",    "cracks",        "inner-sheets",
      "flipped-faces", "fragments",    "loose-sheets", "table",          "missing-sides", "holes-closed",
      "wrapped",       "gap-closed",   "united",       "copies-dropped", "shells-turned"};
  return word(words, what);
}

}  // namespace pourwright

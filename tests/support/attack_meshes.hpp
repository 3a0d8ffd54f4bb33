// SPDX-License-Identifier: GPL-3.0-or-later
// Meshes with known truth that are made to break the measuring: bodies that touch, cross or nearly fit, faces
// that are missing in shapes of few triangles, scans whose noise is not everywhere, unusual places, sizes and
// files. Every mesh follows from its family and a seed.
#pragma once

#include "support/shapes.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace attacks {

using pourwright::Index;
using pourwright::Triangle;
using pourwright::TriangleSoup;
using pourwright::Vec3;

enum class Expect : std::uint8_t { answer, refuse, either };

/// How the triangles are written down.
enum class Form : std::uint8_t {
  binary_stl,  ///< single precision, corners unshared
  text_stl,    ///< nine digits
  short_stl,   ///< text with three decimals
  loud_stl,    ///< text in capitals, tabs, blank lines and CR LF
  ply,         ///< binary, double
  text_ply,
  obj,           ///< seventeen digits
  backward_obj,  ///< indices counted back from the end, with texture and normal slots
  off,
  flat_off,  ///< counts in the first line, all vertices in one line
};

struct Case {
  std::string family, name, note;
  TriangleSoup mesh;  ///< as written, damage and all
  Form form = Form::binary_stl;
  std::optional<double> solid, capacity;  ///< mm³; all cavities together
  std::vector<double> alternatives;       ///< other capacities that are right as well
  double tolerance = 1e-5;                ///< relative: what rounding and facets leave open
  Expect expect = Expect::answer;
  std::vector<std::string> options;
  std::optional<double> least_wall, median_wall;  ///< mm

  /// For checks of the truth: the closed bodies before damage, turning and rounding, as they stand when
  /// poured; the union of them is the solid. Empty where the truth has no such form.
  std::vector<TriangleSoup> clean;
};

/// Names in the order in which a set goes through them.
const std::vector<std::string>& families();

/// `family` is one of families().
Case make(std::string_view family, std::uint32_t seed);

/// `count` meshes, every family in turn, or of one family alone.
std::vector<Case> make_set(std::uint32_t seed, std::size_t count, std::string_view family = {});

/// The bytes of the file, and the ending its name needs.
std::string file_bytes(const Case& c);
std::string ending(Form form);

}  // namespace attacks

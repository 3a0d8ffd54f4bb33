// SPDX-License-Identifier: GPL-3.0-or-later
// From a test's triangles to a proven solid and its cavities.
#pragma once

#include <pourwright/cavity.hpp>

#include "support/rotations.hpp"
#include "support/shapes.hpp"

#include <doctest/doctest.h>

inline pourwright::SolidResult proven(pourwright::TriangleSoup soup) {
  auto r = pourwright::prove_solid(pourwright::make_surface(std::move(soup)));
  REQUIRE_MESSAGE(r.has_value(), (r ? std::string() : r.error().text));
  return std::move(*r);
}
inline pourwright::Solid solid_of(pourwright::TriangleSoup soup) {
  return proven(std::move(soup)).solid;
}

inline double volume_of(const pourwright::Solid& s) {
  return in_cubic_millimetres(s.volume().value);
}
inline double capacity_of(const pourwright::Cavity& c) {
  return in_cubic_millimetres(c.capacity.value);
}

/// Cavities whose own checks are clean and that come without a warning.
inline pourwright::Cavities clean_cavities(const pourwright::Solid& solid,
                                           const pourwright::CavityOptions& options = {}) {
  pourwright::CavityOptions asked = options;
  asked.look_further = false;
  auto r = pourwright::find_cavities(solid, asked);
  REQUIRE(r.has_value());
  for (const pourwright::Cavity& c : r->cavities.list()) CHECK(c.residual < 1e-12);
  for (const pourwright::Note& n : r->notes) CHECK_MESSAGE(!n.warning, n.text);
  return r->cavities;
}

/// The whole tree, floor detail included.
inline pourwright::Cavities every_cavity(const pourwright::Solid& solid,
                                         const pourwright::Vec3& up = pourwright::Vec3::UnitZ()) {
  pourwright::CavityOptions options;
  options.up = up;
  options.floor_detail = 0;
  return clean_cavities(solid, options);
}

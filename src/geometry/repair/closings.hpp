// SPDX-License-Identifier: GPL-3.0-or-later
// One hole closed: by the planes round it, between its creases, or bent to follow the surface.
#pragma once

#include "geometry/repair/creases.hpp"
#include "geometry/repair/fillings.hpp"

namespace pourwright::mending {

/// Half width of a flat closing of what must have been flat, as a share of area × extent: molds' sides bulge
/// by less than a thousandth of their length.
constexpr double doubt_of_side = 1e-3;

struct Closing {
  Filling chosen;
  std::vector<Triangle> flat;  ///< the alternative; empty when there is none worth a difference
  double change = 0;           ///< volume of the chosen against the flat
  double doubt = 0;            ///< half width
  bool creased = false;        ///< sharp edges were continued across it
  bool plane = false;          ///< made of the planes round it
  bool side = false;           ///< the border is where a flat side met the others
};

/// Between the closing and `origin`, mm³.
double volume_under(const std::vector<Vec3>& loop, const Vec3& origin, const Filling& f);

/// Whether the border is where a flat side met the others: it is nearly flat and they stand steeply on it.
bool is_missing_side(const BorderLine& line);

/// `fans` are those of `w`. O(n³) for up to 200 edges, else about linear.
Closing close_hole(const Workpiece& w, const Fans& fans, const BorderLine& line);

}  // namespace pourwright::mending

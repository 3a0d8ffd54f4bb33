// SPDX-License-Identifier: GPL-3.0-or-later
// Damaged surfaces as the steps of a repair see them.
#pragma once

#include "geometry/mesh/vertex_welder.hpp"
#include "geometry/repair/workpiece.hpp"
#include "support/shapes.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>

namespace workpieces {

using namespace pourwright;
using mending::Workpiece;

inline Workpiece piece(TriangleSoup soup) {
  weld_in_place(soup.vertices, soup.triangles);
  const double size = bounds(soup).size().norm();
  return {std::move(soup.vertices), std::move(soup.triangles), size, {}};
}

inline const RepairStep* step(const Workpiece& w, std::string_view code) {
  for (const RepairStep& s : w.steps)
    if (s.code == code) return &s;
  return nullptr;
}
inline std::size_t count(const Workpiece& w, std::string_view code) {
  const RepairStep* s = step(w, code);
  return s == nullptr ? 0 : s->count;
}

inline Census census(const Workpiece& w) {
  return make_surface({w.vertices, w.triangles}).census;
}

inline double enclosed(const Workpiece& w) {
  double six = 0;
  for (const Triangle& t : w.triangles) six += w.vertices[t[0]].dot(w.vertices[t[1]].cross(w.vertices[t[2]]));
  return six / 6;
}

/// Without the triangles of these numbers.
inline TriangleSoup lacking(TriangleSoup s, std::initializer_list<std::size_t> gone) {
  std::size_t kept = 0;
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    if (std::find(gone.begin(), gone.end(), t) == gone.end()) s.triangles[kept++] = s.triangles[t];
  s.triangles.resize(kept);
  return s;
}

/// A block a × b × c with one corner, at (a, b, c), cut off `cut` mm along each edge. The cut is the last
/// triangle.
inline TriangleSoup chamfered(double a, double b, double c, double cut) {
  const Vec3 x(a - cut, b, c), y(a, b - cut, c), z(a, b, c - cut);
  const auto at = [&](int i, int j, int k) { return Vec3(i * a, j * b, k * c); };
  shapes::Builder m;
  m.quad(at(0, 0, 0), at(0, 1, 0), at(1, 1, 0), at(1, 0, 0));
  m.quad(at(0, 0, 0), at(1, 0, 0), at(1, 0, 1), at(0, 0, 1));
  m.quad(at(0, 1, 0), at(0, 0, 0), at(0, 0, 1), at(0, 1, 1));
  m.quad(at(0, 0, 1), at(1, 0, 1), y, x);  // the three faces beside the cut
  m.triangle(at(0, 0, 1), x, at(0, 1, 1));
  m.quad(at(1, 0, 0), at(1, 1, 0), z, y);
  m.triangle(at(1, 0, 0), y, at(1, 0, 1));
  m.quad(at(1, 1, 0), at(0, 1, 0), at(0, 1, 1), x);
  m.triangle(at(1, 1, 0), x, z);
  m.triangle(x, y, z);
  TriangleSoup s = m.take();
  // Faces out: z is the lowest of the cut's corners.
  const Triangle& t = s.triangles.back();
  if ((s.vertices[t[1]] - s.vertices[t[0]]).cross(s.vertices[t[2]] - s.vertices[t[0]]).sum() < 0)
    std::swap(s.triangles.back()[1], s.triangles.back()[2]);
  return s;
}

}  // namespace workpieces

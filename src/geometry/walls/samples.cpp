// SPDX-License-Identifier: GPL-3.0-or-later
// Places spread over a surface by area, along a sequence of low discrepancy (M. Roberts, 2018). Law: the same
// triangles in the same order give the same places, and moving or turning them moves the places with them.
#include "geometry/walls/samples.hpp"

#include "geometry/mesh/sums.hpp"

#include <cmath>

namespace pourwright::thickness {
namespace {

/// A point of the triangle for a point of the unit square, area for area.
Vec3 in_triangle(const Vec3& a, const Vec3& b, const Vec3& c, double u, double v) {
  if (u + v > 1) {
    u = 1 - u;
    v = 1 - v;
  }
  return a + u * (b - a) + v * (c - a);
}

}  // namespace

Places spread_places(const Skin& skin, std::size_t count) {
  const auto vertices = skin.vertices();
  const auto triangles = skin.triangles();
  Sum total;
  for (Index i = 0; i < triangles.size(); ++i) total.add(skin.facet(i).area);
  Places out;
  out.area = total.value();
  if (!(out.area > 0)) return out;
  out.list.reserve(count);
  // The sequence with the least discrepancy known in the plane: the two powers of the plastic number's
  // inverse (M. Roberts, 2018; a Kronecker sequence).
  constexpr double first = 0.7548776662466927, second = 0.5698402909980532;
  const double share = out.area / static_cast<double>(count);
  Sum passed;
  for (Index i = 0; i < triangles.size(); ++i) {
    const Triangle& t = triangles[i];
    passed.add(skin.facet(i).area);
    while (out.list.size() < count && (static_cast<double>(out.list.size()) + 0.5) * share < passed.value()) {
      const auto k = static_cast<double>(out.list.size() + 1);
      const Vec3 at = in_triangle(vertices[t[0]], vertices[t[1]], vertices[t[2]],
                                  k * first - std::floor(k * first), k * second - std::floor(k * second));
      out.list.push_back({at, i});
    }
  }
  return out;
}

}  // namespace pourwright::thickness

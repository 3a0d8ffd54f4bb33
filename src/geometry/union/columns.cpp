// SPDX-License-Identifier: GPL-3.0-or-later
// The volume of what surfaces wrap at least once, along vertical lines: for what cannot be united. It needs
// no topology at all, only that each surface is closed.
#include "geometry/union/columns.hpp"

#include <pourwright/union.hpp>

#include "geometry/mesh/sums.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright {
namespace uniting {

double wrapped_volume(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                      const Box& box, int n) {
  const Vec3 size = box.size();
  std::vector<VerticalLine> lines;
  lines.reserve(static_cast<std::size_t>(n) * static_cast<std::size_t>(n));
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      const Vec3 p = box.low + Vec3(size.x() * (i + 0.5) / n, size.y() * (j + 0.5) / n, 0);
      lines.push_back({p, p});
    }
  struct Crossing {
    Index line;
    int sign;
    double z;
  };
  std::vector<Crossing> crossings;
  for_each_crossing(vertices, triangles, lines, [&](Index l, Index t, int sign) {
    const Triangle& c = triangles[t];
    const Vec3 &a = vertices[c[0]], u = vertices[c[1]] - a, v = vertices[c[2]] - a;
    const Vec3 d = u.cross(v), p = lines[l].at - a;
    const double z = -(d.x() * p.x() + d.y() * p.y()) / d.z();
    const double low = std::min({0.0, u.z(), v.z()}), high = std::max({0.0, u.z(), v.z()});
    crossings.push_back({l, sign, a.z() + std::clamp(std::isfinite(z) ? z : 0.0, low, high)});
  });
  std::sort(crossings.begin(), crossings.end(), [](const Crossing& x, const Crossing& y) {
    return x.line != y.line ? x.line < y.line : x.z > y.z;  // from above
  });
  Sum length;
  int winding = 0;
  for (std::size_t i = 0; i + 1 < crossings.size(); ++i) {
    winding += crossings[i].sign;
    if (crossings[i].line != crossings[i + 1].line)
      winding = 0;
    else if (winding > 0)
      length.add(crossings[i].z - crossings[i + 1].z);
  }
  return length.value() * size.x() * size.y() / n / n;
}

}  // namespace uniting

Interval<Volume> volume_by_columns(const Surface& surface) {
  const auto columns = [&](int n) {
    return uniting::wrapped_volume(surface.vertices, surface.triangles, surface.box, n);
  };
  const double coarse = columns(367), fine = columns(571);  // primes: no pattern of the surface meets both
  // The error of sampled area falls faster than the step, so the two differ by more than half the finer one's
  // error; three times the difference, and never less than a column's width along the outline could hide.
  const double half = std::max(3 * std::abs(fine - coarse), 1e-4 * fine);
  Interval<Volume> out{
      cubic_millimetres(fine), cubic_millimetres(fine - half), cubic_millimetres(fine + half), {}};
  out.reasons.push_back({"overlapping surfaces measured by columns", fine > 0 ? half / fine : 0});
  return out;
}

}  // namespace pourwright

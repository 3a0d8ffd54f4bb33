// SPDX-License-Identifier: GPL-3.0-or-later
// Noise taken out of a closed surface. Law: a pass that averages is followed by one that swells, which leaves
// long waves as they are and takes short ones away (G. Taubin, Proc. SIGGRAPH 1995).
#include <pourwright/noise.hpp>

#include <algorithm>
#include <cmath>
#include <utility>

namespace pourwright {
namespace {

constexpr int rounds = 15;
/// Waves longer than some eight edges pass: 1/average + 1/swell = 0.1.
constexpr double average = 0.5, swell = -1 / (1 / 0.5 - 0.1);

/// Every vertex by `weight` of the way to the middle of its neighbours; an edge of two triangles counts twice
/// for both its ends, so all neighbours count alike.
void move_to_middle(std::vector<Vec3>& points, const std::vector<Triangle>& triangles, double weight) {
  std::vector<Vec3> sum(points.size(), Vec3::Zero());
  std::vector<double> count(points.size(), 0);
  for (const Triangle& t : triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Index a = t[k], b = t[(k + 1) % 3];
      sum[a] += points[b];
      sum[b] += points[a];
      count[a] += 1;
      count[b] += 1;
    }
  for (std::size_t i = 0; i < points.size(); ++i)
    if (count[i] > 0) points[i] += weight * (sum[i] / count[i] - points[i]);
}

}  // namespace

Smoothed smoothed(Surface surface) {
  TriangleSoup soup{surface.vertices, surface.triangles};
  for (int k = 0; k < rounds; ++k) {
    move_to_middle(soup.vertices, soup.triangles, average);
    move_to_middle(soup.vertices, soup.triangles, swell);
  }
  double square = 0;
  for (std::size_t i = 0; i < soup.vertices.size(); ++i)
    square += (soup.vertices[i] - surface.vertices[i]).squaredNorm();
  const double count = static_cast<double>(std::max<std::size_t>(1, soup.vertices.size()));
  // Two of three directions run along the surface and say nothing of it.
  const Length moved = millimetres(std::sqrt(square / count / 3));
  return {make_surface(std::move(soup)), moved};
}

}  // namespace pourwright

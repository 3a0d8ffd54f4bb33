// SPDX-License-Identifier: GPL-3.0-or-later
// A block eaten out at random: caves, tunnels, arches, floating pieces. Level set of a sum of waves, by
// marching tetrahedra (A. Doi, A. Koide, An efficient method of triangulating equi-valued surfaces, 1991).
#pragma once

#include "support/shapes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

namespace support {

/// `cells` along each side of a cube of `size` mm. Closed, outward-facing, no edge with more than two
/// triangles.
inline pourwright::TriangleSoup random_solid(std::uint32_t seed, int cells, double size) {
  using pourwright::Vec3;
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> unit(0, 1);
  struct Wave {
    Vec3 turn;
    double phase;
  };
  std::vector<Wave> waves;
  for (int i = 0; i < 24; ++i) {
    Vec3 d;
    for (int k = 0; k < 3; ++k) d[k] = 2 * unit(random) - 1;
    waves.push_back({d.normalized() * (6 + 10 * unit(random)), 2 * shapes::pi * unit(random)});
  }
  const int n = cells + 1;
  const auto number = [&](int i, int j, int k) { return (k * n + j) * n + i; };
  const auto point = [&](int i, int j, int k) { return Vec3(Vec3(i, j, k) * (size / cells)); };
  std::vector<double> f(static_cast<std::size_t>(n * n * n));  // positive inside
  for (int k = 0; k < n; ++k)
    for (int j = 0; j < n; ++j)
      for (int i = 0; i < n; ++i) {
        const Vec3 p = point(i, j, k) / size;
        double sum = 4.5 - 5 * p.z();  // less and less material upwards
        for (const Wave& w : waves) sum += std::cos(w.turn.dot(p) + w.phase) / 2;
        const bool border = std::min({i, j, k}) == 0 || std::max({i, j, k}) == cells;
        f[static_cast<std::size_t>(number(i, j, k))] = border ? -1 : sum;
      }
  shapes::Builder out;
  struct Corner {
    int number;
    Vec3 at;
    double f;
  };
  const auto cut = [](Corner a, Corner b) {  // the same from both sides
    if (a.number > b.number) std::swap(a, b);
    const double t = std::clamp(a.f / (a.f - b.f), 0.05, 0.95);
    return Vec3(a.at + t * (b.at - a.at));
  };
  // Six tetrahedra round the diagonal of each cell: one for each order of the axes.
  const std::array<std::array<int, 3>, 6> orders{
      {{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {2, 1, 0}, {1, 0, 2}}};
  for (int k = 0; k < cells; ++k)
    for (int j = 0; j < cells; ++j)
      for (int i = 0; i < cells; ++i)
        for (std::size_t o = 0; o < 6; ++o) {
          std::array<int, 3> at{i, j, k};
          std::vector<Corner> in, rest;
          std::array<Corner, 4> c;
          for (std::size_t s = 0; s < 4; ++s) {
            if (s > 0) ++at[static_cast<std::size_t>(orders[o][s - 1])];
            const int v = number(at[0], at[1], at[2]);
            c[s] = {v, point(at[0], at[1], at[2]), f[static_cast<std::size_t>(v)]};
            (c[s].f > 0 ? in : rest).push_back(c[s]);
          }
          // Faces look away from the corners that are inside.
          const auto face = [&](const Vec3& a, const Vec3& b, const Vec3& d) {
            if ((b - a).cross(d - a).dot(in[0].at - a) < 0)
              out.triangle(a, b, d);
            else
              out.triangle(a, d, b);
          };
          if (in.size() == 1) face(cut(in[0], rest[0]), cut(in[0], rest[1]), cut(in[0], rest[2]));
          if (in.size() == 3) face(cut(in[0], rest[0]), cut(in[1], rest[0]), cut(in[2], rest[0]));
          if (in.size() == 2) {
            const Vec3 p = cut(in[0], rest[0]), q = cut(in[0], rest[1]), r = cut(in[1], rest[1]),
                       s = cut(in[1], rest[0]);
            face(p, q, r);
            face(p, r, s);
          }
        }
  return out.take();
}

}  // namespace support

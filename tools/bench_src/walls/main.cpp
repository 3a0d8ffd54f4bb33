// SPDX-License-Identifier: GPL-3.0-or-later
// Thickness of bodies that have one by formula. tools/bench starts it, one measurement per process.
//
//   pw_bench_walls make BODY TRIANGLES OUT   slab, shell, rod or ring of about so many triangles
//   pw_bench_walls measure FILE              the library's thickness, with building its tree
#include <pourwright/intake.hpp>
#include <pourwright/mesh_output.hpp>
#include <pourwright/walls.hpp>

#include "../cpu_time.hpp"
#include "support/shapes.hpp"

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>

namespace {

using namespace pourwright;

/// Both sides of a slab of 100 × 80 × 4 in squares, its rim in rows as high as the squares are wide.
TriangleSoup slab(double triangles) {
  const int n = static_cast<int>(std::ceil(std::sqrt(triangles / 4 / 0.87)));
  const int across = static_cast<int>(std::lround(0.8 * n)),
            up = std::max(1, static_cast<int>(std::lround(0.04 * n)));
  const auto sides = [](double length, int steps) {
    std::vector<double> at;
    for (int i = 0; i <= steps; ++i) at.push_back(length * i / steps);
    return at;
  };
  return shapes::bricks(sides(100, n), sides(80, across), sides(4, up), [](int, int, int) { return true; });
}

/// Two balls about one centre, 15 and 12.
TriangleSoup shell(double triangles) {
  const int n = static_cast<int>(std::lround(std::sqrt(triangles / 2)));
  return shapes::joined({shapes::sphere(15, n), shapes::turned(shapes::sphere(12, n))});
}

/// 6 thick, 80 long, the rounds as far apart as their segments are wide.
TriangleSoup rod(double triangles) {
  const int n = static_cast<int>(std::lround(std::sqrt(triangles * 6 * shapes::pi / 80 / 2)));
  std::vector<shapes::Station> profile{{0, 0}};
  const int rows = static_cast<int>(std::lround(80 / (6 * shapes::pi) * n));
  for (int i = 0; i <= rows; ++i) profile.push_back({3, 80.0 * i / rows});
  profile.push_back({0, 80});
  return shapes::revolve(profile, n);
}

/// A ring of 60 round the middle of a section 12 thick.
TriangleSoup ring(double triangles) {
  const int n = static_cast<int>(std::lround(std::sqrt(triangles / 10)));
  std::vector<shapes::Station> circle;
  for (int i = 0; i < n; ++i)
    circle.push_back({30 + 6 * std::cos(2 * shapes::pi * i / n), 6 * std::sin(2 * shapes::pi * i / n)});
  return shapes::revolve(circle, 5 * n, true);
}

int make(const std::string& body, double triangles, const std::string& out) {
  TriangleSoup soup;
  if (body == "slab") soup = slab(triangles);
  if (body == "shell") soup = shell(triangles);
  if (body == "rod") soup = rod(triangles);
  if (body == "ring") soup = ring(triangles);
  const auto format = output_format(out);
  if (soup.triangles.empty() || !format) return 1;
  std::ofstream(out, std::ios::binary) << mesh_bytes(soup, *format);
  return 0;
}

int measured(const std::string& path) {
  auto file = read_mesh_file(path);
  if (!file) return 1;
  auto solid = prove_solid(make_surface(std::move(file->soup)), {false});
  if (!solid) return 1;
  WallsOptions options;
  options.find_spots = false;
  const double before = bench::cpu_seconds();
  const auto walls = measure_walls(solid->solid, options);
  const double took = bench::cpu_seconds() - before;
  if (!walls) return 1;
  std::printf(
      "{\"walls_s\": %.6f, \"triangles\": %zu, \"values\": %zu, \"min_mm\": %.6f, \"median_mm\": %.6f}\n",
      took, solid->solid.triangles().size(), walls->samples, in_millimetres(walls->min),
      in_millimetres(walls->median));
  return 0;
}

}  // namespace

int main(int count, char** words) {
  const std::string what = count > 2 ? words[1] : "";
  if (what == "make" && count == 5) return make(words[2], std::strtod(words[3], nullptr), words[4]);
  if (what == "measure" && count == 3) return measured(words[2]);
  std::fprintf(stderr, "pw_bench_walls make BODY TRIANGLES OUT | measure FILE\n");
  return 64;
}

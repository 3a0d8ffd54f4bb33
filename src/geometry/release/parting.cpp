// SPDX-License-Identifier: GPL-3.0-or-later
// Two parts that move apart along an axis: what neither can leave is found by rays from places spread evenly
// over the surface.
#include "geometry/mesh/ray_scene.hpp"
#include "geometry/release/wall.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pourwright::release {
namespace {

struct Place {
  Vec3 at, normal;
};

/// As many places to every square millimetre, in order of the triangles; where in a triangle follows the
/// golden ratio, so that the same mesh gives the same places.
std::vector<Place> spread(const Wall& wall, std::size_t count) {
  double total = 0;
  for (const double a : wall.area) total += a;
  std::vector<Place> out;
  out.reserve(count);
  const double each = total / static_cast<double>(count);
  double passed = 0;
  for (std::size_t t = 0; t < wall.triangles.size() && out.size() < count; ++t) {
    passed += wall.area[t];
    while (out.size() < count && (static_cast<double>(out.size()) + 0.5) * each < passed) {
      const double n = static_cast<double>(out.size() + 1);
      double u = std::fmod(n * 0.7548776662466927, 1.0), v = std::fmod(n * 0.5698402909980532, 1.0);
      if (u + v > 1) {
        u = 1 - u;
        v = 1 - v;
      }
      const auto& [a, b, c] = wall.triangles[t];
      const Vec3 &pa = wall.vertices[a], &pb = wall.vertices[b], &pc = wall.vertices[c];
      out.push_back({pa + u * (pb - pa) + v * (pc - pa), wall.normal[t]});
    }
  }
  return out;
}

/// Share of the places that cannot be left along the axis either way.
double blocked(const RayScene& scene, const std::vector<Place>& places, const Vec3& axis, double size) {
  const double off = 1e-5 * size;
  std::size_t caught = 0;
  for (const Place& p : places) {
    const double facing = p.normal.dot(axis);
    const Vec3 from = p.at + off * p.normal;
    const auto free = [&](double sign) { return !scene.first_hit(from, sign * axis).has_value(); };
    const bool along = std::abs(facing) <= std::sin(level_radians);
    const bool leaves = along ? free(1) || free(-1) : free(facing > 0 ? 1 : -1);
    caught += leaves ? 0 : 1;
  }
  return static_cast<double>(caught) / static_cast<double>(places.size());
}

/// An even cover of half the sphere, the axes, and the normals of the largest faces.
std::vector<Vec3> candidates(const Wall& wall, const Vec3& first_try) {
  std::vector<Vec3> out{first_try, Vec3::UnitX(), Vec3::UnitY(), Vec3::UnitZ()};
  std::vector<Index> largest(wall.triangles.size());
  for (Index t = 0; t < largest.size(); ++t) largest[t] = t;
  const std::size_t few = std::min<std::size_t>(12, largest.size());
  std::partial_sort(largest.begin(), largest.begin() + static_cast<std::ptrdiff_t>(few), largest.end(),
                    [&](Index a, Index b) {
                      return wall.area[a] > wall.area[b] || (wall.area[a] == wall.area[b] && a < b);
                    });
  for (std::size_t i = 0; i < few; ++i) out.push_back(wall.normal[largest[i]]);
  constexpr int count = 60;
  for (int i = 0; i < count; ++i) {
    const double z = (i + 0.5) / count, r = std::sqrt(1 - z * z);
    const double turn = i * std::numbers::pi * (3 - std::sqrt(5.0));
    out.emplace_back(r * std::cos(turn), r * std::sin(turn), z);
  }
  std::erase_if(out, [](const Vec3& d) { return d.norm() < 0.5; });
  return out;
}

}  // namespace

Parting search_parting(const Wall& wall, const RayScene& scene, const Vec3& first_try) {
  const std::vector<Place> few = spread(wall, 500), many = spread(wall, 6'000);
  std::vector<std::pair<double, Vec3>> tries;
  for (const Vec3& d : candidates(wall, first_try)) tries.emplace_back(blocked(scene, few, d, wall.size), d);
  const std::pair<double, Vec3> first = tries[0];
  std::stable_sort(tries.begin(), tries.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  tries.resize(std::min<std::size_t>(tries.size(), 6));
  tries.insert(tries.begin(), first);
  Parting best;
  best.share = 2;
  for (const auto& [share, d] : tries) {
    const double s = blocked(scene, many, d, wall.size);
    // Another axis must be worth the trouble.
    if (s < best.share - 2e-3) {
      best.share = s;
      best.axis = d;
    }
  }
  double total = 0;
  for (const double a : wall.area) total += a;
  best.undercut = square_millimetres(best.share * total);
  best.samples = many.size();
  return best;
}

}  // namespace pourwright::release

// SPDX-License-Identifier: GPL-3.0-or-later
// Rays from the wall of the filled cavities into the material: how far the outside is, and whether it runs
// the same way. Law: places are spread evenly by area and the same every time; nothing depends on the unit.
#include "pipeline/wall_shape.hpp"

#include "geometry/mesh/ray_scene.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace pourwright {
namespace {

constexpr std::size_t places = 400;
/// Normals of inside and outside this near to opposite run along each other: 25°.
constexpr double opposite = -0.906;
/// And no nearer or farther than by this factor than usual.
constexpr double as_far = 2;
constexpr double upright_sine = 0.035;  // 2°
constexpr double level_cosine = 0.999;
constexpr double most_lean_cosine = 0.966;  // 15°

double area_of(const ClosedBody& body, const Triangle& t) {
  const auto& v = body.vertices();
  return (v[t[1]] - v[t[0]]).cross(v[t[2]] - v[t[0]]).norm() / 2;
}
Vec3 normal_of(const ClosedBody& body, const Triangle& t) {
  const auto& v = body.vertices();
  const Vec3 n = (v[t[1]] - v[t[0]]).cross(v[t[2]] - v[t[0]]);
  return n.norm() > 0 ? Vec3(n / n.norm()) : Vec3(Vec3::Zero());
}

struct Place {
  Vec3 at = Vec3::Zero();
  Index triangle = none;
};

/// Below the brims, evenly by area; where in its triangle each lies follows a sequence that never clusters
/// (M. Roberts' R2: powers of the plastic number).
std::vector<Place> spread(const ClosedBody& body, const CavityResult& found, const Vec3& up) {
  double area = 0;
  for (const Cavity& c : found.cavities.list())
    if (c.filled)
      for (const Index t : found.cavities.wall(c.id)) area += area_of(body, body.triangles()[t]);
  std::vector<Place> out;
  double passed = 0, next = 0.5;
  double a = 0.5, b = 0.5;
  for (const Cavity& c : found.cavities.list()) {
    if (!c.filled) continue;
    for (const Index t : found.cavities.wall(c.id)) {
      const Triangle& corners = body.triangles()[t];
      passed += area_of(body, corners) / area * static_cast<double>(places);
      for (; next < passed; next += 1) {
        a = std::fmod(a + 0.7548776662466927, 1.0);
        b = std::fmod(b + 0.5698402909980532, 1.0);
        const bool over = a + b > 1;
        const double u = over ? 1 - a : a, w = over ? 1 - b : b;
        const auto& v = body.vertices();
        const Vec3 at =
            v[corners[0]] + u * (v[corners[1]] - v[corners[0]]) + w * (v[corners[2]] - v[corners[0]]);
        if (at.dot(up) <= in_millimetres(c.brim)) out.push_back({at, t});
      }
    }
  }
  return out;
}

struct Behind {
  double thickness = 0;
  bool along = false;
};

std::vector<Behind> look_behind(const ClosedBody& body, const RayScene& scene, const std::vector<Place>& from,
                                const std::vector<bool>& wet) {
  std::vector<Behind> out;
  for (const Place& p : from) {
    const Vec3 n = normal_of(body, body.triangles()[p.triangle]);
    if (n.isZero()) continue;
    const auto hit = scene.first_exit(p.at, -n);
    if (!hit) continue;
    out.push_back({hit->distance, !wet[hit->triangle] && scene.normal(hit->triangle).dot(n) < opposite});
  }
  return out;
}

int most_equal(const CavityResult& found) {
  std::vector<double> held;
  for (const Cavity& c : found.cavities.list())
    if (c.filled) held.push_back(in_cubic_millimetres(c.capacity.value));
  std::sort(held.begin(), held.end());
  int most = 0;
  for (std::size_t i = 0, first = 0; i < held.size(); ++i) {
    while (held[i] > held[first] * 1.01) ++first;
    most = std::max(most, static_cast<int>(i - first) + 1);
  }
  return most;
}

/// Which way its rim faces, where that is a lean and no other way to stand.
Vec3 square_to_rim(const ClosedBody& body, const CavityResult& found, const Vec3& up) {
  const Cavity* most = nullptr;
  for (const Cavity& c : found.cavities.list())
    if (c.filled && (most == nullptr || c.capacity.value > most->capacity.value)) most = &c;
  if (most == nullptr) return up;
  const auto normal = rim_normal(body.vertices(), found.cavities.wetted(most->id).middle, up);
  return normal && normal->dot(up) > most_lean_cosine ? *normal : up;
}

}  // namespace

std::optional<WallShape> wall_shape(const ClosedBody& body, const CavityResult& found,
                                    const Vec3& direction) {
  // Sides stand upright when they are square to the rim: a mold that leans is still a block.
  const Vec3 up = square_to_rim(body, found, direction.normalized());
  std::vector<bool> wet(body.triangles().size());
  double round = 0, highest = -1e300, depth = 0;
  for (const Cavity& c : found.cavities.list()) {
    if (!c.filled) continue;
    for (const Index t : found.cavities.wall(c.id)) wet[t] = true;
    // Round a circle of the same area: a square is an eighth longer.
    round += 2 * std::sqrt(std::numbers::pi * in_square_millimetres(c.opening));
    highest = std::max(highest, in_millimetres(c.brim));
    depth = std::max(depth, in_millimetres(c.brim - c.floor));
  }
  const std::vector<Place> from = spread(body, found, direction.normalized());
  const auto scene = RayScene::build(body.vertices(), body.triangles());
  if (from.empty() || !scene) return std::nullopt;
  std::vector<Behind> behind = look_behind(body, *scene, from, wet);
  if (behind.empty()) return std::nullopt;
  const auto middle = behind.begin() + static_cast<std::ptrdiff_t>(behind.size() / 2);
  std::nth_element(behind.begin(), middle, behind.end(),
                   [](const Behind& a, const Behind& b) { return a.thickness < b.thickness; });
  const double wall = middle->thickness;
  WallShape out;
  out.wall = millimetres(wall);
  for (const Behind& b : behind)
    if (b.along && b.thickness < wall * as_far && b.thickness > wall / as_far)
      out.along += 1.0 / static_cast<double>(behind.size());
  double sides = 0, upright = 0, rim = 0;
  for (std::size_t t = 0; t < wet.size(); ++t) {
    if (wet[t]) continue;
    const Triangle& corners = body.triangles()[t];
    const double area = area_of(body, corners), steep = normal_of(body, corners).dot(up);
    if (std::abs(steep) < level_cosine) {
      sides += area;
      if (std::abs(steep) < upright_sine) upright += area;
    } else if (steep > 0 &&
               body.vertices()[corners[0]].dot(direction.normalized()) > highest - 0.05 * depth) {
      rim += area;
    }
  }
  out.upright = sides > 0 ? upright / sides : 0;
  if (round > 0 && wall > 0) out.rim = rim / round / wall;
  out.equal = most_equal(found);
  return out;
}

}  // namespace pourwright

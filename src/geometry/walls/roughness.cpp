// SPDX-License-Identifier: GPL-3.0-or-later
// Takes the noise of a scan out of a surface and leaves its edges: normals first, then vertices to fit them.
#include "geometry/walls/roughness.hpp"

#include <pourwright/noise.hpp>

#include "geometry/walls/skin.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace pourwright::thickness {
namespace {

/// Of an edge, and in mm: what is finer moves no thickness by more than its rounding and the samples' places
/// do.
constexpr double least_slope = 0.003, always_counts = 0.02;

}  // namespace

Roughness measure_roughness(const Skin& skin) {
  const Noise noise = find_noise(skin.vertices(), skin.triangles());
  const double sigma = in_millimetres(noise.spread), edge = in_millimetres(noise.edge);
  if (sigma < std::min(least_slope * edge, always_counts)) return {};
  return {sigma, edge, in_millimetres(noise.reach)};
}

namespace {

using Normal = Eigen::Vector3f;

/// One round of averaging: each normal with those round its corners, the more the more they agree with it.
void average(const Fans& fans, std::span<const Triangle> triangles, const std::vector<Normal>& from,
             std::vector<Normal>& to, float least) {
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Normal own = from[t];
    const Normal unit = own.normalized();
    Normal sum = own;
    for (const Index v : triangles[t])
      for (const Index u : fans.at(v)) {
        const Normal& n = from[u];
        // |n| is the area: large triangles weigh more.
        const float agree = std::max(unit.dot(n) - least * n.norm(), 0.0F);
        sum += agree * n;
      }
    const float length = sum.norm(), area = own.norm();
    to[t] = length > 0 ? Normal(sum * (area / length)) : own;
  }
}

/// Where edges are hardly longer than the roughness triangles fold over and have no normals to speak of.
/// Vertices there move towards their ring, near neighbours first.
void unfold(const Fans& fans, std::span<const Triangle> triangles, double sigma, std::vector<Vec3>& points) {
  std::vector<Vec3> moved = points;
  for (int i = 0; i < 8; ++i) {
    for (Index v = 0; v < points.size(); ++v) {
      Vec3 sum = Vec3::Zero();
      double weights = 0, shortest = 1e300;
      for (const Index t : fans.at(v))
        for (const Index w : triangles[t]) {
          if (w == v) continue;
          const double d2 = (points[w] - points[v]).squaredNorm();
          const double weight = 1 / (d2 + sigma * sigma);
          shortest = std::min(shortest, d2);
          sum += weight * points[w];
          weights += weight;
        }
      moved[v] = shortest < 9 * sigma * sigma ? Vec3((points[v] + sum / weights) / 2) : points[v];
    }
    points.swap(moved);
  }
}

}  // namespace

/// Normals first, then vertices to fit them: Y. Zheng, H. Fu, O. K.-C. Au, C.-L. Tai, IEEE Trans. Vis.
/// Comput. Graph. 17, 2011; X. Sun, P. L. Rosin, R. R. Martin, F. C. Langbein, same journal 13, 2007.
std::vector<Vec3> without_roughness(const Skin& skin, const Roughness& roughness) {
  const auto vertices = skin.vertices();
  const auto triangles = skin.triangles();
  const Fans& fans = skin.fans();
  std::vector<Vec3> now(vertices.begin(), vertices.end());
  unfold(fans, triangles, roughness.sigma, now);
  std::vector<Normal> normals, next(triangles.size());
  normals.reserve(triangles.size());
  for (const Triangle& t : triangles) {
    const Vec3& a = now[t[0]];
    normals.push_back((now[t[1]] - a).cross(now[t[2]] - a).cast<float>());
  }
  const double slope = 1.5 * roughness.sigma / std::max({roughness.edge, roughness.reach, 1e-9});
  const double wide = std::clamp(3 * std::atan(slope) + 0.2, 0.25, 1.3), narrow = std::min(wide, 0.6);
  // The steeper the noise, the more it takes.
  const double steep = std::min(std::max(slope - 0.08, 0.0), 0.4);
  const int rounds = 6 + static_cast<int>(40 * steep), steps = 10 + static_cast<int>(80 * steep);
  for (int i = 0; i < rounds; ++i) {
    average(fans, triangles, normals, next,
            static_cast<float>(std::cos(wide + (narrow - wide) * i / (rounds - 1))));
    normals.swap(next);
  }
  for (Normal& n : normals) n.normalize();
  std::vector<Vec3> moved = now;
  for (int i = 0; i < steps; ++i) {
    for (Index v = 0; v < now.size(); ++v) {
      Vec3 shift = Vec3::Zero();
      const auto round = fans.at(v);
      for (const Index u : round) {
        const Triangle& t = triangles[u];
        const Vec3 n = normals[u].cast<double>();
        shift += n * n.dot((now[t[0]] + now[t[1]] + now[t[2]]) / 3 - now[v]);
      }
      moved[v] = round.empty() ? now[v] : Vec3(now[v] + shift / static_cast<double>(round.size()));
    }
    now.swap(moved);
  }
  return now;
}

}  // namespace pourwright::thickness

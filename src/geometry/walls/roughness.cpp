// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/walls/roughness.hpp"

#include "geometry/walls/skin.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace pourwright::thickness {
namespace {

double median(std::vector<double>& v) {
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

/// The ring of triangles round one vertex, summed up.
struct Ring {
  double normals = 0;  ///< how long they are together
  double height = 0;
  int count = 0;
};

/// Seeds, the vertices round them, and the rings of all of these.
struct Survey {
  std::vector<std::pair<Index, Index>> pairs;  ///< seed and neighbour, as places in `rings`
  std::vector<Index> vertex;                   ///< of each ring
  std::vector<Ring> rings;
};

Survey survey(const Skin& skin) {
  constexpr std::size_t seeds = 3000;
  const auto vertices = skin.vertices();
  const std::size_t stride = std::max<std::size_t>(1, vertices.size() / seeds);
  Survey s;
  std::vector<Index> place(vertices.size(), none);
  const auto take = [&](Index v) {
    if (place[v] == none) {
      place[v] = static_cast<Index>(s.vertex.size());
      s.vertex.push_back(v);
    }
    return place[v];
  };
  // The corners of the triangles round a vertex that follow it.
  const auto each_next = [&](Index v, auto&& visit) {
    for (const Index u : skin.fans().at(v)) {
      const Triangle& t = skin.triangles()[u];
      visit(u, t[0] == v ? t[1] : t[1] == v ? t[2] : t[0]);
    }
  };
  for (std::size_t v = 0; v < vertices.size(); v += stride)
    each_next(static_cast<Index>(v),
              [&](Index, Index next) { s.pairs.emplace_back(take(static_cast<Index>(v)), take(next)); });
  std::vector<Eigen::Vector3f> normals(vertices.size(), Eigen::Vector3f::Zero());
  const auto normal = [&](Index v) -> const Eigen::Vector3f& {
    Eigen::Vector3f& n = normals[v];
    if (n.x() == 0 && n.y() == 0 && n.z() == 0) {
      Eigen::Vector3f sum = Eigen::Vector3f::Zero();
      for (const Index u : skin.fans().at(v)) sum += skin.facet(u).normal;
      n = sum.normalized();
    }
    return n;
  };
  // How far the vertex stands out from its ring beyond what the turn of the normals between them accounts
  // for: on a ball (n + m)·(p − q) is nothing at all.
  for (const Index a : s.vertex) {
    Ring r;
    const Eigen::Vector3f own = normal(a);
    Eigen::Vector3f sum = Eigen::Vector3f::Zero();
    each_next(a, [&](Index triangle, Index b) {
      sum += skin.facet(triangle).normal;
      ++r.count;
      // A neighbour on an edge has a normal of its own.
      const Eigen::Vector3f& n = normal(b);
      const Vec3 both = (own + (own.dot(n) > 0.87F ? n : own)).cast<double>();
      r.height += both.dot(vertices[a] - vertices[b]) / 2;
    });
    r.normals = sum.norm();
    s.rings.push_back(r);
  }
  return s;
}

}  // namespace

Roughness measure_roughness(const Skin& skin) {
  const Survey s = survey(skin);
  const auto vertices = skin.vertices();
  std::vector<double> height(s.rings.size(), 0.0);
  std::vector<bool> smooth(s.rings.size());
  for (std::size_t i = 0; i < s.rings.size(); ++i) {
    const Ring& r = s.rings[i];
    smooth[i] = r.count >= 3 && r.normals > 0.8 * r.count;
    height[i] = r.height / r.count;
  }
  Vec3 middle = Vec3::Zero();
  for (const Vec3& v : vertices) middle += v;
  middle /= static_cast<double>(vertices.size());
  double spread = 0;
  for (const Vec3& v : vertices) spread += (v - middle).squaredNorm();
  const double across = 2 * std::sqrt(spread / static_cast<double>(vertices.size()));
  const auto judge = [&](bool only_smooth, std::size_t least) {
    std::vector<double> steps, edges;
    std::size_t turns = 0;
    for (const auto& [a, b] : s.pairs) {
      if (only_smooth && (!smooth[a] || !smooth[b])) continue;
      steps.push_back(std::abs(height[a] - height[b]));
      edges.push_back((vertices[s.vertex[a]] - vertices[s.vertex[b]]).norm());
      turns += height[a] * height[b] < 0;
    }
    Roughness out;
    if (steps.size() < std::max<std::size_t>(50, least)) return out;
    out.edge = median(edges);
    // Of independent vertices with rings of six: the heights of neighbours differ by about 1.6 σ, and 59 % of
    // the edges turn; what is left of a clean surface's shape turns along hardly any, or along fewer than
    // half.
    const double sigma = median(steps) / (0.6745 * 1.6);
    // What is large against the body is its shape; what is finer than a tenth of a millimetre is so on small
    // bodies only.
    const double least_seen = std::min(0.003 * out.edge, 0.02);
    const double shape = std::clamp(0.1, 0.004 * across, 0.012 * across);
    if (2 * turns > steps.size() && sigma > least_seen && sigma < shape) out.sigma = sigma;
    return out;
  };
  const auto crumpled = static_cast<std::size_t>(std::count(smooth.begin(), smooth.end(), false));
  if (10 * crumpled < 7 * smooth.size()) return judge(true, s.pairs.size() / 10);
  // Hardly a flat ring: a mesh finer than its roughness, or a coarse one that is all edges. Only the former
  // is dense.
  return skin.triangles().size() < 5000 ? Roughness() : judge(false, 0);
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
  const double slope = 1.5 * roughness.sigma / std::max(roughness.edge, 1e-9);
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

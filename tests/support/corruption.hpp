// SPDX-License-Identifier: GPL-3.0-or-later
// Damages clean meshes on purpose, the same way for the same seed: what scanners, converters and careless
// modelling do.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <random>
#include <string>
#include <vector>

namespace corruption {

using pourwright::Index;
using pourwright::Triangle;
using pourwright::TriangleSoup;
using pourwright::Vec3;

/// A seeded hand. Each method damages `soup` in one way; `share` is of its triangles.
class Vandal {
 public:
  explicit Vandal(std::uint32_t seed) : random_(seed) {}

  double uniform(double low, double high) {
    return low + (high - low) * (static_cast<double>(random_()) / 4294967296.0);
  }
  std::size_t index(std::size_t n) { return static_cast<std::size_t>(uniform(0, static_cast<double>(n))); }

  void remove_scattered(TriangleSoup& soup, double share) {
    std::erase_if(soup.triangles, [&](const Triangle&) { return uniform(0, 1) < share; });
  }

  /// The triangles nearest to a few of them, up to the share.
  void remove_patches(TriangleSoup& soup, double share, int patches) {
    for (int k = 0; k < patches; ++k) {
      const Vec3 at = middle(soup, index(soup.triangles.size()));
      std::vector<std::pair<double, Index>> by_distance;
      for (std::size_t t = 0; t < soup.triangles.size(); ++t)
        by_distance.emplace_back((middle(soup, t) - at).norm(), static_cast<Index>(t));
      std::sort(by_distance.begin(), by_distance.end());
      const auto n = std::max<std::size_t>(
          1, static_cast<std::size_t>(share / patches * static_cast<double>(soup.triangles.size())));
      std::vector<bool> gone(soup.triangles.size());
      for (std::size_t i = 0; i < std::min(n, by_distance.size()); ++i) gone[by_distance[i].second] = true;
      std::size_t kept = 0;
      for (std::size_t t = 0; t < soup.triangles.size(); ++t)
        if (!gone[t]) soup.triangles[kept++] = soup.triangles[t];
      soup.triangles.resize(kept);
    }
  }

  void flip(TriangleSoup& soup, double share) {
    for (Triangle& t : soup.triangles)
      if (uniform(0, 1) < share) std::swap(t[1], t[2]);
  }

  void duplicate(TriangleSoup& soup, double share) {
    const std::size_t n = soup.triangles.size();
    for (std::size_t i = 0; i < n; ++i)
      if (uniform(0, 1) < share) soup.triangles.push_back(soup.triangles[i]);
  }

  /// Single corners leave their vertex by up to `reach` of their triangle's shortest side: cracks.
  void move_corners(TriangleSoup& soup, double share, double reach) {
    const std::size_t n = soup.triangles.size();
    for (std::size_t i = 0; i < n; ++i)
      for (Index& v : soup.triangles[i]) {
        if (uniform(0, 1) >= share) continue;
        const Triangle t = soup.triangles[i];
        const double side = std::min({(soup.vertices[t[0]] - soup.vertices[t[1]]).norm(),
                                      (soup.vertices[t[1]] - soup.vertices[t[2]]).norm(),
                                      (soup.vertices[t[2]] - soup.vertices[t[0]]).norm()});
        soup.vertices.push_back(soup.vertices[v] + side * reach * uniform(0, 1) * direction());
        v = static_cast<Index>(soup.vertices.size() - 1);
      }
  }

  /// Splits triangles at the middle of a side, but not their neighbours.
  void make_t_junctions(TriangleSoup& soup, double share) {
    const std::size_t n = soup.triangles.size();
    for (std::size_t i = 0; i < n; ++i) {
      if (uniform(0, 1) >= share) continue;
      const std::size_t k = index(3);
      const Triangle t = soup.triangles[i];
      const Index a = t[k], b = t[(k + 1) % 3], c = t[(k + 2) % 3];
      const auto m = static_cast<Index>(soup.vertices.size());
      soup.vertices.push_back((soup.vertices[a] + soup.vertices[b]) / 2);
      soup.triangles[i] = {a, m, c};
      soup.triangles.push_back({m, b, c});
    }
  }

  /// Small tetrahedra and single triangles near the surface, outside the box of the mesh or in it.
  void add_crumbs(TriangleSoup& soup, int count) {
    const pourwright::Box box = pourwright::bounds(soup);
    const double size = 0.004 * box.size().norm();
    for (int k = 0; k < count; ++k) {
      const Vec3 at = box.centre() + 0.75 * box.size().norm() * direction();
      const auto base = static_cast<Index>(soup.vertices.size());
      for (int c = 0; c < 4; ++c) soup.vertices.push_back(at + size * direction());
      soup.triangles.push_back({base, base + 1, base + 2});
      if (k % 2 == 0) continue;
      soup.triangles.push_back({base, base + 3, base + 1});
      soup.triangles.push_back({base + 1, base + 3, base + 2});
      soup.triangles.push_back({base + 2, base + 3, base});
    }
  }

  /// Flat squares that cut through the mesh.
  void add_sheets(TriangleSoup& soup, int count) {
    const pourwright::Box box = pourwright::bounds(soup);
    for (int k = 0; k < count; ++k) {
      const Vec3 at = middle(soup, index(soup.triangles.size()));
      const Vec3 n = direction(), u = n.unitOrthogonal() * 0.06 * box.size().norm(), v = n.cross(u);
      const auto base = static_cast<Index>(soup.vertices.size());
      for (const Vec3& p : {Vec3(at - u - v), Vec3(at + u - v), Vec3(at + u + v), Vec3(at - u + v)})
        soup.vertices.push_back(p);
      soup.triangles.push_back({base, base + 1, base + 2});
      soup.triangles.push_back({base, base + 2, base + 3});
    }
  }

  /// Everything that lies in the plane of one triangle goes: a missing side.
  void remove_side(TriangleSoup& soup) {
    const Triangle c = soup.triangles[index(soup.triangles.size())];
    const Vec3 at = soup.vertices[c[0]];
    const Vec3 n = (soup.vertices[c[1]] - at).cross(soup.vertices[c[2]] - at).normalized();
    const double near = 1e-5 * pourwright::bounds(soup).size().norm();
    std::erase_if(soup.triangles, [&](const Triangle& t) {
      return std::all_of(t.begin(), t.end(),
                         [&](Index v) { return std::abs((soup.vertices[v] - at).dot(n)) < near; });
    });
  }

  /// A patch of finer triangles than round it, which ends in T-junctions, and has a hole.
  void refine_patch(TriangleSoup& soup, double share, double holes) {
    const std::vector<Index> patch = nearest(soup, share);
    std::vector<bool> in(soup.triangles.size());
    for (const Index t : patch) in[t] = true;
    std::vector<Triangle> out;
    std::map<std::pair<Index, Index>, Index> middle_of;
    const auto half = [&](Index a, Index b) {
      const auto [it, added] =
          middle_of.try_emplace(std::minmax(a, b), static_cast<Index>(soup.vertices.size()));
      if (added) soup.vertices.push_back((soup.vertices[a] + soup.vertices[b]) / 2);
      return it->second;
    };
    for (std::size_t t = 0; t < soup.triangles.size(); ++t) {
      const Triangle c = soup.triangles[t];
      if (!in[t]) {
        out.push_back(c);
        continue;
      }
      const Index a = half(c[0], c[1]), b = half(c[1], c[2]), d = half(c[2], c[0]);
      for (const Triangle& piece :
           {Triangle{c[0], a, d}, Triangle{a, c[1], b}, Triangle{d, b, c[2]}, Triangle{a, b, d}})
        if (uniform(0, 1) >= holes) out.push_back(piece);
    }
    soup.triangles = std::move(out);
  }

  /// A patch of neighbors faces the other way.
  void flip_patch(TriangleSoup& soup, double share) {
    for (const Index t : nearest(soup, share)) std::swap(soup.triangles[t][1], soup.triangles[t][2]);
  }

  /// Lids inside the body: fans over the outline of a patch.
  void add_membranes(TriangleSoup& soup, int count, double share) {
    for (int k = 0; k < count; ++k) {
      std::map<std::pair<Index, Index>, int> edges;
      Vec3 sum = Vec3::Zero();
      int n = 0;
      for (const Index t : nearest(soup, share))
        for (std::size_t c = 0; c < 3; ++c) {
          const Index a = soup.triangles[t][c], b = soup.triangles[t][(c + 1) % 3];
          edges[{a, b}] += 1;
          edges[{b, a}] -= 1;
        }
      for (const auto& [e, use] : edges)
        if (use > 0) {
          sum += soup.vertices[e.first];
          ++n;
        }
      if (n == 0) continue;
      const auto hub = static_cast<Index>(soup.vertices.size());
      soup.vertices.push_back(sum / n);
      for (const auto& [e, use] : edges)
        if (use > 0) soup.triangles.push_back({e.first, e.second, hub});
    }
  }

  /// The table or turntable under a scan: a disc with some noise, `gap` mm below the lowest point.
  void add_table(TriangleSoup& soup, double gap) {
    const pourwright::Box box = pourwright::bounds(soup);
    const double radius = 0.8 * box.size().norm();
    const auto base = static_cast<Index>(soup.vertices.size());
    constexpr int rings = 8, round = 32;
    const auto put = [&](double r, double a) {
      soup.vertices.emplace_back(box.centre().x() + r * std::cos(a), box.centre().y() + r * std::sin(a),
                                 box.low.z() - gap - uniform(0, 2e-4) * radius);
    };
    put(0, 0);
    for (int i = 1; i <= rings; ++i)
      for (int k = 0; k < round; ++k) put(radius * i / rings, 2 * 3.14159265358979 * k / round);
    const auto at = [&](int i, int k) {
      return i == 0 ? base : base + 1 + static_cast<Index>((i - 1) * round + k % round);
    };
    for (int i = 1; i <= rings; ++i)
      for (int k = 0; k < round; ++k) {
        soup.triangles.push_back({at(i - 1, k), at(i, k), at(i, k + 1)});
        if (i > 1) soup.triangles.push_back({at(i - 1, k), at(i, k + 1), at(i - 1, k + 1)});
      }
  }

  /// A second copy, moved by a share of the size.
  void add_copy(TriangleSoup& soup, double share) {
    const Vec3 by = share * pourwright::bounds(soup).size().norm() * direction();
    const auto base = static_cast<Index>(soup.vertices.size());
    const std::size_t vertices = soup.vertices.size(), triangles = soup.triangles.size();
    for (std::size_t v = 0; v < vertices; ++v) soup.vertices.push_back(soup.vertices[v] + by);
    for (std::size_t t = 0; t < triangles; ++t) {
      const Triangle& c = soup.triangles[t];
      soup.triangles.push_back({c[0] + base, c[1] + base, c[2] + base});
    }
  }

  /// Every triangle with corners of its own, each off by up to `share` of the size: an export with few
  /// digits.
  void unweld(TriangleSoup& soup, double share) {
    const double reach = share * pourwright::bounds(soup).size().norm();
    std::vector<Vec3> vertices;
    for (Triangle& t : soup.triangles)
      for (Index& v : t) {
        vertices.push_back(soup.vertices[v] + reach * uniform(0, 1) * direction());
        v = static_cast<Index>(vertices.size() - 1);
      }
    soup.vertices = std::move(vertices);
  }

  /// Every vertex moves by up to `reach` mm: noise.
  void shake(TriangleSoup& soup, double reach) {
    for (Vec3& p : soup.vertices) p += reach * uniform(0, 1) * direction();
  }

  /// Normal noise of so much along the normals, averaged over neighbours so many times and as large after it:
  /// what a scan program leaves that fuses many views. Where `clean` says so the surface stays.
  template <class Clean>
  void fuse(TriangleSoup& soup, double spread, int rounds, Clean clean) {
    const std::size_t n = soup.vertices.size();
    std::vector<double> off(n), sum(n);
    std::vector<std::size_t> count(n);
    for (double& x : off) {
      x = -6;  // the sum of twelve even numbers is all but normal
      for (int k = 0; k < 12; ++k) x += uniform(0, 1);
    }
    for (int r = 0; r < rounds; ++r) {
      sum = off;
      count.assign(n, 1);
      for (const Triangle& t : soup.triangles)
        for (std::size_t k = 0; k < 3; ++k)
          for (const Index w : {t[(k + 1) % 3], t[(k + 2) % 3]}) {
            sum[t[k]] += off[w] / 2;  // each neighbour is met from two triangles
            count[t[k]] += 1;
          }
      for (std::size_t v = 0; v < n; ++v) off[v] = sum[v] / (1 + static_cast<double>(count[v] - 1) / 2);
    }
    double squares = 0;
    for (const double x : off) squares += x * x;
    const double scale = spread / std::sqrt(squares / static_cast<double>(n));
    std::vector<Vec3> along(n, Vec3::Zero());
    for (std::size_t t = 0; t < soup.triangles.size(); ++t)
      for (const Index v : soup.triangles[t]) along[v] += normal(soup, t);
    for (std::size_t v = 0; v < n; ++v)
      if (!clean(soup.vertices[v])) soup.vertices[v] += scale * off[v] * along[v].normalized();
  }

  /// Noise on one side of a plane at random through the middle, the other side clean.
  void shake_half(TriangleSoup& soup, double spread) {
    const pourwright::Box box = pourwright::bounds(soup);
    const Vec3 across = direction(),
               middle = box.centre() + uniform(-0.15, 0.15) * box.size().norm() * across;
    fuse(soup, spread, 0, [&](const Vec3& p) { return across.dot(p - middle) > 0; });
  }

  /// Bites out of the highest edge: triangles near its corners go.
  void bite_rim(TriangleSoup& soup, double radius, int bites) {
    const double top = pourwright::bounds(soup).high.z();
    std::vector<Vec3> rim;
    for (const Vec3& p : soup.vertices)
      if (p.z() > top - radius) rim.push_back(p);
    for (int k = 0; k < bites && !rim.empty(); ++k) {
      const Vec3 at = rim[index(rim.size())];
      std::size_t number = 0;
      std::erase_if(soup.triangles,
                    [&](const Triangle&) { return (middle(soup, number++) - at).norm() < radius; });
    }
  }

  Vec3 direction() {
    while (true) {
      const Vec3 d(uniform(-1, 1), uniform(-1, 1), uniform(-1, 1));
      if (const double n = d.norm(); n > 0.1 && n <= 1) return d / n;
    }
  }

 private:
  /// A share of the triangles, those nearest to one of them that face about the same way.
  std::vector<Index> nearest(const TriangleSoup& soup, double share) {
    const std::size_t seed = index(soup.triangles.size());
    const Vec3 at = middle(soup, seed), facing = normal(soup, seed);
    std::vector<std::pair<double, Index>> by_distance;
    for (std::size_t t = 0; t < soup.triangles.size(); ++t)
      if (normal(soup, t).dot(facing) > 0)
        by_distance.emplace_back((middle(soup, t) - at).norm(), static_cast<Index>(t));
    std::sort(by_distance.begin(), by_distance.end());
    const auto n = std::max<std::size_t>(
        1, static_cast<std::size_t>(share * static_cast<double>(soup.triangles.size())));
    std::vector<Index> out;
    for (std::size_t i = 0; i < std::min(n, by_distance.size()); ++i) out.push_back(by_distance[i].second);
    return out;
  }
  static Vec3 normal(const TriangleSoup& s, std::size_t t) {
    const Triangle& c = s.triangles[t];
    return (s.vertices[c[1]] - s.vertices[c[0]]).cross(s.vertices[c[2]] - s.vertices[c[0]]);
  }
  static Vec3 middle(const TriangleSoup& s, std::size_t t) {
    const Triangle& c = s.triangles[t];
    return (s.vertices[c[0]] + s.vertices[c[1]] + s.vertices[c[2]]) / 3;
  }
  std::mt19937 random_;
};

/// Every triangle into four until there are at least `least`; the shape stays.
inline TriangleSoup subdivided(TriangleSoup s, std::size_t least) {
  while (s.triangles.size() < least) {
    std::map<std::pair<Index, Index>, Index> middle;
    const auto half = [&](Index a, Index b) {
      const auto [it, added] = middle.try_emplace(std::minmax(a, b), static_cast<Index>(s.vertices.size()));
      if (added) s.vertices.push_back((s.vertices[a] + s.vertices[b]) / 2);
      return it->second;
    };
    std::vector<Triangle> out;
    for (const Triangle& t : s.triangles) {
      const Index a = half(t[0], t[1]), b = half(t[1], t[2]), c = half(t[2], t[0]);
      out.insert(out.end(), {{t[0], a, c}, {a, t[1], b}, {c, b, t[2]}, {a, b, c}});
    }
    s.triangles = std::move(out);
  }
  return s;
}

}  // namespace corruption

// SPDX-License-Identifier: GPL-3.0-or-later
// Mesh builders for tests. Every builder returns a closed, outward-facing, welded soup unless it says
// otherwise.
#pragma once

#include <pourwright/mesh.hpp>

#include <cmath>
#include <cstdint>
#include <functional>
#include <map>
#include <numbers>
#include <random>
#include <tuple>
#include <vector>

namespace shapes {

using pourwright::Index;
using pourwright::Triangle;
using pourwright::TriangleSoup;
using pourwright::Vec3;
inline constexpr double pi = std::numbers::pi;

/// Collects triangles by coordinates; equal coordinates become one vertex.
class Builder {
 public:
  Index vertex(const Vec3& p) {
    const auto key = std::tuple(p.x() + 0.0, p.y() + 0.0, p.z() + 0.0);
    const auto [it, fresh] = known_.try_emplace(key, static_cast<Index>(soup_.vertices.size()));
    if (fresh) soup_.vertices.push_back(p);
    return it->second;
  }
  void triangle(const Vec3& a, const Vec3& b, const Vec3& c) {
    const Triangle t{vertex(a), vertex(b), vertex(c)};
    if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]) soup_.triangles.push_back(t);
  }
  void quad(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
    triangle(a, b, c);
    triangle(a, c, d);
  }
  void add(const TriangleSoup& s) {
    for (const Triangle& t : s.triangles) triangle(s.vertices[t[0]], s.vertices[t[1]], s.vertices[t[2]]);
  }
  TriangleSoup take() { return std::move(soup_); }

 private:
  TriangleSoup soup_;
  std::map<std::tuple<double, double, double>, Index> known_;
};

struct Station {  // a point of a profile
  double r, z;
};

inline Vec3 on_circle(double r, double z, int k, int n) {
  // Quarter turns are exact, so that axis-aligned extents are.
  const int m = ((k % n) + n) % n;
  if (4 * m % n == 0) {
    const int q = 4 * m / n;
    const double c[4] = {1, 0, -1, 0}, s[4] = {0, 1, 0, -1};
    return {r * c[q], r * s[q], z};
  }
  const double a = 2 * pi * m / n;
  return {r * std::cos(a), r * std::sin(a), z};
}

/// Revolves a profile with n segments. The profile runs so that material lies on its left as seen with r to
/// the right and z up: outer wall upwards, inner wall downwards. Stations with r = 0 close the ends.
inline TriangleSoup revolve(const std::vector<Station>& profile, int n, bool loop = false) {
  Builder b;
  const std::size_t last = loop ? profile.size() : profile.size() - 1;
  for (std::size_t i = 0; i < last; ++i) {
    const Station p = profile[i], q = profile[(i + 1) % profile.size()];
    for (int k = 0; k < n; ++k) {
      const Vec3 p0 = on_circle(p.r, p.z, k, n), p1 = on_circle(p.r, p.z, k + 1, n);
      const Vec3 q0 = on_circle(q.r, q.z, k, n), q1 = on_circle(q.r, q.z, k + 1, n);
      if (p.r == 0)
        b.triangle(p0, q1, q0);
      else if (q.r == 0)
        b.triangle(p0, p1, q0);
      else
        b.quad(p0, p1, q1, q0);
    }
  }
  return b.take();
}

/// Area ratio of the inscribed regular n-gon to its circle.
inline double polygon_factor(int n) {
  return n / (2 * pi) * std::sin(2 * pi / n);
}
/// A torus that passes through itself: the tube's circle, of `stations` points, reaches past the axis. Its
/// facets there all cross each other.
inline TriangleSoup spindle(double ring, double tube, int stations, int n) {
  std::vector<Station> p;
  for (int k = 0; k < stations; ++k) {
    const double a = 2 * pi * k / stations;
    p.push_back({ring + tube * std::cos(a), tube * std::sin(a)});
  }
  return revolve(p, n, true);
}
/// What the smooth one wraps (Pappus). The spindle at the axis, where the tube has passed it, is wrapped by
/// nothing: its sides face into it, as those of a void do.
inline double spindle_volume(double ring, double tube) {
  return 2 * pi * pi * ring * tube * tube;
}
/// Volume of a stack of smooth frusta through the stations.
inline double frusta(const std::vector<Station>& p) {
  double v = 0;
  for (std::size_t i = 0; i + 1 < p.size(); ++i)
    v += pi * (p[i + 1].z - p[i].z) / 3 * (p[i].r * p[i].r + p[i].r * p[i + 1].r + p[i + 1].r * p[i + 1].r);
  return v;
}

inline TriangleSoup box(const Vec3& lo, const Vec3& hi) {
  Builder b;
  const auto p = [&](int i, int j, int k) {
    return Vec3(i ? hi.x() : lo.x(), j ? hi.y() : lo.y(), k ? hi.z() : lo.z());
  };
  b.quad(p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0));
  b.quad(p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1));
  b.quad(p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1));
  b.quad(p(1, 1, 0), p(0, 1, 0), p(0, 1, 1), p(1, 1, 1));
  b.quad(p(0, 1, 0), p(0, 0, 0), p(0, 0, 1), p(0, 1, 1));
  b.quad(p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1));
  return b.take();
}

inline TriangleSoup turned(TriangleSoup s) {
  for (Triangle& t : s.triangles) std::swap(t[1], t[2]);
  return s;
}

inline TriangleSoup moved(TriangleSoup s, const std::function<Vec3(const Vec3&)>& f) {
  for (Vec3& p : s.vertices) p = f(p);
  return s;
}

inline TriangleSoup joined(const std::vector<TriangleSoup>& parts) {
  TriangleSoup out;
  for (const TriangleSoup& s : parts) {
    const auto base = static_cast<Index>(out.vertices.size());
    out.vertices.insert(out.vertices.end(), s.vertices.begin(), s.vertices.end());
    for (const Triangle& t : s.triangles) out.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
  }
  return out;
}

/// The same mesh with vertices and triangles in another order, and triangles starting at another corner.
inline TriangleSoup renumbered(const TriangleSoup& s, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::vector<Index> place(s.vertices.size());
  for (Index i = 0; i < place.size(); ++i) place[i] = i;
  for (std::size_t i = place.size(); i > 1; --i) std::swap(place[i - 1], place[random() % i]);
  TriangleSoup out;
  out.vertices.resize(s.vertices.size());
  for (std::size_t i = 0; i < place.size(); ++i) out.vertices[place[i]] = s.vertices[i];
  for (const Triangle& t : s.triangles) {
    const std::size_t k = random() % 3;
    out.triangles.push_back({place[t[k]], place[t[(k + 1) % 3]], place[t[(k + 2) % 3]]});
  }
  for (std::size_t i = out.triangles.size(); i > 1; --i)
    std::swap(out.triangles[i - 1], out.triangles[random() % i]);
  return out;
}

/// Where the rays of a regular n-gon meet one side of a square, from −half to +half; antisymmetric to the
/// bit.
inline std::vector<double> side_offsets(double half, int n) {
  std::vector<double> t(static_cast<std::size_t>(n / 4 + 1), 0.0);
  for (int k = 1; k <= n / 8; ++k) {
    const double v = k == n / 8 ? half : half * std::tan(2 * pi * k / n);
    t[static_cast<std::size_t>(n / 8 + k)] = v;
    t[static_cast<std::size_t>(n / 8 - k)] = -v;
  }
  return t;
}

/// A tile of a block seen from above: a square deck at `deck` with a round hole whose inner wall and floor
/// follow `inner` (stations from the deck's edge of the hole down to r = 0). n is a multiple of 8. The
/// square's outline points are the n radial projections, so equal tiles side by side share them bit for bit.
inline void add_tile(Builder& b, const Vec3& centre, double half, double deck,
                     const std::vector<Station>& inner, int n) {
  const auto ring = [&](double r, double z, int k) { return Vec3(centre + on_circle(r, z, k, n)); };
  const std::vector<double> along = side_offsets(half, n);
  const auto square = [&](int k) {
    const int j = ((k + n / 8) % n + n) % n;  // from the lower right corner, counter-clockwise
    const double t = along[static_cast<std::size_t>(j % (n / 4))];
    switch (j / (n / 4)) {
      case 0:
        return Vec3(centre.x() + half, centre.y() + t, deck);
      case 1:
        return Vec3(centre.x() - t, centre.y() + half, deck);
      case 2:
        return Vec3(centre.x() - half, centre.y() - t, deck);
      default:
        return Vec3(centre.x() + t, centre.y() - half, deck);
    }
  };
  for (int k = 0; k < n; ++k) {
    b.quad(square(k), square(k + 1), ring(inner[0].r, deck, k + 1), ring(inner[0].r, deck, k));
    for (std::size_t i = 0; i + 1 < inner.size(); ++i) {
      const Station p = inner[i], q = inner[i + 1];
      const Vec3 p0 = ring(p.r, p.z, k), p1 = ring(p.r, p.z, k + 1);
      if (q.r == 0)
        b.triangle(p0, p1, ring(0, q.z, k));
      else
        b.quad(p0, p1, ring(q.r, q.z, k + 1), ring(q.r, q.z, k));
    }
  }
}

/// A block of columns × rows tiles with one round cavity each. When `rim` > 0 a wall of that thickness and
/// height runs round the deck. Outline points along the border repeat those of the tiles.
inline TriangleSoup cavity_block(int columns, int rows, double half, double deck, double bottom,
                                 const std::vector<Station>& inner, int n, double rim = 0,
                                 double rim_height = 0) {
  Builder b;
  for (int i = 0; i < columns; ++i)
    for (int j = 0; j < rows; ++j) add_tile(b, Vec3(2 * half * i, 2 * half * j, 0), half, deck, inner, n);
  // The deck's outline, counter-clockwise, from the tiles' own points.
  const std::vector<double> along = side_offsets(half, n);
  std::vector<Vec3> outline;
  const double x1 = 2 * half * (columns - 1) + half, y1 = 2 * half * (rows - 1) + half;
  const auto side = [&](int tiles, auto&& point) {
    for (int i = 0; i < tiles; ++i)
      for (std::size_t k = 0; k + 1 < along.size(); ++k) outline.push_back(point(2 * half * i + along[k]));
  };
  side(columns, [&](double t) { return Vec3(t, -half, deck); });
  side(rows, [&](double t) { return Vec3(x1, t, deck); });
  {
    std::vector<Vec3> back;
    for (int i = columns; i-- > 0;)
      for (std::size_t k = along.size(); k-- > 1;) back.push_back(Vec3(2 * half * i + along[k], y1, deck));
    outline.insert(outline.end(), back.begin(), back.end());
    back.clear();
    for (int i = rows; i-- > 0;)
      for (std::size_t k = along.size(); k-- > 1;) back.push_back(Vec3(-half, 2 * half * i + along[k], deck));
    outline.insert(outline.end(), back.begin(), back.end());
  }
  const auto outward = [&](const Vec3& p, double z) {
    Vec3 q(p.x(), p.y(), z);
    if (p.x() == -half) q.x() -= rim;
    if (p.x() == x1) q.x() += rim;
    if (p.y() == -half) q.y() -= rim;
    if (p.y() == y1) q.y() += rim;
    return q;
  };
  const Vec3 middle_bottom((x1 - half) / 2, (y1 - half) / 2, bottom);
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec3 p = outline[i], q = outline[(i + 1) % outline.size()];
    const auto at = [](const Vec3& v, double z) { return Vec3(v.x(), v.y(), z); };
    if (rim > 0) {
      const double top = deck + rim_height;
      b.quad(p, at(p, top), at(q, top), q);                              // inside of the rim wall
      b.quad(at(p, top), outward(p, top), outward(q, top), at(q, top));  // its top
      b.quad(outward(p, top), outward(p, bottom), outward(q, bottom), outward(q, top));
      b.triangle(outward(q, bottom), outward(p, bottom), middle_bottom);
    } else {
      b.quad(p, at(p, bottom), at(q, bottom), q);
      b.triangle(at(q, bottom), at(p, bottom), middle_bottom);
    }
  }
  return b.take();
}

/// A block whose top is a piecewise linear terrain over a grid; z(i, j) >= bottom.
inline TriangleSoup terrain(int nx, int ny, double pitch, double bottom,
                            const std::function<double(int, int)>& z) {
  Builder b;
  const auto top = [&](int i, int j) { return Vec3(pitch * i, pitch * j, z(i, j)); };
  const auto low = [&](int i, int j) { return Vec3(pitch * i, pitch * j, bottom); };
  for (int i = 0; i < nx; ++i)
    for (int j = 0; j < ny; ++j) {
      b.quad(top(i, j), top(i + 1, j), top(i + 1, j + 1), top(i, j + 1));
      b.quad(low(i, j), low(i, j + 1), low(i + 1, j + 1), low(i + 1, j));
    }
  for (int i = 0; i < nx; ++i) {
    b.quad(low(i, 0), low(i + 1, 0), top(i + 1, 0), top(i, 0));
    b.quad(low(i + 1, ny), low(i, ny), top(i, ny), top(i + 1, ny));
  }
  for (int j = 0; j < ny; ++j) {
    b.quad(low(0, j + 1), low(0, j), top(0, j), top(0, j + 1));
    b.quad(low(nx, j), low(nx, j + 1), top(nx, j + 1), top(nx, j));
  }
  return b.take();
}

/// UV sphere; n segments, n/2 stacks.
inline TriangleSoup sphere(double r, int n, const Vec3& c = Vec3::Zero()) {
  std::vector<Station> p;
  const int stacks = n / 2;
  for (int i = 0; i <= stacks; ++i) {
    const double a = -pi / 2 + pi * i / stacks;
    p.push_back({i == 0 || i == stacks ? 0 : r * std::cos(a), i == 0        ? -r
                                                              : i == stacks ? r
                                                                            : r * std::sin(a)});
  }
  return moved(revolve(p, n), [&](const Vec3& v) { return Vec3(v + c); });
}

/// Profile of an arc from angle a0 to a1 about (0, zc): stations (r cos a, zc + r sin a).
inline std::vector<Station> arc(double r, double rc, double zc, double a0, double a1, int steps) {
  std::vector<Station> p;
  for (int i = 0; i <= steps; ++i) {
    const double a = a0 + (a1 - a0) * i / steps;
    p.push_back({rc + r * std::cos(a), zc + r * std::sin(a)});
  }
  return p;
}

/// A closed pot with a neck that reaches below its roof: radius 30 and 50 deep inside, the neck's 10, brim
/// at 60.
inline TriangleSoup inkwell(int n) {
  return revolve({{0, -5},
                  {35, -5},
                  {35, 55},
                  {12, 55},
                  {12, 60},
                  {10, 60},
                  {10, 40},
                  {12, 40},
                  {12, 50},
                  {30, 50},
                  {30, 0},
                  {0, 0}},
                 n);
}

/// Bricks between the planes given for each axis, those that are filled, without the faces between them.
inline TriangleSoup bricks(const std::vector<double>& xs, const std::vector<double>& ys,
                           const std::vector<double>& zs, const std::function<bool(int, int, int)>& filled) {
  const int nx = static_cast<int>(xs.size()) - 1, ny = static_cast<int>(ys.size()) - 1,
            nz = static_cast<int>(zs.size()) - 1;
  const auto full = [&](int i, int j, int k) {
    return i >= 0 && j >= 0 && k >= 0 && i < nx && j < ny && k < nz && filled(i, j, k);
  };
  Builder b;
  for (int i = 0; i < nx; ++i)
    for (int j = 0; j < ny; ++j)
      for (int k = 0; k < nz; ++k) {
        if (!full(i, j, k)) continue;
        const auto p = [&](int x, int y, int z) {
          return Vec3(xs[static_cast<std::size_t>(i + x)], ys[static_cast<std::size_t>(j + y)],
                      zs[static_cast<std::size_t>(k + z)]);
        };
        if (!full(i, j, k - 1)) b.quad(p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0));
        if (!full(i, j, k + 1)) b.quad(p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1));
        if (!full(i, j - 1, k)) b.quad(p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1));
        if (!full(i, j + 1, k)) b.quad(p(1, 1, 0), p(0, 1, 0), p(0, 1, 1), p(1, 1, 1));
        if (!full(i - 1, j, k)) b.quad(p(0, 1, 0), p(0, 0, 0), p(0, 0, 1), p(0, 1, 1));
        if (!full(i + 1, j, k)) b.quad(p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1));
      }
  return b.take();
}

}  // namespace shapes

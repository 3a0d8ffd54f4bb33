// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies for attack meshes. Law: what is built is closed and faces outward until something is taken from it
// on purpose.
#include "support/attack_parts.hpp"

#include <algorithm>
#include <set>

namespace attacks {

using shapes::Builder;
using shapes::on_circle;
using shapes::pi;

double volume(const TriangleSoup& s) {
  if (s.vertices.empty()) return 0;
  const Vec3 o = s.vertices[0];
  double six = 0;
  for (const Triangle& t : s.triangles)
    six += (s.vertices[t[0]] - o).dot((s.vertices[t[1]] - o).cross(s.vertices[t[2]] - o));
  return six / 6;
}

double total(const std::vector<TriangleSoup>& bodies) {
  double v = 0;
  for (const TriangleSoup& b : bodies) v += volume(b);
  return v;
}

double area(const Polygon& p) {
  double twice = 0;
  for (std::size_t k = 0; k < p.size(); ++k) {
    const auto& [x, y] = p[k];
    const auto& [u, v] = p[(k + 1) % p.size()];
    twice += x * v - u * y;
  }
  return twice / 2;
}

Polygon regular_polygon(int n, double radius, double turn) {
  Polygon p;
  for (int k = 0; k < n; ++k)
    p.emplace_back(radius * std::cos(turn + 2 * pi * k / n), radius * std::sin(turn + 2 * pi * k / n));
  return p;
}

namespace {

double left_of(const std::pair<double, double>& a, const std::pair<double, double>& b,
               const std::pair<double, double>& c) {
  return (b.first - a.first) * (c.second - a.second) - (b.second - a.second) * (c.first - a.first);
}

bool is_ear(const Polygon& p, const std::vector<std::size_t>& left, std::size_t k) {
  const std::size_t n = left.size();
  const auto &a = p[left[(k + n - 1) % n]], &b = p[left[k]], &c = p[left[(k + 1) % n]];
  if (left_of(a, b, c) <= 0) return false;
  return std::none_of(left.begin(), left.end(), [&](std::size_t i) {
    const auto& q = p[i];
    if (q == a || q == b || q == c) return false;
    return left_of(a, b, q) >= 0 && left_of(b, c, q) >= 0 && left_of(c, a, q) >= 0;
  });
}

std::vector<std::array<std::size_t, 3>> ears(const Polygon& p) {
  std::vector<std::size_t> left(p.size());
  for (std::size_t k = 0; k < left.size(); ++k) left[k] = k;
  std::vector<std::array<std::size_t, 3>> out;
  while (left.size() > 2) {
    std::size_t k = 0;
    while (k < left.size() && !is_ear(p, left, k)) ++k;
    if (k == left.size()) k = 0;  // what is left is flat
    const std::size_t n = left.size();
    out.push_back({left[(k + n - 1) % n], left[k], left[(k + 1) % n]});
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(k));
  }
  return out;
}

}  // namespace

TriangleSoup extruded(const Polygon& p, double z0, double z1) {
  Builder b;
  const auto at = [&](std::size_t k, double z) {
    return Vec3(p[k % p.size()].first, p[k % p.size()].second, z);
  };
  for (const auto& [i, j, k] : ears(p)) {
    b.triangle(at(i, z1), at(j, z1), at(k, z1));
    b.triangle(at(k, z0), at(j, z0), at(i, z0));
  }
  for (std::size_t k = 0; k < p.size(); ++k) b.quad(at(k, z0), at(k + 1, z0), at(k + 1, z1), at(k, z1));
  return b.take();
}

TriangleSoup hull(const std::vector<Vec3>& points) {
  Vec3 middle = Vec3::Zero();
  for (const Vec3& p : points) middle += p / static_cast<double>(points.size());
  double size = 0;
  for (const Vec3& p : points) size = std::max(size, (p - middle).norm());
  const double near = 1e-9 * size;
  std::set<std::vector<std::size_t>> known;
  Builder b;
  const std::size_t n = points.size();
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i + 1; j < n; ++j)
      for (std::size_t k = j + 1; k < n; ++k) {
        Vec3 normal = (points[j] - points[i]).cross(points[k] - points[i]).normalized();
        if (normal.dot(points[i] - middle) < 0) normal = -normal;
        std::vector<std::size_t> face;
        bool outside = false;
        for (std::size_t q = 0; q < n && !outside; ++q) {
          const double d = normal.dot(points[q] - points[i]);
          outside = d > near;
          if (std::abs(d) <= near) face.push_back(q);
        }
        if (outside || !known.insert(face).second) continue;
        Vec3 c = Vec3::Zero();
        for (const std::size_t q : face) c += points[q] / static_cast<double>(face.size());
        const Vec3 u = (points[face[0]] - c).normalized(), v = normal.cross(u);
        std::sort(face.begin(), face.end(), [&](std::size_t x, std::size_t y) {
          const Vec3 p = points[x] - c, q = points[y] - c;
          return std::atan2(p.dot(v), p.dot(u)) < std::atan2(q.dot(v), q.dot(u));
        });
        for (std::size_t q = 1; q + 1 < face.size(); ++q)
          b.triangle(points[face[0]], points[face[q]], points[face[q + 1]]);
      }
  return b.take();
}

TriangleSoup platonic(int faces, double radius) {
  const double g = std::numbers::phi;
  std::vector<Vec3> p;
  const auto cyclic = [&](double a, double b, double c) {
    p.insert(p.end(), {Vec3(a, b, c), Vec3(c, a, b), Vec3(b, c, a)});
  };
  const double both[2] = {-1, 1};
  if (faces == 4) p = {{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}};
  for (const double s : both) {
    if (faces == 8) cyclic(s, 0, 0);
    for (const double t : both) {
      if (faces == 14) cyclic(0, s, t);  // cuboctahedron
      if (faces == 20) cyclic(0, s, t * g);
      if (faces == 12) cyclic(0, s / g, t * g);
      for (const double u : both)
        if (faces == 6 || faces == 12) p.emplace_back(s, t, u);
    }
  }
  for (Vec3& v : p) v *= radius / v.norm();
  return hull(p);
}

TriangleSoup box_cup(double x, double y, double z, double wall, double floor) {
  return shapes::bricks({0, wall, x - wall, x}, {0, wall, y - wall, y}, {0, floor, z},
                        [](int i, int j, int k) { return i != 1 || j != 1 || k == 0; });
}

TriangleSoup round_cup(double outer, double height, double wall, double floor, int n) {
  return shapes::revolve(
      {{0, 0}, {outer, 0}, {outer, height}, {outer - wall, height}, {outer - wall, floor}, {0, floor}}, n);
}

double cup_capacity(double outer, double height, double wall, double floor, int n) {
  const double r = outer - wall;
  return n / 2.0 * r * r * std::sin(2 * pi / n) * (height - floor);
}

namespace {

/// A disc of rings of 6, 12, 18 … points; the last has 6·rings.
void add_flat_disc(Builder& b, double radius, double z, int rings, bool up) {
  const auto at = [&](int ring, int k) {
    return ring == 0 ? Vec3(0, 0, z) : on_circle(radius * ring / rings, z, k, 6 * ring);
  };
  const auto face = [&](const Vec3& p, const Vec3& q, const Vec3& r) {
    up ? b.triangle(p, q, r) : b.triangle(r, q, p);
  };
  for (int i = 0; i < rings; ++i)
    for (int s = 0; s < 6; ++s)
      for (int j = 0; j <= i; ++j) {
        face(at(i, s * i + j), at(i + 1, s * (i + 1) + j), at(i + 1, s * (i + 1) + j + 1));
        if (j < i) face(at(i, s * i + j), at(i + 1, s * (i + 1) + j + 1), at(i, s * i + j + 1));
      }
}

}  // namespace

TriangleSoup fine_cup(double outer, double height, double wall, double floor, double edge) {
  const int rings = std::max(3, static_cast<int>(std::lround(outer / edge))), n = 6 * rings;
  Builder b;
  const auto strip = [&](double r0, double z0, double r1, double z1) {
    const int steps = std::max(1, static_cast<int>(std::lround(std::hypot(r1 - r0, z1 - z0) / edge)));
    for (int i = 0; i < steps; ++i) {
      const auto station = [&](int k) {
        const double t = static_cast<double>(k) / steps;
        if (k == 0) return std::pair(r0, z0);
        if (k == steps) return std::pair(r1, z1);
        return std::pair(r0 + t * (r1 - r0), z0 + t * (z1 - z0));
      };
      const auto [ra, za] = station(i);
      const auto [rb, zb] = station(i + 1);
      for (int k = 0; k < n; ++k) {
        const Vec3 p = on_circle(ra, za, k, n), q = on_circle(ra, za, k + 1, n),
                   r = on_circle(rb, zb, k + 1, n), s = on_circle(rb, zb, k, n);
        if ((i + k) % 2 == 0)
          b.quad(p, q, r, s);
        else
          b.quad(q, r, s, p);
      }
    }
  };
  add_flat_disc(b, outer, 0, rings, false);
  strip(outer, 0, outer, height);
  strip(outer, height, outer - wall, height);
  strip(outer - wall, height, outer - wall, floor);
  add_flat_disc(b, outer - wall, floor, rings, true);
  return b.take();
}

Placing placed(Dice& dice, double reach) {
  Placing p;
  if (dice.chance(0.75))
    p.angle = dice.chance(0.3) ? pi / 180 * dice.integer(1, 89) : dice.uniform(0, 2 * pi);
  if (dice.chance(0.5)) p.shift = reach * Vec3(dice.uniform(-1, 1), dice.uniform(-1, 1), dice.uniform(-1, 1));
  return p;
}

TriangleSoup at(TriangleSoup s, const Placing& p) {
  return shapes::moved(std::move(s), p);
}

Eigen::Matrix3d any_rotation(Dice& dice) {
  return Eigen::AngleAxisd(dice.uniform(0, 2 * pi), dice.direction()).toRotationMatrix();
}

TriangleSoup without(TriangleSoup s, std::size_t triangle) {
  s.triangles.erase(s.triangles.begin() + static_cast<std::ptrdiff_t>(triangle));
  return s;
}

void lose_one(Dice& dice, Case& c) {
  const std::size_t n = c.mesh.triangles.size(), gone = dice.below(n);
  c.note += text(", triangle %zu of %zu missing", gone, n);
  c.mesh = without(std::move(c.mesh), gone);
  c.tolerance = std::max(c.tolerance, 1e-5);
}

Case case_of(std::string note, std::vector<TriangleSoup> clean, const Placing& placing) {
  Case c;
  c.note = std::move(note);
  std::vector<TriangleSoup> turned;
  for (const TriangleSoup& s : clean) turned.push_back(at(s, placing));
  c.mesh = shapes::joined(turned);
  c.clean = std::move(clean);
  return c;
}

}  // namespace attacks

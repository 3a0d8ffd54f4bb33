// SPDX-License-Identifier: GPL-3.0-or-later
// What the families of attack meshes are made of: a seeded hand, bodies, ways of turning and of damaging
// them.
#pragma once

#include "support/attack_meshes.hpp"

#include <cstdio>

namespace attacks {

/// The same numbers for the same seed with every standard library.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : random_(seed) {
    for (int k = 0; k < 8; ++k) random_();
  }
  double uniform(double low, double high) {
    return low + (high - low) * (static_cast<double>(random_()) / 4294967296.0);
  }
  int integer(int low, int high) { return low + static_cast<int>(uniform(0, high - low + 1)); }
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(uniform(0, static_cast<double>(n))); }
  bool chance(double p) { return uniform(0, 1) < p; }
  /// A length a person would draw: half of them whole or half millimetres, the others anything.
  double length(double low, double high) {
    const double v = uniform(low, high);
    return chance(0.5) ? std::max(low, std::floor(2 * v) / 2) : v;
  }
  template <class T>
  T pick(std::initializer_list<T> list) {
    return *(list.begin() + below(list.size()));
  }
  double normal() {  // Box and Muller (1958)
    const double u = 1 - uniform(0, 1), v = uniform(0, 1);
    return std::sqrt(-2 * std::log(u)) * std::cos(2 * shapes::pi * v);
  }
  Vec3 direction() {
    while (true) {
      const Vec3 d(uniform(-1, 1), uniform(-1, 1), uniform(-1, 1));
      if (const double n = d.norm(); n > 0.1 && n <= 1) return d / n;
    }
  }

 private:
  std::mt19937 random_;
};

/// By the divergence theorem.
double volume(const TriangleSoup& s);
double total(const std::vector<TriangleSoup>& bodies);

using Polygon = std::vector<std::pair<double, double>>;
double area(const Polygon& p);
Polygon regular_polygon(int n, double radius, double turn = 0);
/// A simple polygon, counter-clockwise, from z0 to z1. Ears are cut off (Meisters 1975), O(n³).
TriangleSoup extruded(const Polygon& p, double z0, double z1);
/// The hull of points in general position, O(n⁴).
TriangleSoup hull(const std::vector<Vec3>& points);
TriangleSoup platonic(int faces, double radius);
/// A square tray: outside, wall and floor thickness.
TriangleSoup box_cup(double x, double y, double z, double wall, double floor);
TriangleSoup round_cup(double outer, double height, double wall, double floor, int n);
/// A round cup of n segments whose faces are a grid of about `edge` mm, for scans.
TriangleSoup fine_cup(double outer, double height, double wall, double floor, double edge);
double cup_capacity(double outer, double height, double wall, double floor, int n);

/// Where the liquid stays the same: about z, and by any shift.
struct Placing {
  double angle = 0;
  Vec3 shift = Vec3::Zero();
  Vec3 operator()(const Vec3& p) const {
    const double c = std::cos(angle), s = std::sin(angle);
    return Vec3(c * p.x() - s * p.y(), s * p.x() + c * p.y(), p.z()) + shift;
  }
};
Placing placed(Dice& dice, double reach = 100);
TriangleSoup at(TriangleSoup s, const Placing& p);
Eigen::Matrix3d any_rotation(Dice& dice);

TriangleSoup without(TriangleSoup s, std::size_t triangle);
/// One triangle gone; says which in the note.
void lose_one(Dice& dice, Case& c);

/// All bodies in one soup. Corners stay each body's own.
Case case_of(std::string note, std::vector<TriangleSoup> clean, const Placing& placing);

template <class... T>
std::string text(const char* format, T... values) {
  char out[160];
  std::snprintf(out, sizeof out, format, values...);
  return out;
}

// ---- the families, each by itself
Case bricks(Dice&);
Case dividers(Dice&);
Case many_bricks(Dice&);
Case bricks_damaged(Dice&);
Case stack(Dice&);
Case pedestal(Dice&);
Case mirrored(Dice&);
Case laminate(Dice&);
Case slabs_damaged(Dice&);
Case gap_box(Dice&);
Case slabs(Dice&);
Case plug(Dice&);
Case two_part(Dice&);
Case wavy(Dice&);
Case crossing(Dice&);
Case copies(Dice&);
Case one_triangle(Dice&);
Case facets(Dice&);
Case cad_faces(Dice&);
Case holes(Dice&);
Case sheets(Dice&);
Case capped(Dice&);
Case scan_noise(Dice&);
Case scan_open(Dice&);
Case far_away(Dice&);
Case scale(Dice&);
Case walls(Dice&);
Case formats(Dice&);
Case drains(Dice&);
Case speed(Dice&);

}  // namespace attacks

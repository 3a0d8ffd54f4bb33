// SPDX-License-Identifier: GPL-3.0-or-later
// Volumes under a level by the divergence theorem with F = (0, 0, z − h): no flux passes the fill plane, so
// it needs no cap. Every triangle below the level contributes ∫(h − z) n_z dA.
#pragma once

#include <pourwright/mesh.hpp>

#include <algorithm>
#include <array>

namespace pourwright {

/// Heights of a triangle in ascending order and its signed area in plan.
struct Column {
  double a, b, c;
  double plan;
};

inline Column column_of(const Vec3& p, const Vec3& q, const Vec3& r) {
  Column k{p.z(), q.z(), r.z(),
           0.5 * ((q.x() - p.x()) * (r.y() - p.y()) - (q.y() - p.y()) * (r.x() - p.x()))};
  if (k.a > k.b) std::swap(k.a, k.b);
  if (k.b > k.c) std::swap(k.b, k.c);
  if (k.a > k.b) std::swap(k.a, k.b);
  return k;
}

struct Slice {
  double volume, area;
};

/// Contribution of one triangle to the volume under level h and to the free surface there. Kept in local
/// differences: expanded powers of h would cancel for nearly level triangles.
inline Slice under(const Column& k, double h) {
  if (h <= k.a) return {0, 0};
  const double whole = ((h - k.a) + (h - k.b) + (h - k.c)) / 3;
  if (h >= k.c) return {k.plan * whole, k.plan};
  if (h <= k.b) {
    const double s = (h - k.a) * (h - k.a) / ((k.b - k.a) * (k.c - k.a));
    return {k.plan * s * (h - k.a) / 3, k.plan * s};
  }
  const double s = (k.c - h) * (k.c - h) / ((k.c - k.a) * (k.c - k.b));
  return {k.plan * (whole + s * (k.c - h) / 3), k.plan * (1 - s)};
}

/// A wall added up: the volumes it encloses from the fluxes of (x,0,0) and (0,y,0), what is left of its area
/// vector, its area and its middle. The volumes agree with that from the flux of (0,0,z−h), and nothing is
/// left of the area vector sideways, exactly when the wall has no hole and no flipped triangle.
struct WallSum {
  Vec3 origin = Vec3::Zero();  ///< keeps the numbers small
  double x = 0, y = 0;
  double open_x = 0, open_y = 0;
  double area = 0;
  double counted = 0;            ///< area that counts for the middle
  Vec3 weighted = Vec3::Zero();  ///< Σ area · (centre − origin) over that

  /// One triangle, whole.
  void add(const std::array<Vec3, 3>& triangle, bool counts = true);
  /// The part of it with z <= h.
  void add_below(const std::array<Vec3, 3>& triangle, double h, bool counts = true);

 private:
  void add_local(const Vec3& p, const Vec3& q, const Vec3& r, bool counts);
};

}  // namespace pourwright

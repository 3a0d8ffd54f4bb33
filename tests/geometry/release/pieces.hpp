// SPDX-License-Identifier: GPL-3.0-or-later
// Pieces whose draft and undercut are known in closed form.
#pragma once

#include <pourwright/release.hpp>

#include "support/shapes.hpp"

#include <cmath>
#include <vector>

namespace pieces {

using namespace shapes;

struct Corner {
  double x, z;
};

/// A prism over a polygon in the x-z plane, counter-clockwise as seen with x to the right and z up, from y =
/// 0 to `length`. The ends are cut by ears.
inline TriangleSoup prism(std::vector<Corner> ring, double length) {
  Builder b;
  const auto at = [](const Corner& c, double y) { return Vec3(c.x, y, c.z); };
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Corner p = ring[i], q = ring[(i + 1) % ring.size()];
    b.quad(at(p, 0), at(p, length), at(q, length), at(q, 0));
  }
  const auto turn = [](const Corner& a, const Corner& c, const Corner& d) {
    return (c.x - a.x) * (d.z - a.z) - (c.z - a.z) * (d.x - a.x);
  };
  while (ring.size() > 2) {
    const std::size_t n = ring.size();
    for (std::size_t i = 0; i < n; ++i) {
      const Corner p = ring[(i + n - 1) % n], q = ring[i], r = ring[(i + 1) % n];
      if (turn(p, q, r) <= 0) continue;
      bool ear = true;
      for (std::size_t k = 0; k < n && ear; ++k)
        if (k != i && k != (i + 1) % n && k != (i + n - 1) % n)
          ear = turn(p, q, ring[k]) < 0 || turn(q, r, ring[k]) < 0 || turn(r, p, ring[k]) < 0;
      if (!ear) continue;
      b.triangle(at(p, 0), at(q, 0), at(r, 0));
      b.triangle(at(p, length), at(r, length), at(q, length));
      ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(i));
      break;
    }
  }
  return b.take();
}

/// A rail with a wide foot under a narrow neck: two ledges of `ledge` each.
inline TriangleSoup tee(double neck, double ledge, double foot, double height, double length) {
  const double a = neck / 2, b = a + ledge;
  return prism({{-b, 0}, {b, 0}, {b, foot}, {a, foot}, {a, height}, {-a, height}, {-a, foot}, {-b, foot}},
               length);
}

/// Wider at the bottom by h·tan(angle) on each side.
inline TriangleSoup dovetail(double top, double height, double degrees, double length) {
  const double a = top / 2, b = a + height * std::tan(degrees * pi / 180);
  return prism({{-b, 0}, {b, 0}, {a, height}, {-a, height}}, length);
}

/// Every triangle cut into four, so often.
inline TriangleSoup finer(const TriangleSoup& s, int times) {
  TriangleSoup now = s;
  for (; times > 0; --times) {
    Builder b;
    for (const Triangle& t : now.triangles) {
      const Vec3 &p = now.vertices[t[0]], &q = now.vertices[t[1]], &r = now.vertices[t[2]];
      const Vec3 pq = (p + q) / 2, qr = (q + r) / 2, rp = (r + p) / 2;
      b.triangle(p, pq, rp);
      b.triangle(pq, q, qr);
      b.triangle(rp, qr, r);
      b.triangle(pq, qr, rp);
    }
    now = b.take();
  }
  return now;
}

inline pourwright::Release release_of(const TriangleSoup& s, const pourwright::ReleaseOptions& o = {}) {
  auto r = pourwright::find_release(s.vertices, s.triangles, o);
  return *r;
}

inline double mm2(pourwright::Area a) {
  return pourwright::in_square_millimetres(a);
}

inline double degrees_between(const Vec3& a, const Vec3& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b)) * 180 / pi;
}

}  // namespace pieces

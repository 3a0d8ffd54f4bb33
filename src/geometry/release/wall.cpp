// SPDX-License-Identifier: GPL-3.0-or-later
// What every direction of pull needs to know of the piece, and which triangles are its opening. Law: a
// triangle whose direction is only rounding takes its neighbour's, so that areas do not depend on slivers.
#include "geometry/release/wall.hpp"

#include "geometry/mesh/half_edges.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pourwright::release {
namespace {

std::vector<Index> bodies(const std::vector<HalfEdge>& opposite) {
  std::vector<Index> body(opposite.size() / 3, none), stack;
  Index count = 0;
  for (Index start = 0; start < body.size(); ++start) {
    if (body[start] != none) continue;
    stack.assign(1, start);
    body[start] = count;
    while (!stack.empty()) {
      const Index t = stack.back();
      stack.pop_back();
      for (Index k = 0; k < 3; ++k) {
        const HalfEdge o = opposite[3 * t + k];
        if (o == none || body[o / 3] != none) continue;
        body[o / 3] = count;
        stack.push_back(o / 3);
      }
    }
    ++count;
  }
  return body;
}

HalfEdge longest_edge(const Wall& w, Index t) {
  HalfEdge best = 3 * t;
  double most = -1;
  for (Index k = 0; k < 3; ++k) {
    const double l = (w.vertices[w.triangles[t][(k + 1) % 3]] - w.vertices[w.triangles[t][k]]).squaredNorm();
    if (l > most) {
      most = l;
      best = 3 * t + k;
    }
  }
  return best;
}

/// Slivers face the way of the neighbour along their longest edge, in whose surface they lie up to rounding:
/// their own direction is noise, and would cut an overhang from its lip.
void borrow_directions(Wall& w) {
  constexpr int farthest = 16;  // slivers lie side by side in fans and strips
  std::vector<std::pair<Index, Index>> borrowed;
  for (Index t = 0; t < w.triangles.size(); ++t) {
    Index from = t;
    for (int step = 0; step < farthest && w.doubt[from] > ignored_doubt; ++step) {
      const HalfEdge o = w.opposite[longest_edge(w, from)];
      if (o == none || o / 3 == t) break;
      from = o / 3;
    }
    if (from != t && w.doubt[from] <= ignored_doubt) borrowed.emplace_back(t, from);
  }
  for (const auto& [t, from] : borrowed) {
    w.normal[t] = w.normal[from];
    w.doubt[t] = w.doubt[from];
  }
}

}  // namespace

Wall make_wall(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles) {
  Wall w{vertices, triangles, {}, {}, {}, pair_half_edges(vertices, triangles), {}, 0};
  w.body = bodies(w.opposite);
  Box box;
  for (const Triangle& t : triangles)
    for (const Index v : t) box.add(vertices[v]);
  w.size = box.size().norm();
  // Files carry single precision more often than not: half a unit in its last place.
  constexpr double single_precision = 6e-8;
  const double rounding =
      single_precision * std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff());
  w.normal.reserve(triangles.size());
  w.area.reserve(triangles.size());
  w.doubt.reserve(triangles.size());
  for (const Triangle& t : triangles) {
    const Vec3 &a = vertices[t[0]], &b = vertices[t[1]], &c = vertices[t[2]];
    const Vec3 n = (b - a).cross(c - a);
    const double twice = n.norm();
    const double longest = std::max({(b - a).norm(), (c - b).norm(), (a - c).norm()});
    w.normal.push_back(twice > 0 ? Vec3(n / twice) : Vec3(Vec3::Zero()));
    w.area.push_back(twice / 2);
    w.doubt.push_back(twice > 0 ? std::min(std::numbers::pi / 2, 2 * rounding * longest / twice)
                                : std::numbers::pi / 2);
  }
  borrow_directions(w);
  return w;
}

namespace {

/// A flat top lies in one plane to so many shares of the piece's size and a millionth of a millimetre: a
/// hundred times what single precision loses.
constexpr double in_plane = 1e-5, in_plane_least = 1e-6;
/// A leaning top is taken when it is larger than the level one by more than rounding, and more than one facet
/// of a dome is of the whole.
constexpr double clearly_larger = 1.001, more_than_a_facet = 1e-3;
/// Directions are often given to two or three digits.
const double one_degree = std::cos(std::numbers::pi / 180);

/// Opens the triangles that lie in the plane and face out of it.
void open_plane(const Wall& wall, const Vec3& normal, double level, double near, Mouth& m) {
  for (std::size_t t = 0; t < wall.triangles.size(); ++t) {
    if (m.is_open[t] || wall.normal[t].dot(normal) < one_degree) continue;
    if (!std::all_of(wall.triangles[t].begin(), wall.triangles[t].end(),
                     [&](Index v) { return std::abs(wall.vertices[v].dot(normal) - level) <= near; }))
      continue;
    m.is_open[t] = true;
    m.area += wall.area[t];
  }
}

double highest(const Wall& wall, const Vec3& out) {
  double top = -std::numeric_limits<double>::infinity();
  for (const Triangle& t : wall.triangles)
    for (const Index v : t) top = std::max(top, wall.vertices[v].dot(out));
  return top;
}

/// The largest triangle at the highest vertex that faces up to a degree.
Index flat_at(const Wall& wall, const Vec3& out, double top, double near) {
  Index best = none;
  for (Index t = 0; t < wall.triangles.size(); ++t) {
    if (wall.doubt[t] > ignored_doubt || wall.normal[t].dot(out) < one_degree) continue;
    if (best != none && wall.area[t] <= wall.area[best]) continue;
    const auto& c = wall.triangles[t];
    if (std::any_of(c.begin(), c.end(), [&](Index v) { return wall.vertices[v].dot(out) >= top - near; }))
      best = t;
  }
  return best;
}

/// The flat top when it leans against `out`: its plane is taken from one triangle, then from all that lie in
/// it.
Mouth leaning_mouth(const Wall& wall, const Vec3& out, double top, double near) {
  Mouth m;
  m.is_open.resize(wall.triangles.size());
  const Index seed = flat_at(wall, out, top, near);
  if (seed == none) return m;
  Mouth rough = m;
  const double level = wall.vertices[wall.triangles[seed][0]].dot(wall.normal[seed]);
  open_plane(wall, wall.normal[seed], level, 10 * near, rough);
  Vec3 sum = Vec3::Zero(), middle = Vec3::Zero();
  for (std::size_t t = 0; t < wall.triangles.size(); ++t) {
    if (!rough.is_open[t]) continue;
    const auto& [a, b, c] = wall.triangles[t];
    sum += wall.area[t] * wall.normal[t];
    middle += wall.area[t] / 3 * (wall.vertices[a] + wall.vertices[b] + wall.vertices[c]);
  }
  if (!(rough.area > 0)) return m;
  m.normal = sum.normalized();
  open_plane(wall, m.normal, (middle / rough.area).dot(m.normal), near, m);
  return m;
}

}  // namespace

Mouth find_mouth(const Wall& wall, const Vec3& out, std::span<const Length> levels) {
  const double near = in_plane_least + in_plane * wall.size;
  Mouth m;
  m.is_open.resize(wall.triangles.size());
  m.normal = out;
  for (const Length l : levels) open_plane(wall, out, in_millimetres(l), near, m);
  if (levels.empty()) {
    const double top = highest(wall, out);
    open_plane(wall, out, top, near, m);
    double whole = 0;
    for (const double a : wall.area) whole += a;
    if (Mouth leaning = leaning_mouth(wall, out, top, near);
        leaning.area > std::max(clearly_larger * m.area, more_than_a_facet * whole))
      m = std::move(leaning);
  }
  m.kind = m.area > 0 ? (levels.empty() ? Opening::flat_top : Opening::fill_plane) : Opening::nowhere;
  return m;
}

}  // namespace pourwright::release

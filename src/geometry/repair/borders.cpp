// SPDX-License-Identifier: GPL-3.0-or-later
// Open half-edges tied into simple closed lines, and what the rules for closing ask of each: extent, plane,
// how uneven it is and how steeply the surface meets it.
#include "geometry/repair/borders.hpp"

#include <cmath>

namespace pourwright::mending {
namespace {

void describe(const Workpiece& w, BorderLine& line) {
  for (const Index v : line.vertices) line.box.add(w.vertices[v]);
  const Vec3 origin = line.box.centre();
  double perimeter = 0;
  for (std::size_t i = 0; i < line.vertices.size(); ++i) {
    const Vec3 p = w.vertices[line.vertices[i]],
               q = w.vertices[line.vertices[(i + 1) % line.vertices.size()]];
    line.area += (p - origin).cross(q - origin) / 2;
    line.middle += (p + q) / 2 * (q - p).norm();
    perimeter += (q - p).norm();
  }
  line.middle = perimeter > 0 ? Vec3(line.middle / perimeter) : origin;
  for (const Index v : line.vertices)
    line.extent = std::max(line.extent, 2 * (w.vertices[v] - line.middle).norm());
  const Vec3 n = line.area.normalized();
  double steep = 0;
  for (std::size_t i = 0; i < line.vertices.size(); ++i) {
    line.unevenness =
        std::max(line.unevenness, std::abs((w.vertices[line.vertices[i]] - line.middle).dot(n)));
    const Vec3 beside = w.normal(line.half_edges[i] / 3).normalized();
    const double length =
        (w.vertices[line.vertices[i]] - w.vertices[line.vertices[(i + 1) % line.vertices.size()]]).norm();
    if (beside.allFinite()) steep += length * std::acos(std::clamp(beside.dot(n), -1.0, 1.0));
  }
  line.steepness = perimeter > 0 ? steep / perimeter : 0;
}

}  // namespace

std::vector<BorderLine> border_lines(const Workpiece& w) {
  const std::vector<HalfEdge> opposite = pair_up(w);
  std::vector<HalfEdge> open;
  for (HalfEdge h = 0; h < opposite.size(); ++h)
    if (opposite[h] == none) open.push_back(h);
  // Buckets by end vertex: a closing arrives at the start of one and leaves along another that ends there.
  std::stable_sort(open.begin(), open.end(), [&](HalfEdge a, HalfEdge b) { return w.to(a) < w.to(b); });
  std::vector<bool> used(open.size());
  const auto leaving = [&](HalfEdge h) {
    const Index v = w.from(h);
    auto it = std::lower_bound(open.begin(), open.end(), v, [&](HalfEdge g, Index x) { return w.to(g) < x; });
    std::size_t best = open.size();
    double narrowest = -2;
    for (; it != open.end() && w.to(*it) == v; ++it) {
      const auto i = static_cast<std::size_t>(it - open.begin());
      if (used[i]) continue;
      const Vec3 back = (w.vertices[w.to(h)] - w.vertices[v]).normalized();
      const Vec3 onward = (w.vertices[w.from(*it)] - w.vertices[v]).normalized();
      if (const double c = back.dot(onward); best == open.size() || c > narrowest) {
        narrowest = c;
        best = i;
      }
    }
    return best;
  };

  std::vector<BorderLine> lines;
  std::vector<Index> place(w.vertices.size(), none);  // on the walk
  for (std::size_t seed = 0; seed < open.size(); ++seed) {
    std::vector<HalfEdge> walk;
    for (std::size_t i = seed; i < open.size() && !used[i];) {
      used[i] = true;
      place[w.to(open[i])] = static_cast<Index>(walk.size());
      walk.push_back(open[i]);
      const Index arrived = w.from(open[i]);
      if (place[arrived] != none) {  // a closed line: cut it off the walk
        BorderLine line;
        const std::size_t begin = place[arrived];
        for (std::size_t k = begin; k < walk.size(); ++k) {
          line.vertices.push_back(w.to(walk[k]));
          line.half_edges.push_back(walk[k]);
          place[w.to(walk[k])] = none;
        }
        walk.resize(begin);
        if (line.vertices.size() > 2) {
          describe(w, line);
          lines.push_back(std::move(line));
        }
      }
      const HalfEdge last = open[i];
      i = leaving(last);
      if (walk.empty()) break;
    }
    for (const HalfEdge h : walk) place[w.to(h)] = none;
  }
  return lines;
}

}  // namespace pourwright::mending

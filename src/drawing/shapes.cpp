// SPDX-License-Identifier: GPL-3.0-or-later
// Hatching and circles, worked out once as lines, so that the PNG and the SVG show the same ones.
#include <pourwright/drawing.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace pourwright::drawing {
namespace {

/// More lines than anybody can see: the area is larger than any sheet.
constexpr double most_lines = 20'000;

/// Where a level line at `y` passes an edge, and which way the edge runs.
struct Crossing {
  double x;
  int turn;
};

}  // namespace

std::vector<Ring> hatching(const std::vector<Ring>& rings, double degrees, double apart) {
  const double a = degrees * std::numbers::pi / 180, c = std::cos(a), s = std::sin(a);
  // Turned so that the lines are level; y runs down.
  const auto turned = [&](At p) { return At{c * p.x - s * p.y, s * p.x + c * p.y}; };
  const auto back = [&](At p) { return At{c * p.x + s * p.y, -s * p.x + c * p.y}; };
  std::vector<std::pair<At, At>> edges;
  double low = 1e300, high = -1e300;
  for (const Ring& ring : rings)
    for (std::size_t i = 0; i < ring.size(); ++i) {
      edges.emplace_back(turned(ring[i]), turned(ring[(i + 1) % ring.size()]));
      low = std::min(low, edges.back().first.y);
      high = std::max(high, edges.back().first.y);
    }
  std::vector<Ring> lines;
  if (!(apart > 0) || !(high - low < most_lines * apart)) return lines;
  std::vector<std::vector<Crossing>> met;
  const double first = std::ceil(low / apart);
  for (const auto& [p, q] : edges) {
    const auto [top, bottom] = std::minmax(p.y, q.y);
    for (double k = std::max(std::ceil(top / apart), first); k * apart < bottom; ++k) {
      const auto row = static_cast<std::size_t>(k - first);
      if (met.size() <= row) met.resize(row + 1);
      met[row].push_back({p.x + (q.x - p.x) * (k * apart - p.y) / (q.y - p.y), p.y < q.y ? 1 : -1});
    }
  }
  for (std::size_t row = 0; row < met.size(); ++row) {
    std::sort(met[row].begin(), met[row].end(),
              [](const Crossing& l, const Crossing& r) { return l.x < r.x; });
    const double y = (first + static_cast<double>(row)) * apart;
    int winding = 0;
    double from = 0;
    for (const Crossing& m : met[row]) {
      if (winding == 0) from = m.x;
      winding += m.turn;
      if (winding == 0 && m.x > from) lines.push_back({back({from, y}), back({m.x, y})});
    }
  }
  return lines;
}

Ring circle(At centre, double radius) {
  const int corners = std::clamp(static_cast<int>(8 + 3 * std::sqrt(radius) * 2), 8, 128);
  Ring ring;
  for (int k = 0; k < corners; ++k) {
    const double a = 2 * std::numbers::pi * k / corners;
    ring.push_back({centre.x + radius * std::cos(a), centre.y + radius * std::sin(a)});
  }
  return ring;
}

}  // namespace pourwright::drawing

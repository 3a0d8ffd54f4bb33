// SPDX-License-Identifier: GPL-3.0-or-later
// Painting. Laws: an area covers a point by its exact width in each of `rows_a_point` rows through it; what
// lies outside the sheet is not painted; rounding is to the nearest of 256 steps, so the same on every
// machine that keeps to IEEE arithmetic.
#include "drawing/canvas.hpp"

#include "drawing/lettering.hpp"

#include <algorithm>
#include <cmath>
#include <variant>

namespace pourwright::drawing {
namespace {

constexpr int rows_a_point = 5;
/// Dashes beyond this many are drawn as a whole line.
constexpr double most_dashes = 5'000;

struct Edge {
  double x, y, to_x, to_y;  ///< downwards
  int turn;
  double at(double row) const { return x + (to_x - x) * (row - y) / (to_y - y); }
};

std::vector<Edge> edges_of(const std::vector<Ring>& rings, int height) {
  std::vector<Edge> edges;
  for (const Ring& ring : rings)
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const At &p = ring[i], &q = ring[(i + 1) % ring.size()];
      if (!std::isfinite(p.x + p.y + q.x + q.y) || p.y == q.y) continue;
      const Edge e = p.y < q.y ? Edge{p.x, p.y, q.x, q.y, 1} : Edge{q.x, q.y, p.x, p.y, -1};
      if (e.to_y > 0 && e.y < height) edges.push_back(e);
    }
  std::sort(edges.begin(), edges.end(), [](const Edge& a, const Edge& b) { return a.y < b.y; });
  return edges;
}

/// How much of each point of one row is covered.
class Row {
 public:
  explicit Row(int width) : covered_(static_cast<std::size_t>(width) + 1) {}

  void add(double from, double to, double share) {
    const double end = static_cast<double>(covered_.size() - 1);
    from = std::clamp(from, 0.0, end);
    to = std::clamp(to, 0.0, end);
    if (!(to > from)) return;
    const auto a = static_cast<std::size_t>(from), b = static_cast<std::size_t>(to);
    low_ = std::min(low_, a);
    high_ = std::max(high_, b);
    if (a == b) {
      covered_[a] += share * (to - from);
      return;
    }
    covered_[a] += share * (static_cast<double>(a + 1) - from);
    for (std::size_t x = a + 1; x < b; ++x) covered_[x] += share;
    covered_[b] += share * (to - static_cast<double>(b));
  }
  template <class Paint>
  void take(Paint paint) {
    for (std::size_t x = low_; x <= high_ && x + 1 < covered_.size(); ++x)
      if (covered_[x] > 0) paint(static_cast<int>(x), std::min(covered_[x], 1.0));
    for (std::size_t x = low_; x <= high_ && x < covered_.size(); ++x) covered_[x] = 0;
    low_ = covered_.size();
    high_ = 0;
  }

 private:
  std::vector<double> covered_;
  std::size_t low_ = covered_.size(), high_ = 0;
};

/// A piece of a line as an area; all of them wind the same way, so that overlaps stay inside.
void add_piece(std::vector<Ring>& areas, At p, At q, double half) {
  const double dx = q.x - p.x, dy = q.y - p.y, length = std::hypot(dx, dy);
  if (length > 0) {
    const double nx = -dy / length * half, ny = dx / length * half;
    areas.push_back({{p.x + nx, p.y + ny}, {p.x - nx, p.y - ny}, {q.x - nx, q.y - ny}, {q.x + nx, q.y + ny}});
  }
}

std::vector<Ring> dashed(const Ring& line, double dash) {
  std::vector<Ring> out;
  double length = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i)
    length += std::hypot(line[i + 1].x - line[i].x, line[i + 1].y - line[i].y);
  if (!(length < most_dashes * dash)) return {line};
  double left = dash;
  bool on = true;
  Ring part{line[0]};
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    At p = line[i];
    const At q = line[i + 1];
    double rest = std::hypot(q.x - p.x, q.y - p.y);
    while (rest > left) {
      p = {p.x + (q.x - p.x) * left / rest, p.y + (q.y - p.y) * left / rest};
      rest -= left;
      part.push_back(p);
      if (on) out.push_back(part);
      part = {p};
      on = !on;
      left = dash;
    }
    left -= rest;
    part.push_back(q);
  }
  if (on && part.size() > 1) out.push_back(part);
  return out;
}

}  // namespace

Canvas::Canvas(int width, int height, const Ink& paper) {
  raster_.width = width;
  raster_.height = height;
  raster_.rgba.resize(4 * static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
  for (std::size_t i = 0; i < raster_.rgba.size(); i += 4) {
    raster_.rgba[i] = paper.r;
    raster_.rgba[i + 1] = paper.g;
    raster_.rgba[i + 2] = paper.b;
    raster_.rgba[i + 3] = 255;
  }
}

/// The paper hides everything, so a point stays opaque.
void Canvas::blend(int x, int y, const Ink& ink, double share) {
  std::uint8_t* const p =
      raster_.rgba.data() + 4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(raster_.width) +
                                 static_cast<std::size_t>(x));
  const int a = static_cast<int>(ink.alpha * share * 256 + 0.5);
  const auto mix = [a](int below, int above) {
    return static_cast<std::uint8_t>((below * (256 - a) + above * a + 128) >> 8);
  };
  p[0] = mix(p[0], ink.r);
  p[1] = mix(p[1], ink.g);
  p[2] = mix(p[2], ink.b);
}

void Canvas::fill(const std::vector<Ring>& rings, const Ink& ink) {
  const std::vector<Edge> edges = edges_of(rings, raster_.height);
  if (edges.empty()) return;
  double bottom = 0;
  for (const Edge& e : edges) bottom = std::max(bottom, e.to_y);
  Row row(raster_.width);
  std::vector<const Edge*> here;
  std::vector<std::pair<double, int>> met;
  std::size_t next = 0;
  const int last = static_cast<int>(std::min(bottom, raster_.height - 1.0));
  for (int y = static_cast<int>(std::max(edges[0].y, 0.0)); y <= last; ++y) {
    for (; next < edges.size() && edges[next].y < y + 1; ++next) here.push_back(&edges[next]);
    std::erase_if(here, [&](const Edge* e) { return e->to_y <= y; });
    for (int k = 0; k < rows_a_point; ++k) {
      const double at = y + (k + 0.5) / rows_a_point;
      met.clear();
      for (const Edge* e : here)
        if (e->y <= at && at < e->to_y) met.emplace_back(e->at(at), e->turn);
      std::sort(met.begin(), met.end());
      int winding = 0;
      double from = 0;
      for (const auto& [x, turn] : met) {
        if (winding == 0) from = x;
        winding += turn;
        if (winding == 0) row.add(from, x, 1.0 / rows_a_point);
      }
    }
    row.take([&](int x, double share) { blend(x, y, ink, share); });
  }
}

void Canvas::draw(const std::vector<Ring>& rings, bool closed, const Stroke& stroke) {
  const double half = stroke.width / 2;
  std::vector<Ring> areas;
  for (const Ring& ring : rings) {
    if (ring.empty()) continue;
    Ring line = ring;
    if (closed) line.push_back(ring[0]);
    for (const Ring& part : stroke.dash > 0 ? dashed(line, stroke.dash) : std::vector<Ring>{line}) {
      for (std::size_t i = 0; i + 1 < part.size(); ++i) add_piece(areas, part[i], part[i + 1], half);
      for (std::size_t i = 0; i < part.size(); ++i) {
        // Thin lines show no corners.
        if (half < 0.6 && i > 0 && i + 1 < part.size()) continue;
        areas.push_back(circle(part[i], half));
      }
    }
  }
  fill(areas, stroke.ink);
}

void Canvas::place(const Placed& placed) {
  const Raster& r = placed.raster;
  for (int y = std::max(0, -placed.y); y < r.height && placed.y + y < raster_.height; ++y)
    for (int x = std::max(0, -placed.x); x < r.width && placed.x + x < raster_.width; ++x) {
      const std::uint8_t* const p =
          r.rgba.data() +
          4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(r.width) + static_cast<std::size_t>(x));
      if (p[3] > 0) blend(placed.x + x, placed.y + y, {p[0], p[1], p[2], 1}, p[3] / 255.0);
    }
}

void Canvas::write(const Words& words) {
  const double width = width_of(words.text, words.size, words.bold);
  At at = words.at;
  if (words.anchor != Anchor::start) at.x -= words.anchor == Anchor::middle ? width / 2 : width;
  draw(lettered(words.text, at, words.size), false, {words.ink, pen_width(words.size, words.bold)});
}

Raster painted(const Sheet& sheet) {
  Canvas canvas(sheet.width, sheet.height, sheet.paper);
  for (const auto& item : sheet.items) {
    if (const auto* const placed = std::get_if<Placed>(&item)) canvas.place(*placed);
    if (const auto* const words = std::get_if<Words>(&item)) canvas.write(*words);
    if (const auto* const shape = std::get_if<Shape>(&item)) {
      if (shape->fill) canvas.fill(shape->rings, *shape->fill);
      if (shape->edge) canvas.draw(shape->rings, shape->closed, *shape->edge);
    }
  }
  return canvas.take();
}

}  // namespace pourwright::drawing

// SPDX-License-Identifier: GPL-3.0-or-later
// Which borders are a rim and which are holes, and what closes the holes.
#include "geometry/repair/borders.hpp"
#include "geometry/repair/creases.hpp"
#include "geometry/repair/facets.hpp"
#include "geometry/repair/fillings.hpp"

#include <cmath>
#include <numeric>

#include <fmt/format.h>

namespace pourwright::mending {
namespace {

// Half widths, as shares of area × extent of a hole. Measured: docs/algorithms/interval.md.
constexpr double doubt_of_plane = 2e-4;  // the faces round it lie in planes
constexpr double doubt_of_side = 1e-3;   // a flat side is missing
constexpr double doubt_of_curve = 1.0;   // of the difference between the flat and the curved closing
constexpr double doubt_of_bend = 0.02;   // per radian between the closing and what lies round it
constexpr double doubt_of_sag = 0.3;     // of a crease's bend across the hole, times the area
// Of the distance to the fullest and the hollowest closing without new points: of a few triangles one of them
// was there; of many the surface is rarely as far off, and less so where its creases were continued.
constexpr double doubt_of_few = 1, doubt_of_others = 0.4, doubt_of_parts = 0.2;

struct Closing {
  Filling chosen;
  std::vector<Triangle> flat;  // the alternative; empty when there is none worth a difference
  double change = 0;           // volume of the chosen against the flat
  double doubt = 0;
  bool creased = false;
  bool plane = false;  ///< of the faces round it
};

double volume_under(const std::vector<Vec3>& loop, const Vec3& origin, const Filling& f) {
  const auto at = [&](Index i) {
    return Vec3((i < loop.size() ? loop[i] : f.added[i - loop.size()]) - origin);
  };
  double six = 0;
  for (const Triangle& t : f.triangles) six += at(t[0]).dot(at(t[1]).cross(at(t[2])));
  return six / 6;
}

/// The most that a closing without new points can enclose, by dynamic programming over the diagonals
/// (Klincsek, Annals of Discrete Mathematics 9 (1980) 121–123). O(n³). With `sense` −1: minus the least.
double most_enclosed(const std::vector<Vec3>& loop, const Vec3& origin, double sense) {
  const std::size_t n = loop.size();
  std::vector<double> best(n * n);
  for (std::size_t gap = 2; gap < n; ++gap)
    for (std::size_t i = 0, j = gap; j < n; ++i, ++j) {
      const Vec3 across = sense / 6 * (loop[j] - origin).cross(loop[i] - origin);
      double most = -std::numeric_limits<double>::infinity();
      for (std::size_t k = i + 1; k < j; ++k)
        most = std::max(most, best[i * n + k] + best[k * n + j] + across.dot(loop[k] - origin));
      best[i * n + j] = most;
    }
  return best[n - 1];
}

class Closer {
 public:
  Closer(Workpiece& w, const RepairOptions& options) : w_(w), options_(options) {}

  HoleReport run() {
    lines_ = border_lines(w_);
    HoleReport report;
    report.first_fill = w_.triangles.size();
    if (lines_.empty()) return report;
    std::vector<bool> done(lines_.size());
    if (const auto rim = find_rim(); rim < lines_.size()) done[rim] = report.rim_kept = true;
    for (std::size_t i = 0; i < lines_.size(); ++i)
      if (left_open(lines_[i])) done[i] = report.rim_kept = true;
    fans_ = Fans(w_);
    close_rings(done, report);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < lines_.size(); ++i)
      if (!done[i]) order.push_back(i);
    for (const std::size_t i : order) {
      Closing c = close(lines_[i]);
      consider_others(lines_[i], c);
      add(lines_[i], c, report);
    }
    note(order.size(), report);
    return report;
  }

 private:
  bool left_open(const BorderLine& line) const {
    using Which = CloseHoles::Which;
    return options_.close_holes.which == Which::nothing ||
           (options_.close_holes.which == Which::up_to &&
            line.extent > in_millimetres(options_.close_holes.size));
  }

  /// A scan's rim goes round the piece as seen from above and lies above the middle of the surface it bounds:
  /// the surface hangs from it. A missing underside goes round too, but the surface stands on it.
  std::size_t find_rim() const {
    const std::size_t nothing = lines_.size();
    if (!options_.may_have_rim || options_.close_holes.which != CloseHoles::Which::decide) return nothing;
    Vec3 middle = Vec3::Zero();
    double area = 0;
    for (std::size_t t = 0; t < w_.triangles.size(); ++t) {
      const double a = w_.normal(t).norm() / 2;
      area += a;
      middle += a * w_.middle(t);
    }
    middle /= area;
    std::size_t best = nothing;
    for (std::size_t i = 0; i < lines_.size(); ++i)
      if (may_be_rim(lines_[i], middle) &&
          (best == nothing || lines_[i].area.norm() > lines_[best].area.norm()))
        best = i;
    if (best < nothing && ring_partner(best) < nothing) return nothing;
    return best;
  }

  bool may_be_rim(const BorderLine& line, const Vec3& middle) const {
    Vec3 up = options_.up.normalized();
    if (!options_.up_known) {
      up = line.area.normalized();
      if (!up.allFinite()) return false;
      if ((line.middle - middle).dot(up) < 0) up = -up;
    }
    const Vec3 e1 = up.unitOrthogonal(), e2 = up.cross(e1);
    const auto plan = [&](const Vec3& p) { return Vec3(p.dot(e1), p.dot(e2), p.dot(up)); };
    Box all, box;
    for (const Vec3& p : w_.vertices) all.add(plan(p));
    for (const Index v : line.vertices) box.add(plan(w_.vertices[v]));
    const Vec3 whole = all.size();
    return box.size().x() >= 0.5 * whole.x() && box.size().y() >= 0.5 * whole.y() &&
           std::abs(line.area.dot(up)) >= 0.25 * whole.x() * whole.y() &&
           (line.middle - middle).dot(up) >= 0.05 * whole.z();
  }

  /// The border that lies inside this one in its plane, runs the other way and bounds another component:
  /// between them a flat ring is missing, such as the top face of a cup.
  std::size_t ring_partner(std::size_t outer) const {
    const BorderLine& o = lines_[outer];
    const Vec3 n = o.area.normalized();
    if (o.unevenness > 1e-3 * o.extent) return lines_.size();
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      const BorderLine& l = lines_[i];
      if (i == outer || l.area.dot(n) >= -0.9 * l.area.norm() || l.area.norm() >= o.area.norm()) continue;
      if (std::abs((l.middle - o.middle).dot(n)) > 1e-3 * o.extent || l.unevenness > 1e-3 * o.extent)
        continue;
      if (!inside(o, l, n) || component(o) == component(l)) continue;
      return i;
    }
    return lines_.size();
  }

  bool inside(const BorderLine& o, const BorderLine& l, const Vec3& n) const {
    const Vec3 e1 = n.unitOrthogonal(), e2 = n.cross(e1);
    const Vec3 p = w_.vertices[l.vertices[0]];
    bool in = false;
    for (std::size_t i = 0; i < o.vertices.size(); ++i) {
      const Vec3 a = w_.vertices[o.vertices[i]] - p,
                 b = w_.vertices[o.vertices[(i + 1) % o.vertices.size()]] - p;
      const double ay = a.dot(e2), by = b.dot(e2);
      if ((ay > 0) == (by > 0)) continue;
      if (a.dot(e1) + (b.dot(e1) - a.dot(e1)) * ay / (ay - by) > 0) in = !in;
    }
    return in;
  }

  Index component(const BorderLine& line) const {
    if (component_.empty()) {
      DisjointSets sets(w_.triangles.size());
      for_each_edge(w_.triangles, w_.vertices.size(), [&](Index, std::span<const EdgeUse> uses) {
        for (std::size_t i = 1; i < uses.size(); ++i)
          sets.unite(uses[0].half_edge / 3, uses[i].half_edge / 3);
      });
      std::move(sets).number(component_);
    }
    return component_[line.half_edges[0] / 3];
  }

  void close_rings(std::vector<bool>& done, HoleReport& report) {
    if (lines_.size() > 64) return;  // a missing face leaves few borders
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      if (done[i]) continue;
      const std::size_t partner = ring_partner(i);
      if (partner >= lines_.size() || done[partner]) continue;
      const BorderLine &o = lines_[i], &l = lines_[partner];
      std::vector<Vec3> points;
      std::vector<std::vector<Index>> rings(2);
      std::vector<Index> global;
      for (const BorderLine* line : {&o, &l})
        for (const Index v : line->vertices) {
          rings[line == &o ? 0 : 1].push_back(static_cast<Index>(points.size()));
          points.push_back(w_.vertices[v]);
          global.push_back(v);
        }
      const auto spanned = span_plane(points, rings, o.area);
      if (!spanned) continue;
      done[i] = done[partner] = true;
      for (const Triangle& t : *spanned) {
        const Triangle g{global[t[0]], global[t[1]], global[t[2]]};
        w_.triangles.push_back(g);
        report.least.push_back(g);
        report.most.push_back(g);
      }
      const double area = (o.area + l.area).norm();
      RepairStep& s = w_.step("missing-sides");
      if (s.count++ == 0) s.at = o.middle;
      s.doubt += cubic_millimetres(area * (o.unevenness + l.unevenness + doubt_of_side * o.extent));
    }
  }

  /// The triangles within three rows of a part of a border that can be reached without crossing a crease.
  std::vector<Index> smooth_round(const Parts::Part& part) const {
    std::vector<Index> ring;
    for (const HalfEdge h : part.half_edges)
      if (h != none) ring.push_back(h / 3);
    std::sort(ring.begin(), ring.end());
    ring.erase(std::unique(ring.begin(), ring.end()), ring.end());
    std::vector<Index> row = ring;
    for (int k = 0; k < 4; ++k) {
      std::vector<Index> wider;
      for (const Index t : row)
        for (const Index v : w_.triangles[t])
          for (const Index u : fans_.at(v))
            if (!std::binary_search(ring.begin(), ring.end(), u) && shares_edge(t, u) &&
                !sharp_between(w_, t, u))
              wider.push_back(u);
      std::sort(wider.begin(), wider.end());
      wider.erase(std::unique(wider.begin(), wider.end()), wider.end());
      row = wider;
      ring.insert(ring.end(), wider.begin(), wider.end());
      std::sort(ring.begin(), ring.end());
    }
    return ring;
  }

  bool shares_edge(Index t, Index u) const {
    int common = 0;
    for (const Index a : w_.triangles[t])
      for (const Index b : w_.triangles[u]) common += a == b;
    return common == 2;
  }

  /// The flat closing bent to follow the triangles round the hole.
  std::optional<Filling> bend(const BorderLine& line, const Parts::Part& part, const std::vector<Vec3>& loop,
                              const std::vector<Triangle>& flat) const {
    std::vector<std::pair<Index, Index>> local;  // vertex, number
    for (Index i = 0; i < part.corners.size(); ++i)
      if (part.corners[i] < line.vertices.size()) local.emplace_back(line.vertices[part.corners[i]], i);
    std::sort(local.begin(), local.end());
    const std::vector<Index> ring = smooth_round(part);
    std::vector<Index> corners;
    for (const Index t : ring) corners.insert(corners.end(), w_.triangles[t].begin(), w_.triangles[t].end());
    std::sort(corners.begin(), corners.end());
    corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
    const auto known = [&](Index v) {
      const auto it = std::lower_bound(local.begin(), local.end(), std::pair(v, Index{0}));
      return it != local.end() && it->first == v ? it->second : none;
    };
    std::vector<Vec3> points;
    std::vector<std::pair<Index, Index>> fresh;
    for (const Index v : corners)
      if (known(v) == none) {
        fresh.emplace_back(v, static_cast<Index>(loop.size() + points.size()));
        points.push_back(w_.vertices[v]);
      }
    local.insert(local.end(), fresh.begin(), fresh.end());
    std::sort(local.begin(), local.end());
    // Triangles on the line first: the closing must hang on them.
    std::vector<Index> beside;
    for (const HalfEdge h : part.half_edges)
      if (h != none) beside.push_back(h / 3);
    std::sort(beside.begin(), beside.end());
    beside.erase(std::unique(beside.begin(), beside.end()), beside.end());
    std::vector<Triangle> triangles;
    const auto take = [&](Index t) {
      const Triangle& c = w_.triangles[t];
      triangles.push_back({known(c[0]), known(c[1]), known(c[2])});
    };
    for (const Index t : beside) take(t);
    for (const Index t : ring)
      if (!std::binary_search(beside.begin(), beside.end(), t)) take(t);
    return follow_surface(loop, flat, points, triangles);
  }

  Closing close(const BorderLine& line) {
    const double scale = std::max(line.area.norm(), 1e-3 * line.extent * line.extent) * line.extent;
    Closing c;
    if (auto facets = continue_facets(w_, line)) {
      c.chosen = std::move(*facets);
      c.plane = true;
      c.doubt = doubt_of_plane * scale;
      return c;
    }
    constexpr double steep = 0.85;  // radians; a cap of 5 % of a sphere has 0.45
    if (line.unevenness < 0.01 * line.extent && line.steepness > steep) {
      std::vector<Vec3> loop;
      for (const Index v : line.vertices) loop.push_back(w_.vertices[v]);
      std::vector<Index> all(loop.size());
      std::iota(all.begin(), all.end(), Index{0});
      if (auto flat = span_plane(loop, {all}, line.area)) {
        c.chosen.triangles = std::move(*flat);
        c.doubt = line.area.norm() * line.unevenness + doubt_of_side * scale;
        return c;
      }
    }
    const Parts parts = continue_creases(w_, fans_, line);
    if (parts.list.size() > 1) return close_parts(line, parts);
    fill(line, parts, 0, scale, c);
    return c;
  }

  /// Each part between the creases for itself.
  Closing close_parts(const BorderLine& line, const Parts& parts) const {
    Closing whole;
    const auto n = static_cast<Index>(line.vertices.size());
    whole.chosen.added = parts.added;
    for (std::size_t k = 0; k < parts.list.size(); ++k) {
      const std::vector<Index>& corners = parts.list[k].corners;
      Vec3 area = Vec3::Zero();
      Box box;
      for (std::size_t i = 0; i < corners.size(); ++i) {
        box.add(corner(line, parts, corners[i]));
        area += (corner(line, parts, corners[i]) - line.middle)
                    .cross(corner(line, parts, corners[(i + 1) % corners.size()]) - line.middle) /
                2;
      }
      const double extent = box.size().norm();
      Closing c;
      fill(line, parts, k, std::max(area.norm(), 1e-3 * extent * extent) * extent, c);
      const auto more = static_cast<Index>(n + whole.chosen.added.size());
      const auto number = [&](Index i) {
        return i < corners.size() ? corners[i] : more + (i - static_cast<Index>(corners.size()));
      };
      for (const Triangle& t : c.chosen.triangles)
        whole.chosen.triangles.push_back({number(t[0]), number(t[1]), number(t[2])});
      whole.chosen.added.insert(whole.chosen.added.end(), c.chosen.added.begin(), c.chosen.added.end());
      whole.change += c.change;
      whole.doubt += c.doubt + doubt_of_sag * parts.sag * area.norm();
    }
    whole.creased = true;
    return whole;
  }

  const Vec3& corner(const BorderLine& line, const Parts& parts, Index i) const {
    return i < line.vertices.size() ? w_.vertices[line.vertices[i]] : parts.added[i - line.vertices.size()];
  }

  /// Closes one part; corners of the filling are the part's. `scale` is its area × extent.
  void fill(const BorderLine& line, const Parts& parts, std::size_t k, double scale, Closing& c) const {
    const Parts::Part& part = parts.list[k];
    std::vector<Vec3> loop, beside;
    for (std::size_t i = 0; i < part.corners.size(); ++i) {
      loop.push_back(corner(line, parts, part.corners[i]));
      if (part.half_edges[i] != none) beside.push_back(w_.vertices[w_.from(previous(part.half_edges[i]))]);
    }
    if (beside.size() < loop.size()) beside.clear();
    const std::vector<Triangle> flat = span_loop(loop, beside);
    c.chosen.triangles = flat;
    Vec3 area = Vec3::Zero();
    for (std::size_t i = 0; i < loop.size(); ++i)
      area += (loop[i] - loop[0]).cross(loop[(i + 1) % loop.size()] - loop[0]) / 2;
    double bend_angle = 0, edges = 0;
    for (const HalfEdge h : part.half_edges) {
      if (h == none) continue;
      const double cosine = w_.normal(h / 3).normalized().dot(area.normalized());
      if (std::isfinite(cosine)) bend_angle += std::acos(std::clamp(cosine, -1.0, 1.0));
      ++edges;
    }
    bend_angle /= std::max(edges, 1.0);
    c.doubt = doubt_of_bend * bend_angle * scale;
    if (loop.size() == 3) return;
    if (auto bent = bend(line, part, loop, flat)) {
      c.change = volume_under(loop, line.middle, *bent) - volume_under(loop, line.middle, {{}, flat});
      c.chosen = std::move(*bent);
      if (!c.chosen.added.empty()) c.flat = flat;
      c.doubt += doubt_of_curve * std::abs(c.change);
    } else {
      c.doubt += std::tan(std::min(bend_angle, 1.3)) * scale / 6;  // what a cap of that slope would hold
    }
  }

  /// What the closings without new points leave open.
  void consider_others(const BorderLine& line, Closing& c) const {
    const std::size_t n = line.vertices.size();
    if (n < 4 || n > 200) return;
    std::vector<Vec3> loop;
    for (const Index v : line.vertices) loop.push_back(w_.vertices[v]);
    const double own = volume_under(loop, line.middle, c.chosen);
    const double off =
        std::max(most_enclosed(loop, line.middle, 1) - own, own + most_enclosed(loop, line.middle, -1));
    c.doubt = std::max(c.doubt, (n < 7 ? doubt_of_few : c.creased ? doubt_of_parts : doubt_of_others) * off);
  }

  void add(const BorderLine& line, const Closing& c, HoleReport& report) {
    const auto base = static_cast<Index>(w_.vertices.size());
    const std::size_t n = line.vertices.size();
    const auto global = [&](const Triangle& t) {
      Triangle g;
      for (std::size_t k = 0; k < 3; ++k)
        g[k] = t[k] < n ? line.vertices[t[k]] : base + static_cast<Index>(t[k] - n);
      return g;
    };
    w_.vertices.insert(w_.vertices.end(), c.chosen.added.begin(), c.chosen.added.end());
    for (const Triangle& t : c.chosen.triangles) w_.triangles.push_back(global(t));
    for (auto* variant : {&report.least, &report.most}) {
      const bool flat = !c.flat.empty() && (c.change > 0) == (variant == &report.least);
      for (const Triangle& t : flat ? c.flat : c.chosen.triangles) variant->push_back(global(t));
    }
    RepairStep& s = w_.step("holes-closed");
    if (s.count++ == 0 || line.extent > largest_) {
      s.at = line.middle;
      largest_ = line.extent;
    }
    s.change += cubic_millimetres(c.change);
    report.patches.push_back(
        {line.box, cubic_millimetres(c.doubt), line.area.norm(), c.creased || c.plane || n == 3});
    for (const Vec3& p : c.chosen.added) report.patches.back().box.add(p);
  }

  void note(std::size_t closed, const HoleReport& report) {
    if (closed == 0) return;
    RepairStep& s = w_.step("holes-closed");
    std::vector<Volume> doubts;
    for (const Patched& p : report.patches) doubts.push_back(p.doubt);
    s.doubt = together(doubts);
    const std::string_view size = largest_ < 0.1 * w_.size ? "small " : "";
    s.text = s.count == 1 ? fmt::format("closed a {}hole of {:.2g} mm", size, largest_)
                          : fmt::format("closed {} {}holes of up to {:.2g} mm", s.count, size, largest_);
  }

  Workpiece& w_;
  const RepairOptions& options_;
  std::vector<BorderLine> lines_;
  Fans fans_;
  mutable std::vector<Index> component_;
  double largest_ = 0;
};

}  // namespace

HoleReport close_borders(Workpiece& w, const RepairOptions& options) {
  return Closer(w, options).run();
}

}  // namespace pourwright::mending

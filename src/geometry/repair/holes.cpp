// SPDX-License-Identifier: GPL-3.0-or-later
// Which borders are a rim and which are holes, and what closes the holes.
#include "geometry/repair/borders.hpp"
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

struct Closing {
  Filling chosen;
  std::vector<Triangle> flat;  // the alternative; empty when there is none worth a difference
  double change = 0;           // volume of the chosen against the flat
  double doubt = 0;
};

double volume_under(const std::vector<Vec3>& loop, const Vec3& origin, const Filling& f) {
  const auto at = [&](Index i) {
    return Vec3((i < loop.size() ? loop[i] : f.added[i - loop.size()]) - origin);
  };
  double six = 0;
  for (const Triangle& t : f.triangles) six += at(t[0]).dot(at(t[1]).cross(at(t[2])));
  return six / 6;
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
    list_triangles_round_vertices();
    close_rings(done, report);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < lines_.size(); ++i)
      if (!done[i]) order.push_back(i);
    for (const std::size_t i : order) add(lines_[i], close(lines_[i]), report);
    note(order.size());
    return report;
  }

 private:
  bool left_open(const BorderLine& line) const {
    using Which = CloseHoles::Which;
    return options_.close_holes.which == Which::nothing ||
           (options_.close_holes.which == Which::up_to &&
            line.extent > in_millimetres(options_.close_holes.size));
  }

  /// A scan's rim goes round the piece as seen from above and lies above the middle of the surface it bounds: the
  /// surface hangs from it. A missing underside goes round too, but the surface stands on it.
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
      if (may_be_rim(lines_[i], middle) && (best == nothing || lines_[i].area.norm() > lines_[best].area.norm())) best = i;
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

  void list_triangles_round_vertices() {
    start_.assign(w_.vertices.size() + 1, 0);
    for (const Triangle& t : w_.triangles)
      for (const Index v : t) ++start_[v];
    Index sum = 0;
    for (Index& s : start_) s = sum += s;
    round_.resize(3 * w_.triangles.size());
    for (std::size_t t = w_.triangles.size(); t-- > 0;)
      for (const Index v : w_.triangles[t]) round_[--start_[v]] = static_cast<Index>(t);
  }

  /// The flat closing bent to follow the three rows of triangles round the hole.
  std::optional<Filling> bend(const BorderLine& line, const std::vector<Vec3>& loop,
                              const std::vector<Triangle>& flat) {
    std::vector<Index> row = line.vertices, ring;
    std::vector<std::pair<Index, Index>> local;  // vertex, number
    for (Index i = 0; i < row.size(); ++i) local.emplace_back(row[i], i);
    std::sort(local.begin(), local.end());
    for (int k = 0; k < 3; ++k) {
      std::vector<Index> wider;
      for (const Index v : row)
        for (Index i = start_[v]; i < start_[v + 1]; ++i) ring.push_back(round_[i]);
      std::sort(ring.begin(), ring.end());
      ring.erase(std::unique(ring.begin(), ring.end()), ring.end());
      if (k == 2) break;
      for (const Index t : ring) wider.insert(wider.end(), w_.triangles[t].begin(), w_.triangles[t].end());
      std::sort(wider.begin(), wider.end());
      wider.erase(std::unique(wider.begin(), wider.end()), wider.end());
      row = std::move(wider);
    }
    std::vector<Vec3> points;
    std::vector<Triangle> triangles;
    std::vector<std::pair<Index, Index>> fresh;
    std::vector<Index> corners;
    for (const Index t : ring) corners.insert(corners.end(), w_.triangles[t].begin(), w_.triangles[t].end());
    std::sort(corners.begin(), corners.end());
    corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
    const auto known = [&](Index v) {
      const auto it = std::lower_bound(local.begin(), local.end(), std::pair(v, Index{0}));
      return it != local.end() && it->first == v ? it->second : none;
    };
    for (const Index v : corners)
      if (known(v) == none) {
        fresh.emplace_back(v, static_cast<Index>(loop.size() + points.size()));
        points.push_back(w_.vertices[v]);
      }
    local.insert(local.end(), fresh.begin(), fresh.end());
    std::sort(local.begin(), local.end());
    // Triangles on the line first: the closing must hang on them.
    std::vector<Index> beside;
    for (const HalfEdge h : line.half_edges) beside.push_back(h / 3);
    std::sort(beside.begin(), beside.end());
    beside.erase(std::unique(beside.begin(), beside.end()), beside.end());
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
    std::vector<Vec3> loop, beside;
    for (std::size_t i = 0; i < line.vertices.size(); ++i) {
      loop.push_back(w_.vertices[line.vertices[i]]);
      beside.push_back(w_.vertices[w_.from(previous(line.half_edges[i]))]);
    }
    const double scale = std::max(line.area.norm(), 1e-3 * line.extent * line.extent) * line.extent;
    Closing c;
    if (auto facets = continue_facets(w_, line)) {
      c.chosen = std::move(*facets);
      c.doubt = doubt_of_plane * scale;
      return c;
    }
    constexpr double steep = 0.85;  // radians; a cap of 5 % of a sphere has 0.45
    if (line.unevenness < 0.01 * line.extent && line.steepness > steep) {
      std::vector<Index> all(loop.size());
      std::iota(all.begin(), all.end(), Index{0});
      if (auto flat = span_plane(loop, {all}, line.area)) {
        c.chosen.triangles = std::move(*flat);
        c.doubt = line.area.norm() * line.unevenness + doubt_of_side * scale;
        return c;
      }
    }
    const std::vector<Triangle> flat = span_loop(loop, beside);
    c.chosen.triangles = flat;
    double bend_angle = 0;
    for (const HalfEdge h : line.half_edges) {
      const double cosine = w_.normal(h / 3).normalized().dot(line.area.normalized());
      if (std::isfinite(cosine))
        bend_angle += std::acos(std::clamp(cosine, -1.0, 1.0)) / static_cast<double>(loop.size());
    }
    c.doubt = doubt_of_bend * bend_angle * scale;
    if (loop.size() == 3) return c;
    if (auto bent = bend(line, loop, flat)) {
      c.change = volume_under(loop, line.middle, *bent) - volume_under(loop, line.middle, {{}, flat});
      c.chosen = std::move(*bent);
      if (!c.chosen.added.empty()) c.flat = flat;
      c.doubt += doubt_of_curve * std::abs(c.change);
    } else {
      c.doubt += std::tan(std::min(bend_angle, 1.3)) * scale / 6;  // what a cap of that slope would hold
    }
    return c;
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
    s.doubt += cubic_millimetres(c.doubt);
    s.flat_doubt += cubic_millimetres(c.doubt - (c.flat.empty() ? 0 : doubt_of_curve * std::abs(c.change)));
    report.stretch = doubt_of_curve;
  }

  void note(std::size_t closed) {
    if (closed == 0) return;
    RepairStep& s = w_.step("holes-closed");
    s.text = s.count == 1 ? fmt::format("closed a hole of {:.3g} mm", largest_)
                          : fmt::format("closed {} holes, the largest {:.3g} mm", s.count, largest_);
  }

  Workpiece& w_;
  const RepairOptions& options_;
  std::vector<BorderLine> lines_;
  std::vector<Index> start_, round_;
  mutable std::vector<Index> component_;
  double largest_ = 0;
};

}  // namespace

HoleReport close_borders(Workpiece& w, const RepairOptions& options) {
  return Closer(w, options).run();
}

}  // namespace pourwright::mending

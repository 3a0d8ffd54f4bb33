// SPDX-License-Identifier: GPL-3.0-or-later
// Which borders are a rim and which are holes, and what closes the holes. A rim is decided by where it lies
// and which way the surface goes on from it: docs/algorithms/repair.md.
#include "geometry/mesh/point_in_polygon.hpp"
#include "geometry/repair/closings.hpp"
#include "geometry/repair/trials.hpp"

#include <cmath>
#include <numbers>

#include <fmt/format.h>

namespace pourwright::mending {
namespace {

constexpr double pi = std::numbers::pi;
/// Triangles of the mean size from which on a hole may have taken a feature with it; it is rarely made of
/// fewer.
constexpr double fewest_missing = 12;
/// Triangles in all trial holes of one size: about a second.
constexpr double most_in_trials = 1e5;
/// Trial holes of one size, and the fewest that say anything. Of 24 the third largest error is the bound.
constexpr double most_trials = 24;
constexpr std::size_t fewest_trials = 4;
/// Holes whose radii differ by less than this factor share their trials.
constexpr double same_radius = 1.5;

// A rim goes round the piece as seen from above: as shares of the width and depth, and of their product. A
// circle covers 0.79 of its square, a triangle half, and a spout or handle beside it may take as much again.
constexpr double rim_span = 0.5, rim_cover = 0.25;
/// The surface hangs from it: how far its middle lies above that of the surface, as a share of the height. A
/// flat tray's floor, as wide as the tray, pulls that to within a tenth.
constexpr double rim_above = 0.05;
/// Of a surface that faces out little lies beyond its rim.
constexpr double rim_span_inverted = 0.8;
/// Nor does it go on across the rim: the share of the border beside which it does by less than 35°. The
/// diagonal of a face of which one triangle is missing makes at least 0.41 of that triangle's border; of a
/// rim nothing does.
constexpr double rim_goes_on = 0.2, goes_on_cosine = 0.82;

/// A flat ring's borders lie in one plane, to this share of their extent, and face each other, to 26°.
constexpr double ring_uneven = 1e-3, ring_facing = 0.9;
/// Borders among which partners are looked for, all with all: a missing face leaves few.
constexpr std::size_t most_for_rings = 64;

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
    fans_ = Fans(w_.vertices.size(), w_.triangles);
    close_rings(done, report);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < lines_.size(); ++i)
      if (!done[i]) order.push_back(i);
    for (const std::size_t i : order) add(lines_[i], close_hole(w_, fans_, lines_[i]), report);
    ask_trials(report);
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
    // The lid of a scan faces into the mold. One that faces out closes a body, such as the missing top of an
    // island in it, unless the scan is wound the wrong way round; but then little of it lies beyond its rim.
    const auto spans = [&](double share) {
      return box.size().x() >= share * whole.x() && box.size().y() >= share * whole.y();
    };
    if (line.area.dot(up) > 0 && (!spans(rim_span_inverted) || goes_on(line))) return false;
    return spans(rim_span) && std::abs(line.area.dot(up)) >= rim_cover * whole.x() * whole.y() &&
           (line.middle - middle).dot(up) >= rim_above * whole.z();
  }

  /// Whether the surface goes on smoothly beyond the border in the direction of a lid on it, as it does
  /// beside a face of which a part is missing.
  bool goes_on(const BorderLine& line) const {
    const Vec3 lid = line.area.normalized();
    double smooth = 0, all = 0;
    for (const HalfEdge h : line.half_edges) {
      const double length = (w_.vertices[w_.to(h)] - w_.vertices[w_.from(h)]).norm();
      all += length;
      if (w_.normal(h / 3).normalized().dot(lid) > goes_on_cosine) smooth += length;
    }
    return smooth > rim_goes_on * all;
  }

  /// The border that lies inside this one in its plane, runs the other way and bounds another component:
  /// between them a flat ring is missing, such as the top face of a cup.
  std::size_t ring_partner(std::size_t outer) const {
    const BorderLine& o = lines_[outer];
    const Vec3 n = o.area.normalized();
    if (o.unevenness > ring_uneven * o.extent) return lines_.size();
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      const BorderLine& l = lines_[i];
      if (i == outer || l.area.dot(n) >= -ring_facing * l.area.norm() || l.area.norm() >= o.area.norm())
        continue;
      if (std::abs((l.middle - o.middle).dot(n)) > ring_uneven * o.extent ||
          l.unevenness > ring_uneven * o.extent)
        continue;
      if (!inside(o, l, n) || component(o) == component(l)) continue;
      return i;
    }
    return lines_.size();
  }

  bool inside(const BorderLine& o, const BorderLine& l, const Vec3& n) const {
    const Vec3 e1 = n.unitOrthogonal(), e2 = n.cross(e1);
    const Vec3 p = w_.vertices[l.vertices[0]];
    PointInPolygon point(0, 0);
    for (std::size_t i = 0; i < o.vertices.size(); ++i) {
      const Vec3 a = w_.vertices[o.vertices[i]] - p,
                 b = w_.vertices[o.vertices[(i + 1) % o.vertices.size()]] - p;
      point.edge(a.dot(e1), a.dot(e2), b.dot(e1), b.dot(e2));
    }
    return point.inside();
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
    if (lines_.size() > most_for_rings) return;
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
      RepairStep& s = w_.step(Mending::missing_sides);
      if (s.count++ == 0) s.at = o.middle;
      s.doubt += cubic_millimetres(area * (o.unevenness + l.unevenness + doubt_of_side * o.extent));
    }
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
    double area = 0;
    for (std::size_t t = w_.triangles.size() - c.chosen.triangles.size(); t < w_.triangles.size(); ++t)
      area += w_.normal(t).norm() / 2;
    radius_.push_back(c.side ? 0 : std::min(line.extent / 2, 1.5 * std::sqrt(area / pi)));
    RepairStep& s = w_.step(Mending::holes_closed);
    if (s.count++ == 0 || line.extent > largest_) {
      s.at = line.middle;
      largest_ = line.extent;
    }
    s.change += cubic_millimetres(c.change);
    // As high as the doubt over the hole, but no bulge is higher than its border is wide: a hemisphere's
    // ratio of area to border. Between two outlines of one circle there is little area and next to no height.
    double round = 0;
    for (const HalfEdge h : line.half_edges)
      round += (w_.vertices[w_.to(h)] - w_.vertices[w_.from(h)]).norm();
    const double wide = 2 * area / round;
    const double level = line.area.norm() > 0 ? std::min(2 * c.doubt / line.area.norm(), wide) : 0;
    const bool heights_known = c.creased || (c.plane && c.change == 0) || n == 3;
    report.patches.push_back(
        {line.box, cubic_millimetres(c.doubt), millimetres(heights_known ? 0 : level), heights_known});
    for (const Vec3& p : c.chosen.added) report.patches.back().box.add(p);
  }

  /// Large holes may have hidden what the surface shows elsewhere.
  void ask_trials(HoleReport& report) {
    double area = 0;
    for (std::size_t t = 0; t < report.first_fill; ++t) area += w_.normal(t).norm() / 2;
    const double mean = area / static_cast<double>(report.first_fill);
    std::vector<std::size_t> large;
    for (std::size_t i = 0; i < radius_.size(); ++i)
      if (pi * radius_[i] * radius_[i] >= fewest_missing * mean) large.push_back(i);
    if (large.empty()) return;
    std::sort(large.begin(), large.end(),
              [&](std::size_t a, std::size_t b) { return radius_[a] > radius_[b]; });
    const TrialHoles trials(w_, report.first_fill);
    double radius = 0, off = 0;
    for (const std::size_t i : large) {
      if (radius == 0 || radius_[i] < radius / same_radius) {
        radius = radius_[i];
        const double triangles = pi * radius * radius / mean;
        const auto most = static_cast<std::size_t>(std::min(most_in_trials / triangles, most_trials));
        const std::vector<double> errors = trials.errors(radius, most < fewest_trials ? 0 : most);
        off = errors.empty() ? 0 : errors[errors.size() * 7 / 8];
      }
      const double share = radius_[i] / radius;
      report.patches[i].doubt = std::max(report.patches[i].doubt, cubic_millimetres(off * share * share));
    }
  }

  void note(std::size_t closed, const HoleReport& report) {
    if (closed == 0) return;
    RepairStep& s = w_.step(Mending::holes_closed);
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
  std::vector<double> radius_;  // of each closed hole
};

}  // namespace

HoleReport close_borders(Workpiece& w, const RepairOptions& options) {
  return Closer(w, options).run();
}

}  // namespace pourwright::mending

// SPDX-License-Identifier: GPL-3.0-or-later
// Ways out below a brim. Regions whose level sections are closed all round say where liquid would stand if it
// did not run out; the passage is then found on the mesh, closed by a lid, and the mesh swept again, so that
// sections and volumes are exact. The columns only say where to look.
#include "geometry/cavity/further_look.hpp"
#include "geometry/cavity/level_cut.hpp"
#include "geometry/cavity/span_grid.hpp"
#include "geometry/cavity/standing.hpp"
#include "geometry/mesh/points.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Level sections through the whole height: as many as columns along a side, so that neither sees finer.
constexpr int sections = 160;
/// A region below a cube seven columns wide may be the columns' own.
constexpr double least_cubes_drained = 400;
/// Volumes by columns differ by this without a reason.
constexpr double grid_agreement = 0.02;
/// A passage below this share of the region's widest section drains it; a wider one is a tube open below.
constexpr double narrow_throat = 0.05;
/// A region that its cavities hold half of does not run out.
constexpr double mostly_held = 0.5;
/// Walls that close again above a hole do so for two sections at least: one may be the spill itself.
constexpr int least_rise = 2;
/// Holes are plugged one after the other, from the lowest up; more is a sieve and no mold.
constexpr int most_holes = 6;
/// How far from its sill a hole may reach, as a share of the body's diagonal.
constexpr double hole_reach = 0.2;

class DrainFinder {
 public:
  DrainFinder(const LookInput& in, const SpanGrid& grid, CavityResult& out)
      : in_(in), grid_(grid), out_(out), step_(in.box.size().z() / sections) {}

  void run() {
    const auto regions = grid_.enclosed(sections);
    for (const EnclosedRegion& e : regions) {
      const double unseen = least_cubes_drained * std::pow(grid_.pitch(), 3), held = held_in(e);
      if (e.volume < unseen + (1 + grid_agreement) * held) continue;
      if (std::isfinite(e.throat) && e.throat < narrow_throat * e.widest && held < mostly_held * e.volume)
        bottom_drain(e);
    }
    for (const Cavity& c : out_.cavities.list())
      if (c.filled) side_hole(c, regions);
  }

 private:
  /// What the filled cavities hold whose floor lies in the region.
  double held_in(const EnclosedRegion& e) const {
    double sum = 0;
    for (const Cavity& c : out_.cavities.list())
      if (c.filled && in_millimetres(c.floor) >= e.low - step_ && in_millimetres(c.floor) < e.high)
        sum += in_cubic_millimetres(c.capacity.value);
    return sum;
  }

  void bottom_drain(const EnclosedRegion& e) {
    const auto plugged = plug_passage(in_.points, in_.triangles, e.throat_z, e.throat_at);
    if (!plugged) return;
    const double held = held_above_lid(*plugged);
    if (!(held > 0)) return;
    Drain d;
    d.would_hold = cubic_millimetres(held);
    d.throat = square_millimetres(plugged->section);
    d.at = point(in_.in_file(plugged->at));
    out_.drains.push_back(d);
  }

  /// Capacity of the outermost pool that stands on the lid; a floor flush with it may be off by rounding.
  double held_above_lid(const Plugged& p) const {
    const JoinTree tree = build_join_tree(p.mesh.vertices, p.mesh.triangles, false, in_.plateau);
    Index pool = none;
    for (Index n = 0; n < tree.nodes.size() && pool == none; ++n) {
      const PoolNode& node = tree.nodes[n];
      if (node.kind == PoolNode::Kind::pool && node.absorbed_by == none && node.children.empty() &&
          std::abs(p.mesh.vertices[node.birth_vertex].z() - p.level) <= in_.plateau)
        pool = n;
    }
    if (pool == none) return 0;
    while (tree.nodes[pool].parent != none) pool = tree.nodes[pool].parent;
    return held_by(tree, p.mesh.vertices, p.mesh.triangles, pool, tree.nodes[pool].brim);
  }

  /// Above a cavity that spills through its side the walls close again: a region closed all round whose
  /// columns stand in the cavity's own liquid.
  void side_hole(const Cavity& c, const std::vector<EnclosedRegion>& regions) {
    const double brim = in_millimetres(c.brim), held = in_cubic_millimetres(c.capacity.value);
    const auto mine = grid_.pool_at(in_.in_frame(vec3(c.floor_at)));
    if (!mine) return;
    for (const EnclosedRegion& e : regions) {
      if (e.low < brim - step_ || e.high - e.low < least_rise * step_ || e.volume < grid_agreement * held)
        continue;
      const auto under = grid_.pool_at(Vec3(e.lowest_at.x(), e.lowest_at.y(), brim));
      if (!under || under->floor != mine->floor || under->volume != mine->volume) continue;
      plug_sides(c, e);
      return;
    }
  }

  /// The pool round a place that reaches above `brim`.
  struct Standing {
    double volume = 0, brim = 0;
    Vec3 brim_at = Vec3::Zero();
  };
  std::optional<Standing> standing(const TriangleSoup& mesh, const Vec3& floor, double brim) const {
    Index at = 0;  // plugging turns the mesh and back, so that the floor is no longer where it was to the bit
    for (Index v = 0; v < mesh.vertices.size(); ++v)
      if ((mesh.vertices[v] - floor).squaredNorm() < (mesh.vertices[at] - floor).squaredNorm()) at = v;
    const JoinTree tree = build_join_tree(mesh.vertices, mesh.triangles, false, in_.plateau);
    const double above = std::nextafter(brim + in_.plateau, std::numeric_limits<double>::infinity());
    const Index pool = pool_reaching(tree, mesh.triangles, at, above);
    if (pool == none) return std::nullopt;
    const PoolNode& node = tree.nodes[pool];
    return Standing{held_by(tree, mesh.vertices, mesh.triangles, pool, node.brim), node.brim,
                    mesh.vertices[node.brim_vertex]};
  }

  /// One hole after the other until the liquid stands where the walls end.
  void plug_sides(const Cavity& c, const EnclosedRegion& e) {
    const double reach = hole_reach * in_.box.size().norm(), held = in_cubic_millimetres(c.capacity.value);
    const Vec3 floor = in_.in_frame(vec3(c.floor_at));
    TriangleSoup mesh{in_.points, in_.triangles};
    Vec3 sill = in_.in_frame(vec3(c.brim_at));
    double brim = in_millimetres(c.brim);
    std::vector<Drain> holes;
    Volume would_hold = cubic_millimetres(held + e.lowest * (e.low - brim) + e.volume);  // by columns
    for (int k = 0; k < most_holes && brim < e.high - least_rise * step_; ++k) {
      std::optional<Plugged> plugged;
      std::optional<Standing> stands;
      for (Plugged& p : plug_side_hole(mesh.vertices, mesh.triangles, sill, reach)) {
        const auto s = standing(p.mesh, floor, brim);
        // Flush with the wall inside, the hole holds nothing.
        if (!s || (stands && (s->brim < stands->brim || s->volume >= stands->volume))) continue;
        stands = s;
        plugged = std::move(p);
      }
      if (!plugged) break;
      Drain d;
      d.kind = DrainKind::side;
      d.throat = square_millimetres(plugged->section);
      d.at = point(in_.in_file(plugged->at));
      holes.push_back(d);
      would_hold = cubic_millimetres(stands->volume);
      mesh = std::move(plugged->mesh);
      brim = stands->brim;
      sill = stands->brim_at;
    }
    if (holes.empty()) {  // seen, but no plug was found
      Drain d;
      d.kind = DrainKind::side;
      d.at = c.brim_at;
      holes.push_back(d);
    }
    for (Drain& d : holes) {
      d.would_hold = would_hold;
      d.holds = c.capacity.value;
      d.cavity = c.id;
      out_.drains.push_back(d);
    }
  }

  const LookInput& in_;
  const SpanGrid& grid_;
  CavityResult& out_;
  double step_;  // between sections
};

}  // namespace

void find_drains(const LookInput& in, const SpanGrid& grid, CavityResult& out) {
  DrainFinder(in, grid, out).run();
}

}  // namespace pourwright

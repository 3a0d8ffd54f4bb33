// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/cavity/further_look.hpp"

#include "geometry/cavity/level_cut.hpp"
#include "geometry/cavity/pockets.hpp"
#include "geometry/cavity/span_grid.hpp"
#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/points.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {

class FurtherLook {
 public:
  FurtherLook(const LookInput& in, CavityResult& out) : in_(in), out_(out) {
    for (const Vec3& p : in.points) box_.add(p);
  }

  void run() {
    for (Cavity& c : list()) c.usable = c.capacity.value;
    traps();
    if (in_.air_only) return;
    ceiling();
    rims();
    columns();
  }

 private:
  /// In the file's frame; the grain of the arithmetic is no place.
  Vec3 back(const Vec3& p) const {
    Vec3 q = in_.patches.frame.transpose() * p;
    for (int k = 0; k < 3; ++k)
      if (std::abs(q[k]) < 1e-12 * box_.size().norm()) q[k] = 0;
    return q;
  }
  double lowest(Index t) const {
    const Triangle& c = in_.triangles[t];
    return std::min({in_.points[c[0]].z(), in_.points[c[1]].z(), in_.points[c[2]].z()});
  }

  // ---- air -----------------------------------------------------------------------------------------------

  void traps() {
    if (out_.cavities.list().empty()) return;
    const auto pockets = find_pockets(in_.points, in_.triangles, in_.split, in_.open, in_.plateau);
    std::vector<std::pair<const Pocket*, std::vector<int>>> caught;
    std::vector<VerticalLine> lines;
    for (const Pocket& p : pockets) {
      std::vector<int> holders = cavities_around(p);
      if (holders.empty()) continue;
      const Vec3& apex = in_.points[p.apexes.front()];
      lines.push_back({apex, apex});
      caught.emplace_back(&p, std::move(holders));
    }
    // The first surface that looks up, straight above each apex.
    std::vector<double> open_above(caught.size(), std::numeric_limits<double>::infinity());
    for_each_crossing(in_.points, in_.triangles, lines, [&](Index i, Index t, int sign) {
      if (sign < 0) return;
      const Triangle& c = in_.triangles[t];
      const double z = height(c, lines[i].at);
      if (z > lines[i].at.z()) open_above[i] = std::min(open_above[i], z);
    });
    for (std::size_t i = 0; i < caught.size(); ++i) {
      const Pocket& p = *caught[i].first;
      for (const int id : caught[i].second) {
        Cavity& c = list()[static_cast<std::size_t>(id - 1)];
        const double level = in_millimetres(c.brim);
        AirTrap trap;
        trap.volume = cubic_millimetres(p.above(p.lip) - p.above(std::max(level, p.lip)));
        if (in_cubic_millimetres(trap.volume) <= 1e-7 * in_cubic_millimetres(c.capacity.value)) continue;
        trap.lip = millimetres(p.lip);
        trap.vent = point(back(in_.points[p.apexes.front()]));
        trap.tops = p.apexes.size();
        if (std::isfinite(open_above[i])) trap.vent_length = millimetres(open_above[i] - lines[i].at.z());
        c.usable -= trap.volume;
        c.air_traps.push_back(trap);
      }
    }
    for (Cavity& c : list())
      std::stable_sort(c.air_traps.begin(), c.air_traps.end(),
                       [](const AirTrap& a, const AirTrap& b) { return a.volume > b.volume; });
  }

  double height(const Triangle& c, const Vec3& at) const {
    const Vec3 &a = in_.points[c[0]], &b = in_.points[c[1]], &d = in_.points[c[2]];
    const Vec3 n = (b - a).cross(d - a);
    return a.z() - (n.x() * (at.x() - a.x()) + n.y() * (at.y() - a.y())) / n.z();
  }

  /// Cavities whose liquid, standing at the brim, closes the pocket: all that hold its surface at the lip.
  std::vector<int> cavities_around(const Pocket& p) const {
    std::vector<int> out;
    Index best = none;
    for (const Index t : p.triangles)
      if (in_.patches.cavity_of[t] > 0 && (best == none || lowest(t) < lowest(best))) best = t;
    if (best == none) return out;
    for (int id = in_.patches.cavity_of[best]; id > 0; id = out_.cavities.at(id).parent) {
      const Cavity& c = out_.cavities.at(id);
      if (c.kind != CavityKind::sealed && p.lip < in_millimetres(c.brim) - in_.plateau) out.push_back(id);
    }
    return out;
  }

  // ---- ceilings ------------------------------------------------------------------------------------------

  void ceiling() {
    const double least = std::cos(out_.ceiling.angle_degrees * std::numbers::pi / 180);
    double flat = 0, wall = 0;
    for (const Cavity& c : out_.cavities.list()) {
      if (!c.filled) continue;
      for (const Index t : in_.patches.wall(c.id)) {
        const Triangle& k = in_.triangles[t];
        if (lowest(t) >= in_millimetres(c.brim)) continue;
        const Vec3 n = 0.5 * (in_.points[k[1]] - in_.points[k[0]]).cross(in_.points[k[2]] - in_.points[k[0]]);
        const double area = n.norm();
        wall += area;
        if (-n.z() >= least * area) flat += area;
      }
    }
    out_.ceiling.area = square_millimetres(flat);
    out_.ceiling.share = wall > 0 ? flat / wall : 0;
  }

  // ---- rims ----------------------------------------------------------------------------------------------

  /// Height of the rim all round a point, in sectors: the highest of the mean heights at each distance, and
  /// of the border. Means take out the noise; a spout as wide as a sector stays.
  std::vector<double> ridge_round(const Vec3& centre) const {
    constexpr std::size_t sectors = 24, rings = 16;
    double reach = 0;
    for (const Vec3& p : in_.points)
      reach = std::max(reach, std::hypot(p.x() - centre.x(), p.y() - centre.y()));
    struct Mean {
      double sum = 0;
      std::size_t count = 0;
    };
    std::vector<Mean> ring(sectors * rings), border(sectors);
    const auto sector = [&](const Vec3& p) {
      const double turn = std::atan2(p.y() - centre.y(), p.x() - centre.x()) / (2 * std::numbers::pi) + 0.5;
      return std::min(sectors - 1, static_cast<std::size_t>(turn * sectors));
    };
    for (const Vec3& p : in_.points) {
      const double r = std::hypot(p.x() - centre.x(), p.y() - centre.y()) / reach;
      Mean& m = ring[sector(p) * rings + std::min(rings - 1, static_cast<std::size_t>(r * rings))];
      m.sum += p.z();
      ++m.count;
    }
    for_each_edge(in_.triangles, in_.points.size(), [&](Index v, std::span<const EdgeUse> uses) {
      if (uses.size() != 1) return;
      for (const Index w : {v, uses[0].other}) {
        Mean& m = border[sector(in_.points[w])];
        m.sum += in_.points[w].z();
        ++m.count;
      }
    });
    std::vector<double> out;
    for (std::size_t s = 0; s < sectors; ++s) {
      double highest = -std::numeric_limits<double>::infinity();
      const auto take = [&](const Mean& m, std::size_t least) {
        if (m.count >= least) highest = std::max(highest, m.sum / static_cast<double>(m.count));
      };
      for (std::size_t k = 0; k < rings; ++k) take(ring[s * rings + k], 2);
      take(border[s], 2);
      if (std::isfinite(highest)) out.push_back(highest);
    }
    return out;
  }

  /// A noisy rim spills at its lowest dent first; the piece it stands for would spill at its typical height.
  /// The interval spans both.
  void rims() {
    if (!in_.open) return;
    for (Cavity& c : list()) {
      if (c.kind == CavityKind::sealed || c.parent != 0) continue;
      std::vector<double> ridge = ridge_round(in_.patches.frame * out_.cavities.wetted(c.id).middle);
      if (ridge.size() < 16) continue;
      const double strict = in_millimetres(c.brim), depth = in_millimetres(c.brim - c.floor);
      const double low = *std::min_element(ridge.begin(), ridge.end());
      std::nth_element(ridge.begin(), ridge.begin() + static_cast<std::ptrdiff_t>(ridge.size() / 2),
                       ridge.end());
      const double middle = ridge[ridge.size() / 2];
      // Sectors that scatter little about one height are a level rim; their lowest is then a dent too.
      const double typical = middle - low < 0.02 * depth ? middle : low;
      if (typical <= strict || typical - strict > 0.1 * depth) continue;
      c.typical_rim = millimetres(typical);
      const Volume more = cubic_millimetres(in_square_millimetres(c.opening) * (typical - strict));
      const double share = more / c.capacity.value;
      c.capacity.high += more;
      c.capacity.reasons.insert(c.capacity.reasons.begin(), {"uneven rim", share / 2});
      if (c.filled && share > 1e-3)
        out_.notes.push_back(
            {"uneven-rim",
             fmt::format(
                 "the rim is uneven: it spills first at {:.2f} mm, typically at {:.2f} mm, {:.1f} % more",
                 strict, typical, 100 * share),
             false});
    }
  }

  // ---- columns -------------------------------------------------------------------------------------------

  static constexpr int coarse = 160, fine = 640;

  void columns() {
    if (!(box_.size().minCoeff() > 0)) return;
    // A passage right through the body is a handle of its surface; without one nothing drains, and then only
    // the check is left to do.
    const bool passages = !in_.open && handles() > 0;
    const SpanGrid grid(in_.points, in_.triangles, box_, in_.open, passages ? 2 * coarse : coarse,
                        in_.bridge);
    // A scan has no inside to tell columns where the void begins, least of all below vertical walls.
    if (!in_.open) check(grid);
    if (passages) drains(grid);
  }

  /// Genus of the surface, summed over its components: 2 − 2g = V − E + F for each.
  long handles() const {
    DisjointSets parts(in_.points.size());
    std::vector<bool> used(in_.points.size());
    for (const Triangle& t : in_.triangles)
      for (std::size_t k = 0; k < 3; ++k) {
        used[t[k]] = true;
        parts.unite(t[k], t[(k + 1) % 3]);
      }
    long vertices = 0, components = 0;
    for (Index v = 0; v < used.size(); ++v)
      if (used[v]) {
        ++vertices;
        components += parts.find(v) == v ? 1 : 0;
      }
    const long faces = static_cast<long>(in_.triangles.size());
    return components - (vertices - faces / 2) / 2;  // a closed triangle mesh has 3F/2 edges
  }

  void check(const SpanGrid& grid) {
    std::optional<SpanGrid> fine_grid;
    for (Cavity& c : list()) {
      if (c.parent != 0 || c.kind == CavityKind::sealed) continue;
      const double exact = in_cubic_millimetres(c.capacity.value);
      if (disagreement(grid, c) <= 0.02 || exact < 4000 * std::pow(grid.pitch(), 3)) continue;
      // The columns may be too wide to see what the mesh has: only what stays when they are narrow counts.
      if (!fine_grid) fine_grid.emplace(in_.points, in_.triangles, box_, in_.open, fine, in_.bridge);
      const SpanGrid& narrow = *fine_grid;
      const double d = disagreement(narrow, c);
      if (d <= 0.02) continue;
      const auto pool = narrow.pool_at(in_.patches.frame * vec3(c.floor_at));
      const double seen = pool ? pool->volume : 0;
      c.capacity.low = std::min(c.capacity.low, cubic_millimetres(seen));
      c.capacity.high = std::max(c.capacity.high, cubic_millimetres(seen));
      c.capacity.reasons.insert(c.capacity.reasons.begin(), {"columns and surface disagree", d});
      out_.notes.push_back(
          {"columns-disagree",
           fmt::format(
               "cavity {}: {:.4g} ml by its surface, {:.4g} ml by columns of {:.2g} mm; look for a narrow "
               "leak or an overlap",
               c.id, exact / 1000, seen / 1000, narrow.pitch()),
           true});
    }
  }

  double disagreement(const SpanGrid& grid, const Cavity& c) const {
    const auto pool = grid.pool_at(in_.patches.frame * vec3(c.floor_at));
    const double exact = in_cubic_millimetres(c.capacity.value);
    if (!pool) return 1;
    const double alone = std::abs(pool->volume - exact) / exact;
    if (alone <= 0.02) return alone;
    // Columns step over dents of a rim: cavities that spill within a hair of one level are one pool to them.
    double sum = 0;
    for (const Cavity& o : out_.cavities.list()) {
      if (o.parent != 0 || o.kind == CavityKind::sealed) continue;
      const bool level = in_millimetres(std::max(o.brim, c.brim) - std::min(o.brim, c.brim)) <=
                         0.01 * in_millimetres(c.brim - c.floor);
      const auto other = grid.pool_at(in_.patches.frame * vec3(o.floor_at));
      if (level && other && other->volume == pool->volume && other->brim == pool->brim)
        sum += in_cubic_millimetres(o.capacity.value);
    }
    return std::min(alone, std::abs(pool->volume - sum) / std::max(sum, exact));
  }

  // ---- drains --------------------------------------------------------------------------------------------

  void drains(const SpanGrid& grid) {
    constexpr int levels = 160;
    const auto regions = grid.enclosed(levels);
    for (const EnclosedRegion& e : regions) {
      const double noise = 400 * std::pow(grid.pitch(), 3);
      const double held = held_in(e);
      if (e.volume < std::max(noise, 1.02 * held + noise)) continue;
      if (std::isfinite(e.throat) && e.throat < 0.05 * e.widest && held < 0.5 * e.volume) bottom_drain(e);
    }
    for (const Cavity& c : out_.cavities.list())
      if (c.filled) side_hole(c, grid, regions, box_.size().z() / levels);
  }

  /// What the filled cavities hold whose floor lies in the region.
  double held_in(const EnclosedRegion& e) const {
    double sum = 0;
    for (const Cavity& c : out_.cavities.list())
      if (c.filled && in_millimetres(c.floor) >= e.low - 1 && in_millimetres(c.floor) < e.high)
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
    d.at = point(back(plugged->at));
    out_.drains.push_back(d);
  }

  /// Capacity of the pool that stands on the lid.
  static double held_above_lid(const Plugged& p) {
    JoinTree tree = build_join_tree(p.mesh.vertices, p.mesh.triangles, false, 1e-3);
    std::vector<Index> root(tree.nodes.size(), none);
    Index lid_root = none;
    for (auto n = static_cast<Index>(tree.nodes.size()); n-- > 0;) {
      const PoolNode& node = tree.nodes[n];
      if (node.kind != PoolNode::Kind::pool || node.absorbed_by != none) continue;
      root[n] = node.parent == none ? n : root[node.parent];
      const Vec3& birth = p.mesh.vertices[node.birth_vertex];
      if (node.children.empty() && std::abs(birth.z() - p.level) < 1e-9) lid_root = root[n];
    }
    if (lid_root == none) return 0;
    Sum sum;
    for (std::size_t t = 0; t < p.mesh.triangles.size(); ++t) {
      const Index n = tree.triangle_node[t];
      if (n == none || root[n] != lid_root) continue;
      const Triangle& c = p.mesh.triangles[t];
      sum.add(under(column_of(p.mesh.vertices[c[0]], p.mesh.vertices[c[1]], p.mesh.vertices[c[2]]),
                    tree.nodes[lid_root].brim)
                  .volume);
    }
    return sum.value();
  }

  /// Above a cavity that spills through its side the walls close again: a region closed all round whose
  /// columns stand in the cavity's own liquid.
  void side_hole(const Cavity& c, const SpanGrid& grid, const std::vector<EnclosedRegion>& regions,
                 double step) {
    const double brim = in_millimetres(c.brim), held = in_cubic_millimetres(c.capacity.value);
    const auto mine = grid.pool_at(in_.patches.frame * vec3(c.floor_at));
    if (!mine) return;
    for (const EnclosedRegion& e : regions) {
      if (e.low < brim - step || e.high - e.low < 2 * step || e.volume < 0.02 * held) continue;
      const auto under = grid.pool_at(Vec3(e.lowest_at.x(), e.lowest_at.y(), brim));
      if (!under || under->floor != mine->floor || under->volume != mine->volume) continue;
      plug_sides(c, e, step);
      return;
    }
  }

  /// The pool round `floor` that reaches above `brim`.
  struct Standing {
    double volume = 0, brim = 0;
    Vec3 brim_at = Vec3::Zero();
  };
  static std::optional<Standing> standing(const TriangleSoup& mesh, const Vec3& floor, double brim,
                                          double plateau, double hair) {
    const JoinTree tree = build_join_tree(mesh.vertices, mesh.triangles, false, plateau);
    Index pool = none;
    for (std::size_t t = 0; t < mesh.triangles.size() && pool == none; ++t)
      for (const Index v : mesh.triangles[t])
        if ((mesh.vertices[v] - floor).norm() < hair) pool = tree.triangle_node[t];
    while (pool != none && tree.nodes[pool].brim <= brim + plateau) pool = tree.nodes[pool].parent;
    if (pool == none || tree.nodes[pool].brim_vertex == none) return std::nullopt;  // or closed all round
    std::vector<bool> inside(tree.nodes.size());
    for (Index n = pool + 1; n-- > 0;)  // parents first
      inside[n] = n == pool || (tree.nodes[n].parent != none && tree.nodes[n].parent <= pool &&
                                inside[tree.nodes[n].parent]);
    Sum sum;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
      const Index n = tree.triangle_node[t];
      if (n == none || n > pool || !inside[n]) continue;
      const Triangle& c = mesh.triangles[t];
      sum.add(under(column_of(mesh.vertices[c[0]], mesh.vertices[c[1]], mesh.vertices[c[2]]),
                    tree.nodes[pool].brim)
                  .volume);
    }
    return Standing{sum.value(), tree.nodes[pool].brim, mesh.vertices[tree.nodes[pool].brim_vertex]};
  }

  /// One hole after the other until the liquid stands where the walls end.
  void plug_sides(const Cavity& c, const EnclosedRegion& e, double step) {
    constexpr int most = 6;
    const double size = box_.size().norm(), held = in_cubic_millimetres(c.capacity.value);
    const Vec3 floor = in_.patches.frame * vec3(c.floor_at);
    TriangleSoup mesh{in_.points, in_.triangles};
    Vec3 sill = in_.patches.frame * vec3(c.brim_at);
    double brim = in_millimetres(c.brim);
    std::vector<Drain> holes;
    Volume would_hold = cubic_millimetres(held + e.lowest * (e.low - brim) + e.volume);  // by columns
    for (int k = 0; k < most && brim < e.high - 2 * step; ++k) {
      std::optional<Plugged> plugged;
      std::optional<Standing> stands;
      for (Plugged& p : plug_side_hole(mesh.vertices, mesh.triangles, sill, 0.2 * size)) {
        const auto s = standing(p.mesh, floor, brim, in_.plateau, 1e-9 * size);
        // Flush with the wall inside, the hole holds nothing.
        if (!s || (stands && (s->brim < stands->brim || s->volume >= stands->volume))) continue;
        stands = s;
        plugged = std::move(p);
      }
      if (!plugged) break;
      Drain d;
      d.kind = DrainKind::side;
      d.throat = square_millimetres(plugged->section);
      d.at = point(back(plugged->at));
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

  std::vector<Cavity>& list() { return out_.cavities.list_; }

  const LookInput& in_;
  CavityResult& out_;
  Box box_;
};

void look_further(const LookInput& in, CavityResult& out) {
  FurtherLook(in, out).run();
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Air that cannot leave and ceilings that bubbles cling to; then rims, drains and columns, each in a file of
// its own. All lengths here are shares of the body's size: a body scaled by k gives volumes scaled by k³.
#include "geometry/cavity/further_look.hpp"

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
namespace {

/// A coordinate below this share of the size is what turning there and back leaves of zero.
constexpr double grain = 1e-12;
/// Air below this share of the cavity lies under the last digit that any answer shows: seven are told.
constexpr double least_air = 1e-7;
/// Columns along the longer side. A cavity of a tenth of the side has a wall outline of 4·16 columns on 16²,
/// so its volume comes out to a hundredth (errors of both signs cancel), well inside what counts as
/// disagreement.
constexpr int columns_for_check = 160;
/// A passage is found when a column fits into it: twice as many find half the width.
constexpr int columns_for_passages = 2 * columns_for_check;

}  // namespace

class FurtherLook {
 public:
  FurtherLook(const LookInput& in, CavityResult& out) : in_(in), out_(out) {}

  void run() {
    for (Cavity& c : list()) c.usable = c.capacity.value;
    traps();
    if (in_.air_only) return;
    ceiling();
    if (in_.open)  // a scan has no inside to tell columns where the void begins, least of all below a wall
      look_at_rims(in_, list(), out_);
    else
      columns();
  }

 private:
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
        if (in_cubic_millimetres(trap.volume) <= least_air * in_cubic_millimetres(c.capacity.value)) continue;
        trap.lip = millimetres(p.lip);
        trap.vent = point(in_.in_file(in_.points[p.apexes.front()]));
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

  // ---- columns -------------------------------------------------------------------------------------------

  void columns() {
    if (!(in_.box.size().minCoeff() > 0)) return;
    // A passage right through the body is a handle of its surface; without one nothing drains, and then only
    // the check is left to do.
    const bool passages = handles() > 0;
    const SpanGrid grid(in_.points, in_.triangles, in_.box, false,
                        passages ? columns_for_passages : columns_for_check, in_.bridge);
    check_by_columns(in_, grid, list(), out_);
    if (passages) find_drains(in_, grid, out_);
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

  std::vector<Cavity>& list() { return out_.cavities.list_; }

  const LookInput& in_;
  CavityResult& out_;
};

Vec3 LookInput::in_file(const Vec3& p) const {
  Vec3 q = patches.frame.transpose() * p;
  for (int k = 0; k < 3; ++k)
    if (std::abs(q[k]) < grain * box.size().norm()) q[k] = 0;
  return q;
}

void look_further(const LookInput& in, CavityResult& out) {
  LookInput with_box = in;
  for (const Vec3& p : in.points) with_box.box.add(p);
  FurtherLook(with_box, out).run();
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// The rim of a scan. It spills at its lowest point, which is a dent of the noise, or a bite that is missing
// from the rim; what the rim stands for is its height all round. Heights are taken by sectors round the
// cavity: means take out the noise, and what is as wide as a sector stays.
#include "geometry/cavity/further_look.hpp"
#include "geometry/cavity/standing.hpp"
#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/points.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Sectors of 15°: a spout of a quarter of the radius is as wide as one.
constexpr std::size_t sectors = 24;
/// Distances from the middle at which heights are averaged: the rim's own lies among them.
constexpr std::size_t rings = 16;
/// A mean of one point is that point, noise and all.
constexpr std::size_t least_points = 2;
/// Where a third of the round says nothing, no height is that of the rim.
constexpr std::size_t least_sectors = 2 * sectors / 3;
/// A rim within this share of the depth is level, and what lies lower is a dent.
constexpr double level_share = 0.02;
/// An uneven rim is believed to be one up to this share of the depth.
constexpr double uneven_share = 0.1;
/// Of a rim with a bite, this share of the sectors stands level.
constexpr double level_sectors = 0.75;
/// Capacity that a rim's unevenness must be worth to be told.
constexpr double worth_a_word = 1e-3;

/// Height of the rim all round a point, in sectors: the highest of the mean heights at each distance, and
/// of the border. Means take out the noise; a spout as wide as a sector stays.
std::vector<double> ridge_round(const LookInput& in, const Vec3& centre) {
  double reach = 0;
  for (const Vec3& p : in.points) reach = std::max(reach, std::hypot(p.x() - centre.x(), p.y() - centre.y()));
  struct Mean {
    double sum = 0;
    std::size_t count = 0;
  };
  std::vector<Mean> ring(sectors * rings), border(sectors);
  const auto sector = [&](const Vec3& p) {
    const double turn = std::atan2(p.y() - centre.y(), p.x() - centre.x()) / (2 * std::numbers::pi) + 0.5;
    return std::min(sectors - 1, static_cast<std::size_t>(turn * sectors));
  };
  for (const Vec3& p : in.points) {
    const double r = std::hypot(p.x() - centre.x(), p.y() - centre.y()) / reach;
    Mean& m = ring[sector(p) * rings + std::min(rings - 1, static_cast<std::size_t>(r * rings))];
    m.sum += p.z();
    ++m.count;
  }
  for_each_edge(in.triangles, in.points.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() != 1) return;
    for (const Index w : {v, uses[0].other}) {
      Mean& m = border[sector(in.points[w])];
      m.sum += in.points[w].z();
      ++m.count;
    }
  });
  std::vector<double> out;
  for (std::size_t s = 0; s < sectors; ++s) {
    double highest = -std::numeric_limits<double>::infinity();
    const auto take = [&](const Mean& m, std::size_t least) {
      if (m.count >= least) highest = std::max(highest, m.sum / static_cast<double>(m.count));
    };
    for (std::size_t k = 0; k < rings; ++k) take(ring[s * rings + k], least_points);
    take(border[s], least_points);
    if (std::isfinite(highest)) out.push_back(highest);
  }
  return out;
}

void widen_to_typical(Cavity& c, const std::vector<double>& ridge, double middle, CavityResult& out) {
  const double strict = in_millimetres(c.brim), depth = in_millimetres(c.brim - c.floor);
  const double low = ridge.front();
  // Sectors that scatter little about one height are a level rim; their lowest is then a dent too.
  const double typical = middle - low < level_share * depth ? middle : low;
  if (typical <= strict || typical - strict > uneven_share * depth) return;
  c.typical_rim = millimetres(typical);
  const Volume more = cubic_millimetres(in_square_millimetres(c.opening) * (typical - strict));
  const double share = more / c.capacity.value;
  c.capacity.high += more;
  c.capacity.reasons.insert(c.capacity.reasons.begin(), {"uneven rim", share / 2});
  if (c.filled && share > worth_a_word)
    out.notes.push_back(
        {"uneven-rim",
         fmt::format("the rim is uneven: it spills first at {:.2f} mm, typically at {:.2f} mm, {:.1f} % more",
                     strict, typical, 100 * share),
         false});
}

/// What the pool that stands at `floor` holds up to `level` when no border below that lets liquid out: where
/// wall is missing it counts as upright. Nothing when it spills lower all the same.
std::optional<Volume> held_without_bites(const LookInput& in, Index floor, double level) {
  SplitSurface whole = in.split;
  const auto points = static_cast<Index>(in.points.size());
  for (Index fan = 0; fan < static_cast<Index>(whole.border.size()); ++fan)
    if (whole.border[fan]) {
      const Index v = fan < points ? fan : whole.origin[fan - points];
      whole.border[fan] = in.points[v].z() >= level - in.plateau;
    }
  const JoinTree tree = build_join_tree(in.points, whole, true, in.plateau);
  const Index pool = pool_reaching(tree, in.triangles, floor, level - in.plateau);
  if (pool == none) return std::nullopt;
  return cubic_millimetres(held_by(tree, in.points, in.triangles, pool, level));
}

/// A rim that stands level for most of the round and spills far below that.
void find_bite(const LookInput& in, const Cavity& c, const std::vector<double>& ridge, double middle,
               CavityResult& out) {
  const double strict = in_millimetres(c.brim);
  const double near = level_share * (middle - in_millimetres(c.floor));
  if (middle - strict <= near) return;
  const auto level =
      std::count_if(ridge.begin(), ridge.end(), [&](double h) { return std::abs(h - middle) <= near; });
  if (static_cast<double>(level) < level_sectors * static_cast<double>(ridge.size())) return;
  const Index floor = in.patches.floor_vertex[static_cast<std::size_t>(c.id - 1)];
  const auto held = held_without_bites(in, floor, middle);
  if (!held || *held <= c.capacity.value) return;
  out.bites.push_back({c.id, vec3(c.brim_at), c.brim, millimetres(middle), *held});
}

}  // namespace

void look_at_rims(const LookInput& in, std::vector<Cavity>& list, CavityResult& out) {
  for (Cavity& c : list) {
    if (c.kind == CavityKind::sealed || c.parent != 0) continue;
    std::vector<double> ridge = ridge_round(in, in.in_frame(out.cavities.wetted(c.id).middle));
    if (ridge.size() < least_sectors) continue;
    std::sort(ridge.begin(), ridge.end());
    const double middle = ridge[ridge.size() / 2];
    find_bite(in, c, ridge, middle, out);
    widen_to_typical(c, ridge, middle, out);
  }
}

}  // namespace pourwright

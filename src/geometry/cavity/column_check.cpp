// SPDX-License-Identifier: GPL-3.0-or-later
// The second look: what columns hold against what the surface says, both ways. Cavities of the tree that
// columns see larger or smaller, and void that columns see holding liquid where the tree has no cavity, are
// contradictions; none is decided here, each is told. Columns are as narrow as the work allows; what they are
// then too wide for is told as well.
#include "geometry/cavity/further_look.hpp"
#include "geometry/cavity/span_grid.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Columns along the longer side for a closer look: four times those of the first, for an error of a quarter.
constexpr int columns_for_closer_look = 640;
/// Only columns of half the width or less tell more than those before.
constexpr double closer = 0.5;
/// Volumes that differ by more contradict each other. At 160 columns a hundredth is usual for small cavities.
constexpr double agreement = 0.02;
/// Smaller than a cube sixteen columns wide, a cavity has so much of its volume in columns that its wall cuts
/// that they say nothing of it.
constexpr double least_cubes = 4000;
/// Brims within this share of the depth are one level to columns, which step over the dents of a rim.
constexpr double one_level = 0.01;

class ColumnCheck {
 public:
  ColumnCheck(const LookInput& in, const SpanGrid& grid, std::vector<Cavity>& list, CavityResult& out)
      : in_(in), grid_(grid), list_(list), out_(out) {}

  void run() {
    std::size_t unchecked = 0;
    for (Cavity& c : list_) {
      if (!is_outermost(c)) continue;
      if (volume(c) < least(grid_))
        ++unchecked;
      else
        compare(c);
    }
    look_for_more();
    if (unchecked > 0 && grid_.coarsened())
      out_.notes.push_back(
          {"columns-coarse",
           fmt::format("the mesh lies in so many layers that columns of {:.2g} mm had to do to check the "
                       "volumes: {} below {:.2g} ml could not be checked",
                       grid_.pitch(), unchecked == 1 ? "a cavity" : fmt::format("{} cavities", unchecked),
                       least(grid_) / 1000),
           false});
  }

 private:
  static bool is_outermost(const Cavity& c) { return c.parent == 0 && c.kind != CavityKind::sealed; }
  static double volume(const Cavity& c) { return in_cubic_millimetres(c.capacity.value); }
  static double least(const SpanGrid& grid) { return least_cubes * std::pow(grid.pitch(), 3); }
  Vec3 floor(const Cavity& c) const {
    return in_.points[in_.patches.floor_vertex[static_cast<std::size_t>(c.id - 1)]];
  }

  /// Columns narrow enough to tell more, or those there are when the work does not allow it.
  const SpanGrid& narrow() {
    if (!narrow_)
      narrow_.emplace(in_.points, in_.triangles, in_.box, in_.open, columns_for_closer_look, in_.bridge);
    return narrow_->pitch() <= closer * grid_.pitch() ? *narrow_ : grid_;
  }

  void compare(Cavity& c) {
    if (disagreement(grid_, c) <= agreement) return;
    // The columns may be too wide to see what the mesh has: only what stays when they are narrow counts.
    const double d = disagreement(narrow(), c);
    if (d <= agreement) return;
    const auto pool = narrow().pool_at(floor(c));
    contradict(c, pool ? pool->volume : 0, d);
  }

  void contradict(Cavity& c, double seen, double d) {
    out_.notes.push_back(
        {"columns-disagree",
         fmt::format(
             "cavity {}: {:.4g} ml by its surface, {:.4g} ml by columns of {:.2g} mm; look for a narrow "
             "leak or an overlap",
             c.id, volume(c) / 1000, seen / 1000, narrow().pitch()),
         true});
    c.capacity.low = std::min(c.capacity.low, cubic_millimetres(seen));
    c.capacity.high = std::max(c.capacity.high, cubic_millimetres(seen));
    c.capacity.reasons.insert(c.capacity.reasons.begin(), {"columns and surface disagree", d});
  }

  double disagreement(const SpanGrid& grid, const Cavity& c) const {
    const auto pool = grid.pool_at(floor(c));
    const double exact = volume(c);
    if (!pool) return 1;
    const double alone = std::abs(pool->volume - exact) / exact;
    if (alone <= agreement) return alone;
    // Columns step over dents of a rim: cavities that spill within a hair of one level are one pool to them.
    double sum = 0;
    for (const Cavity& o : list_) {
      if (!is_outermost(o)) continue;
      const bool level = in_millimetres(std::max(o.brim, c.brim) - std::min(o.brim, c.brim)) <=
                         one_level * in_millimetres(c.brim - c.floor);
      const auto other = grid.pool_at(floor(o));
      if (level && other && other->volume == pool->volume && other->brim == pool->brim) sum += volume(o);
    }
    return std::min(alone, std::abs(pool->volume - sum) / std::max(sum, exact));
  }

  // ---- what the tree did not find ------------------------------------------------------------------------

  /// Pools that columns can tell, and worth a word against all that is held.
  std::vector<GridPool> large(const SpanGrid& grid) const {
    double held = 0;
    for (const Cavity& c : list_)
      if (is_outermost(c)) held += volume(c);
    std::vector<GridPool> out;
    for (const GridPool& p : grid.pools())
      if (p.volume >= least(grid) && p.volume > agreement * (held + p.volume) &&
          p.brim - p.floor > std::max(in_.plateau, in_.least_depth))
        out.push_back(p);
    return out;
  }

  /// Per pool, the outermost cavity that has the surface under the pool's lowest point; 0 for none.
  std::vector<int> owners(const std::vector<GridPool>& pools) const {
    std::vector<VerticalLine> lines;
    for (const GridPool& p : pools) lines.push_back({p.at, p.at});
    std::vector<double> nearest(pools.size(), std::numeric_limits<double>::infinity());
    std::vector<int> out(pools.size(), 0);
    for_each_crossing(in_.points, in_.triangles, lines, [&](Index i, Index t, int sign) {
      if (sign < 0) return;
      const Triangle& c = in_.triangles[t];
      const Vec3 &a = in_.points[c[0]], &b = in_.points[c[1]], &d = in_.points[c[2]];
      const Vec3 n = (b - a).cross(d - a);
      const Vec3& p = pools[i].at;
      const double off =
          std::abs(a.z() - (n.x() * (p.x() - a.x()) + n.y() * (p.y() - a.y())) / n.z() - p.z());
      if (off >= nearest[i]) return;
      nearest[i] = off;
      out[i] = in_.patches.cavity_of[t];
    });
    for (int& id : out)
      while (id > 0 && list_[static_cast<std::size_t>(id - 1)].parent > 0)
        id = list_[static_cast<std::size_t>(id - 1)].parent;
    return out;
  }

  /// Compared already: as large as columns can tell.
  bool was_compared(int id) const {
    return id > 0 && volume(list_[static_cast<std::size_t>(id - 1)]) >= least(grid_);
  }

  void look_for_more() {
    const std::vector<GridPool> seen = large(grid_);
    if (seen.empty()) return;
    const std::vector<int> seen_by = owners(seen);
    if (std::all_of(seen_by.begin(), seen_by.end(), [&](int id) { return was_compared(id); })) return;
    // What narrow columns see as well stays.
    const std::vector<GridPool> pools = large(narrow());
    const std::vector<int> owner = owners(pools);
    for (std::size_t i = 0; i < pools.size(); ++i) {
      const GridPool& p = pools[i];
      if (was_compared(owner[i]) || !confirms(p, seen, seen_by)) continue;
      if (owner[i] > 0) {
        Cavity& c = list_[static_cast<std::size_t>(owner[i] - 1)];
        const double d = disagreement(narrow(), c);
        if (d > agreement) contradict(c, p.volume, d);
        continue;
      }
      UnheldVoid v;
      v.volume = cubic_millimetres(p.volume);
      v.pitch = millimetres(narrow().pitch());
      v.at = in_.in_file(p.at);
      out_.notes.push_back(
          {"columns-disagree",
           fmt::format("columns of {:.2g} mm hold {:.4g} ml above ({:.4g}, {:.4g}, {:.4g}) where the surface "
                       "holds nothing; look for a narrow leak or an overlap",
                       narrow().pitch(), p.volume / 1000, v.at.x(), v.at.y(), v.at.z()),
           true});
      out_.unheld.push_back(v);
    }
  }

  /// Seen before by the wider columns, by no cavity that was compared.
  bool confirms(const GridPool& p, const std::vector<GridPool>& seen, const std::vector<int>& seen_by) const {
    const auto wide = grid_.pool_at(p.at);
    for (std::size_t i = 0; wide && i < seen.size(); ++i)
      if (!was_compared(seen_by[i]) && seen[i].at == wide->at && seen[i].brim == wide->brim) return true;
    return false;
  }

  const LookInput& in_;
  const SpanGrid& grid_;
  std::optional<SpanGrid> narrow_;
  std::vector<Cavity>& list_;
  CavityResult& out_;
};

}  // namespace

void check_by_columns(const LookInput& in, const SpanGrid& grid, std::vector<Cavity>& list,
                      CavityResult& out) {
  ColumnCheck(in, grid, list, out).run();
}

}  // namespace pourwright

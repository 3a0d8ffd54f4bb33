// SPDX-License-Identifier: GPL-3.0-or-later
// From the join tree to the list of cavities: what every node holds, which nodes are worth a line, in which
// order they are numbered, and which of them a maker fills. The volume of a cavity is told three ways, which
// agree but for rounding on a wall without a hole.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/brim_sums.hpp"
#include "geometry/cavity/capacity.hpp"
#include "geometry/cavity/further_look.hpp"
#include "geometry/cavity/join_tree.hpp"
#include "geometry/cavity/patches.hpp"
#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/points.hpp"
#include "geometry/mesh/sums.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace pourwright {

namespace {

/// A plateau is never more than this share of the body's diagonal.
constexpr double highest_plateau = 1e-4;
/// Parts that are small each but together more than this share of the whole are what the whole is made of.
constexpr double good_part = 0.3;
/// Rounding of a sum of plan areas times heights, relative: two units in the last place for the difference of
/// the heights and the product.
constexpr double rounding_share = 4e-16;
/// A dip of less than this share of all, or of what would be listed, is not even counted.
constexpr double uncounted_of_all = 1e-6, uncounted_of_least = 1e-3;
/// A mold holds a tenth of its box or more, a dent in a crumb little; a twentieth lies between.
constexpr double least_of_box = 0.05;
/// Places closer than this share of the size are one place: rounding moves none farther.
constexpr double one_place = 1e-6;
/// Where cavities hold more than the larger share of the pool they join, the rest is a flood over a deck;
/// below the smaller one they are steps in its floor; between the two depths decide.
constexpr double flood_share = 0.6, step_share = 0.4;
/// Sums over a wall without a hole agree to rounding, 1e-13 and less; a missing triangle of a million is
/// 1e-6.
constexpr double leaky = 1e-9;
/// A lean is worth it that leaves at most a twentieth of the air, and costs less than half of what it frees.
constexpr double air_left = 0.05, worth_leaning = 0.5;
/// Leans from which one is chosen, in degrees; more than 45 is another way up. Azimuths: eight.
constexpr int lean_step = 5, most_lean = 45, azimuths = 8;

/// How small a part may be and still count: a given share of the whole, unless what is smaller makes up a
/// good part of it together, as thousands of dimples do; then that share of the largest.
struct Worth {
  double whole = 0, largest = 0, small = 0;

  /// Once `whole` is known.
  void add(double volume, double share) {
    largest = std::max(largest, volume);
    if (volume <= share * whole) small += std::max(0.0, volume);
  }
  double least(double share) const { return share * (small > good_part * whole ? largest : whole); }
};

/// What is known of one node after adding up its triangles.
struct Amount {
  double volume = 0, opening = 0, rounding = 0;
  double residual = 0;
  Vec3 weighted = Vec3::Zero();  // Σ area · (centre − place_) over the walls of the cavities in it
  double wall = 0;               // Σ area
};

}  // namespace

class CavityFinder {
 public:
  CavityFinder(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
               const SplitSurface& split, const Box& box, bool open, const CavityOptions& options)
      : triangles_(triangles),
        split_(split),
        open_(open),
        options_(options),
        size_(box.size().norm()),
        plateau_(std::min(in_millimetres(options.plateau), highest_plateau * size_)) {
    frame_ = frame_with_up(options.up);
    points_.reserve(vertices.size());
    for (const Vec3& p : vertices) points_.push_back(frame_ * p);
    place_ = frame_ * box.centre();
  }

  static CavityResult with_tilts(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                 const Box& box, bool open, const CavityOptions& options);

  CavityResult run(bool air_only = false) {
    tree_ = build_join_tree(points_, split_, open_, plateau_);
    amounts();
    choose();
    arrange();
    CavityResult out;
    fill_in(out);
    mark_filled(out);
    warn(out);
    if (options_.look_further)
      look_further({points_, triangles_, split_, *out.cavities.patches_, open_, plateau_, air_only,
                    in_millimetres(options_.bridge), in_millimetres(options_.least_depth)},
                   out);
    return out;
  }

 private:
  static double lost(const Cavities& level, const Cavities& leaning);
  static double caught(const CavityResult& r);
  static double held(const CavityResult& r);
  static std::optional<Lean> freeing_lean(const std::vector<Vec3>& vertices,
                                          const std::vector<Triangle>& triangles, const SplitSurface& split,
                                          const Box& box, bool open, const CavityOptions& options,
                                          const CavityResult& level);
  using Kind = PoolNode::Kind;
  bool stands(Index n) const {
    return tree_.nodes[n].kind == Kind::pool && tree_.nodes[n].absorbed_by == none;
  }
  bool is_root(Index n) const { return tree_.nodes[n].parent == none; }
  bool is_sealed(Index n) const { return is_root(n) && !tree_.nodes[n].spills; }

  /// Capacity of every node.
  void amounts() {
    const std::size_t count = tree_.nodes.size();
    start_.assign(count + 1, 0);
    for (const Index n : tree_.triangle_node)
      if (n != none) ++start_[n + 1];
    std::partial_sum(start_.begin(), start_.end(), start_.begin());
    columns_.resize(start_.back());
    column_triangle_.resize(start_.back());
    datum_ = std::numeric_limits<double>::infinity();
    for (Index n = 0; n < count; ++n)
      if (stands(n)) datum_ = std::min(datum_, tree_.nodes[n].birth);
    std::vector<std::size_t> next(start_.begin(), start_.end() - 1);
    for (std::size_t t = 0; t < triangles_.size(); ++t) {
      const Index n = tree_.triangle_node[t];
      if (n == none) continue;
      column_triangle_[next[n]] = static_cast<Index>(t);
      columns_[next[n]++] = column(t);
    }
    const std::vector<BrimSum> sums = sum_to_brims(tree_, columns_, start_, datum_, plateau_);
    amount_.resize(count);
    for (Index n = 0; n < count; ++n) {
      if (!stands(n)) continue;
      Amount& a = amount_[n];
      const double lever = is_sealed(n) ? size_ : std::abs(tree_.nodes[n].brim - datum_) + size_;
      a.volume = sums[n].volume;
      a.opening = sums[n].opening;
      a.rounding = rounding_share * sums[n].plan_size * lever;
    }
  }

  std::array<Vec3, 3> corners(std::size_t t) const {
    return {points_[triangles_[t][0]], points_[triangles_[t][1]], points_[triangles_[t][2]]};
  }

  /// Middle of the walls of the cavities in a listed node.
  Vec3 middle(Index n) const {
    const Amount& a = amount_[n];
    return a.wall > 0 ? Vec3(place_ + a.weighted / a.wall) : points_[tree_.nodes[n].birth_vertex];
  }

  /// Adds up the wetted walls of the listed nodes, children first. The innermost and the outermost are summed
  /// from their triangles; those between take over the middle from what is in them and the residual from what
  /// is round them, or deep trees would be summed again at every level.
  void walls(const std::vector<Index>& children_first) {
    for (const Index n : children_first) {
      const auto& kids = kept_children_[n];
      Amount& a = amount_[n];
      for (const Index k : kids) {
        a.weighted += amount_[k].weighted;
        a.wall += amount_[k].wall;
      }
      if (!kids.empty() && !is_root(n)) continue;
      const WallSum w = wall_of(n);
      a.residual = std::max(std::max(std::abs(w.x - a.volume), std::abs(w.y - a.volume)) / a.volume,
                            std::max(std::abs(w.open_x), std::abs(w.open_y)) / w.area);
      if (!kids.empty()) continue;
      a.weighted = w.weighted + w.counted * (w.origin - place_);
      a.wall = w.counted;
    }
    for (std::size_t i = children_first.size(); i-- > 0;)
      for (const Index k : kept_children_[children_first[i]])
        if (!kept_children_[k].empty()) amount_[k].residual = amount_[children_first[i]].residual;
  }

  /// O(triangles of the pool). What starts within a plateau of the brim is rim: level but for noise, it would
  /// count or not as the noise has it.
  WallSum wall_of(Index n) const {
    WallSum w;
    w.origin = points_[tree_.nodes[n].birth_vertex];
    const double h = tree_.nodes[n].brim;
    for (std::size_t i = first_[n]; i < last_[n]; ++i) {
      const std::array<Vec3, 3> t = corners(patches_->triangles[i]);
      if (is_sealed(n))
        w.add(t);
      else
        w.add_below(t, h, patches_->columns[i].a + datum_ < h - plateau_);
    }
    return w;
  }

  Column column(std::size_t t) const {
    const Triangle& c = triangles_[t];
    Column k = column_of(points_[c[0]], points_[c[1]], points_[c[2]]);
    k.a -= datum_;
    k.b -= datum_;
    k.c -= datum_;
    return k;
  }

  bool is_deep(Index n) const {
    return tree_.nodes[n].brim - tree_.nodes[n].birth >
           std::max(plateau_, in_millimetres(options_.least_depth));
  }

  /// Leaves out floor detail; a pool with one child left is that child with a higher brim.
  void choose() {
    const auto count = static_cast<Index>(tree_.nodes.size());
    std::vector<Index> root(count, none);
    Worth roots;
    std::vector<Worth> leaves(count);  // by root
    for (Index n = count; n-- > 0;) {  // parents first
      if (!stands(n)) continue;
      root[n] = is_root(n) ? n : root[tree_.nodes[n].parent];
      if (is_root(n)) roots.whole += std::max(0.0, amount_[n].volume);
    }
    for (Index n = 0; n < count; ++n) {
      if (!stands(n)) continue;
      if (is_root(n)) roots.add(amount_[n].volume, options_.floor_detail);
      if (!tree_.nodes[n].children.empty() || root[n] == none) continue;
      leaves[root[n]].whole = amount_[root[n]].volume;
      leaves[root[n]].add(amount_[n].volume, options_.floor_detail);
    }
    for (Index n = 0; n < tree_.nodes.size(); ++n) {
      if (!stands(n) || !is_root(n)) continue;
      const bool worth =
          amount_[n].volume > roots.least(options_.floor_detail) && (is_sealed(n) || is_deep(n));
      if (worth)
        roots_.push_back(n);
      else if (is_deep(n) && may_be_mold(n))
        small_.push_back(n);
      else if (amount_[n].volume > uncounted_of_all * roots.whole)
        ++dropped_;
    }
    kept_children_.resize(tree_.nodes.size());
    std::vector<std::pair<Index, double>> open;
    for (const Index r : roots_) open.emplace_back(r, leaves[r].least(options_.floor_detail));
    while (!open.empty()) {
      const auto [n, least] = open.back();
      open.pop_back();
      if (is_sealed(n)) continue;
      auto& kept = kept_children_[n];
      std::vector<Index> candidates = tree_.nodes[n].children;
      for (;;) {
        kept.clear();
        for (const Index c : candidates) {
          if (amount_[c].volume > least && is_deep(c))
            kept.push_back(c);
          else if (amount_[c].volume > uncounted_of_least * least)
            ++dropped_;
        }
        if (kept.size() != 1) break;
        candidates = tree_.nodes[kept[0]].children;
      }
      for (const Index c : kept) open.emplace_back(c, least);
    }
  }

  /// Puts the surfaces of each subtree in one range and numbers the cavities: left to right, front to back,
  /// children before the pool they join, closed voids last.
  void arrange() {
    // Every node of the tree in an order that keeps subtrees together.
    std::vector<std::pair<Index, bool>> open;
    auto patches = std::make_shared<Cavities::Patches>();
    patches->datum = datum_;
    patches->plateau = plateau_;
    patches->frame = frame_;
    patches->columns.reserve(columns_.size());
    first_.assign(tree_.nodes.size(), 0);
    last_.assign(tree_.nodes.size(), 0);
    for (const Index r : roots_) {
      open.emplace_back(r, false);
      while (!open.empty()) {
        const auto [n, done] = open.back();
        open.pop_back();
        if (done) {
          for (std::size_t i = start_[n]; i < start_[n + 1]; ++i) {
            patches->columns.push_back(columns_[i]);
            patches->triangles.push_back(column_triangle_[i]);
          }
          last_[n] = patches->columns.size();
        } else {
          first_[n] = patches->columns.size();
          open.emplace_back(n, true);
          for (const Index c : tree_.nodes[n].children) open.emplace_back(c, false);
        }
      }
    }
    patches_ = std::move(patches);
    sort_by_place();
    for (const Index r : roots_) {
      open.emplace_back(r, false);
      while (!open.empty()) {
        const auto [n, done] = open.back();
        open.pop_back();
        if (done) {
          numbered_.push_back(n);
          continue;
        }
        open.emplace_back(n, true);
        const auto& kids = kept_children_[n];
        for (std::size_t i = kids.size(); i-- > 0;) open.emplace_back(kids[i], false);
      }
    }
  }

  /// Sorts siblings. Places that differ by no more than rounding are one place, so that the order does not
  /// depend on how the mesh is numbered; gaps decide, because "nearly equal" alone is no order.
  void sort_by_place() {
    std::vector<Index> listed = roots_;
    for (std::size_t i = 0; i < listed.size(); ++i)
      listed.insert(listed.end(), kept_children_[listed[i]].begin(), kept_children_[listed[i]].end());
    walls({listed.rbegin(), listed.rend()});
    std::vector<std::array<Index, 3>> place(tree_.nodes.size());
    for (int k = 0; k < 3; ++k) {
      std::sort(listed.begin(), listed.end(), [&](Index a, Index b) { return middle(a)[k] < middle(b)[k]; });
      Index group = 0;
      for (std::size_t i = 0; i < listed.size(); ++i) {
        if (i > 0 && middle(listed[i])[k] - middle(listed[i - 1])[k] > one_place * size_) ++group;
        place[listed[i]][static_cast<std::size_t>(k)] = group;
      }
    }
    const auto before = [&](Index a, Index b) {
      const auto key = [&](Index n) {
        return std::tuple(is_sealed(n), place[n], tree_.nodes[n].birth, amount_[n].volume, n);
      };
      return key(a) < key(b);
    };
    std::sort(roots_.begin(), roots_.end(), before);
    for (auto& c : kept_children_) std::sort(c.begin(), c.end(), before);
  }

  void fill_in(CavityResult& out) {
    auto patches = std::make_shared<Cavities::Patches>(*patches_);
    std::vector<int> id_of(tree_.nodes.size(), 0);
    for (std::size_t i = 0; i < numbered_.size(); ++i) id_of[numbered_[i]] = static_cast<int>(i) + 1;
    for (const Index n : numbered_) {
      const PoolNode& node = tree_.nodes[n];
      Cavity c;
      c.id = id_of[n];
      c.kind = is_sealed(n)                ? CavityKind::sealed
               : kept_children_[n].empty() ? CavityKind::open
                                           : CavityKind::pool;
      const Amount& a = amount_[n];
      c.capacity = {cubic_millimetres(a.volume),
                    cubic_millimetres(a.volume - a.rounding),
                    cubic_millimetres(a.volume + a.rounding),
                    {{"rounding", a.rounding / a.volume}}};
      c.floor = millimetres(node.birth);
      c.brim = millimetres(is_sealed(n) ? top_of(n) : node.brim);
      c.opening = square_millimetres(a.opening);
      c.floor_at = point(frame_.transpose() * points_[node.birth_vertex]);
      c.brim_at =
          node.brim_vertex == none ? c.floor_at : point(frame_.transpose() * points_[node.brim_vertex]);
      out.cavities.wetted_.push_back(
          {frame_.transpose() * middle(n), wall_box(n, out.cavities.wetted_, id_of)});
      c.residual = a.residual;
      out.cavities.list_.push_back(c);
      patches->range.push_back({first_[n], last_[n]});
      patches->floor_vertex.push_back(node.birth_vertex);
    }
    for (const Index n : numbered_)
      for (const Index k : kept_children_[n])
        out.cavities.list_[static_cast<std::size_t>(id_of[k] - 1)].parent = id_of[n];
    // A triangle belongs to the smallest listed cavity round it.
    for (std::size_t n = tree_.nodes.size(); n-- > 0;)  // parents first
      if (id_of[n] == 0 && tree_.nodes[n].parent != none) id_of[n] = id_of[tree_.nodes[n].parent];
    patches->cavity_of.reserve(triangles_.size());
    for (const Index n : tree_.triangle_node) patches->cavity_of.push_back(n == none ? 0 : id_of[n]);
    out.cavities.patches_ = std::move(patches);
  }

  /// Round the surface of a cavity: the boxes of the cavities in it, which come first, and what lies between
  /// them, so that deep trees cost no more than their surface.
  Box wall_box(Index n, const std::vector<Wetted>& before, const std::vector<int>& id_of) const {
    Box box;
    std::vector<Index> kids = kept_children_[n];
    std::sort(kids.begin(), kids.end(), [&](Index a, Index b) { return first_[a] < first_[b]; });
    std::size_t i = first_[n];
    const auto add_up_to = [&](std::size_t end) {
      for (; i < end; ++i)
        for (const Index v : triangles_[patches_->triangles[i]]) box.add(frame_.transpose() * points_[v]);
    };
    for (const Index k : kids) {
      add_up_to(first_[k]);
      i = last_[k];
      const Box& inner = before[static_cast<std::size_t>(id_of[k] - 1)].box;
      box.add(inner.low);
      box.add(inner.high);
    }
    add_up_to(last_[n]);
    return box;
  }

  double top_of(Index n) const {
    double top = tree_.nodes[n].birth;
    for (std::size_t i = first_[n]; i < last_[n]; ++i) top = std::max(top, patches_->columns[i].c + datum_);
    return top;
  }

  /// One cut through the tree. From each root down: go to the children when they hold the larger part of the
  /// whole, for then the liquid above them is a flood over a deck; where it is close, depths decide.
  void mark_filled(CavityResult& out) {
    auto& list = out.cavities.list_;
    std::vector<int> open;
    double brims = 0, rims = 0, chosen = 0;
    std::size_t brim_count = 0, rim_count = 0, chosen_count = 0;
    std::vector<std::vector<int>> inside(list.size() + 1);  // by id
    for (const Cavity& c : list) {
      inside[static_cast<std::size_t>(c.parent)].push_back(c.id);
      if (c.kind == CavityKind::sealed) continue;
      const double v = in_cubic_millimetres(c.capacity.value);
      if (c.parent == 0) {
        open.push_back(c.id);
        rims += v;
        ++rim_count;
      }
      if (c.kind == CavityKind::open) {
        brims += v;
        ++brim_count;
      }
    }
    while (!open.empty()) {
      Cavity& c = list[static_cast<std::size_t>(open.back() - 1)];
      open.pop_back();
      if (options_.fill_to.kind == FillTo::Kind::chosen) break;
      if (c.kind == CavityKind::pool && goes_down(list, c, inside[static_cast<std::size_t>(c.id)])) {
        open.insert(open.end(), inside[static_cast<std::size_t>(c.id)].begin(),
                    inside[static_cast<std::size_t>(c.id)].end());
      } else {
        c.filled = true;
        chosen += in_cubic_millimetres(c.capacity.value);
        ++chosen_count;
      }
    }
    for (const int id : options_.fill_to.ids)
      if (id > 0 && static_cast<std::size_t>(id) <= list.size())
        list[static_cast<std::size_t>(id - 1)].filled = true;
    if (brim_count == rim_count || options_.fill_to.kind == FillTo::Kind::chosen) return;
    const auto ml = [](double mm3) { return fmt::format("{:.1f} ml", mm3 / 1000); };
    if (chosen_count == brim_count)
      out.notes.push_back({"filled-brims",
                           fmt::format("{} cavities, {}, each to its own brim; flooding to the outer rim "
                                       "would take {}",
                                       brim_count, ml(brims), ml(rims)),
                           false});
    else if (chosen_count == rim_count)
      out.notes.push_back({"filled-rim",
                           fmt::format("filled to the outer rim, {}; each of the {} cavities inside to its "
                                       "own brim would take {}",
                                       ml(rims), brim_count, ml(brims)),
                           false});
    else
      out.notes.push_back({"filled-mixed",
                           fmt::format("{} cavities filled, {}; all to their own brims {}, to the outer "
                                       "rims {}",
                                       chosen_count, ml(chosen), ml(brims), ml(rims)),
                           false});
  }

  bool goes_down(const std::vector<Cavity>& list, const Cavity& pool, const std::vector<int>& inside) const {
    if (options_.fill_to.kind == FillTo::Kind::brims) return true;
    if (options_.fill_to.kind == FillTo::Kind::rim) return false;
    if (parted_by_floating(pool, inside)) return false;
    double held = 0, merge = -std::numeric_limits<double>::infinity();
    for (const int id : inside) {
      const Cavity& k = list[static_cast<std::size_t>(id - 1)];
      held += in_cubic_millimetres(k.capacity.value);
      merge = std::max(merge, in_millimetres(k.brim));
    }
    const double share = held / in_cubic_millimetres(pool.capacity.value);
    if (share > flood_share) return true;
    if (share < step_share) return false;
    return merge - in_millimetres(pool.floor) >= in_millimetres(pool.brim) - merge;
  }

  /// Whether every brim between the cavities in a pool is that of a body that lies in the liquid whole, as a
  /// cup that floats in a bowl. Such a rim is no deck of the mold: to fill the mold is to cover it.
  bool parted_by_floating(const Cavity& pool, const std::vector<int>& inside) const {
    find_bodies();
    const auto node = [&](int id) -> const PoolNode& {
      return tree_.nodes[numbered_[static_cast<std::size_t>(id - 1)]];
    };
    return std::all_of(inside.begin(), inside.end(), [&](int id) {
      const Index brim = node(id).brim_vertex;
      return brim != none && bodies_[body_of_[brim]].high.z() < in_millimetres(pool.brim) - plateau_;
    });
  }

  /// What hangs together, and its box.
  void find_bodies() const {
    if (!bodies_.empty()) return;
    DisjointSets sets(points_.size());
    for (const Triangle& t : triangles_) {
      sets.unite(t[0], t[1]);
      sets.unite(t[1], t[2]);
    }
    bodies_.resize(std::move(sets).number(body_of_));
    for (const Triangle& t : triangles_)
      for (const Index v : t) bodies_[body_of_[v]].add(points_[v]);
  }

  /// Whether a pool that is too small to count is a mold beside another: a good part of its own body's box.
  bool may_be_mold(Index n) const {
    if (is_sealed(n) || open_) return false;
    find_bodies();
    return bodies_.size() > 1 &&
           amount_[n].volume > least_of_box * bodies_[body_of_[tree_.nodes[n].birth_vertex]].size().prod();
  }

  /// Small molds told one for each body: those of bodies that have a cavity in the list are its dips.
  std::vector<Index> small_molds() const {
    if (small_.empty()) return {};
    std::vector<bool> counted(bodies_.size());
    for (const Index n : roots_) counted[body_of_[tree_.nodes[n].birth_vertex]] = true;
    std::vector<Index> out;
    for (const Index n : small_)
      if (const Index b = body_of_[tree_.nodes[n].birth_vertex]; !counted[b]) {
        counted[b] = true;
        out.push_back(n);
      }
    return out;
  }

  void warn(CavityResult& out) const {
    if (const std::vector<Index> molds = small_molds(); !molds.empty()) {
      double sum = 0;
      for (const Index n : molds) sum += amount_[n].volume;
      const Vec3 at = frame_.transpose() * points_[tree_.nodes[molds[0]].birth_vertex];
      out.notes.push_back(
          {"small-mold",
           fmt::format("{} in the file {} {:.2g} ml, too little beside the rest to be counted, near "
                       "({:.4g}, {:.4g}, {:.4g}); pour it from a file of its own, or list it with --dips",
                       molds.size() == 1 ? "another body" : fmt::format("{} other bodies", molds.size()),
                       molds.size() == 1 ? "holds" : "hold", sum / 1000, at.x(), at.y(), at.z()),
           true});
    }
    if (dropped_ > 0)
      out.notes.push_back(
          {"floor-detail",
           fmt::format("{} {} too small to be a cavity left out", dropped_, dropped_ == 1 ? "dip" : "dips"),
           false});
    if (tree_.orphans > 0)
      out.notes.push_back(
          {"folds",
           fmt::format("{} {} of surface could not be placed; the mesh folds or overlaps there",
                       tree_.orphans, tree_.orphans == 1 ? "patch" : "patches"),
           true});
    for (const Cavity& c : out.cavities.list())
      if (c.residual > leaky)
        out.notes.push_back({"leaky-patch",
                             fmt::format("cavity {}: independent sums of its volume differ by {:.2g} %, so "
                                         "its surface has a hole or a flipped triangle",
                                         c.id, 100 * c.residual),
                             true});
  }

  const std::vector<Triangle>& triangles_;
  const SplitSurface& split_;
  bool open_;
  const CavityOptions& options_;
  double size_;     // diagonal of the box
  double plateau_;  // mm
  Eigen::Matrix3d frame_;
  std::vector<Vec3> points_;  // in the frame with z up
  JoinTree tree_;
  Vec3 place_ = Vec3::Zero();  // middle of the box: sums are taken about it
  double datum_ = 0;
  std::vector<std::size_t> start_;  // per node, its own triangles in columns_
  std::vector<Column> columns_;
  std::vector<Index> column_triangle_;
  std::vector<Amount> amount_;
  std::vector<Index> roots_, numbered_;
  std::vector<std::vector<Index>> kept_children_;
  std::vector<std::size_t> first_, last_;  // per node, its subtree in patches_->columns
  std::shared_ptr<const Cavities::Patches> patches_;
  std::size_t dropped_ = 0;
  std::vector<Index> small_;            // pools too small to count that may be molds by themselves
  mutable std::vector<Index> body_of_;  // per vertex; made when it is asked for
  mutable std::vector<Box> bodies_;
};

CavityResult CavityFinder::with_tilts(const std::vector<Vec3>& vertices,
                                      const std::vector<Triangle>& triangles, const Box& box, bool open,
                                      const CavityOptions& options) {
  const SplitSurface split = split_surface(vertices, triangles, open);
  CavityResult level = CavityFinder(vertices, triangles, split, box, open, options).run();
  for (const double degrees : options.tilts) {
    TiltLoss worst{degrees, 0, 0};
    for (int k = 0; k < azimuths; ++k) {
      const double azimuth = k * 2 * std::numbers::pi / azimuths, lean = degrees * std::numbers::pi / 180;
      const Eigen::Matrix3d& f = level.cavities.patches_->frame;
      const Vec3 side = std::cos(azimuth) * f.row(0) + std::sin(azimuth) * f.row(1);
      CavityOptions leaning = options;
      leaning.up = std::cos(lean) * Vec3(f.row(2)) + std::sin(lean) * side;
      leaning.look_further = false;
      leaning.tilts.clear();
      leaning.fill_to = {};  // numbers are those of the level position
      const CavityResult r = CavityFinder(vertices, triangles, split, box, open, leaning).run();
      const double share = lost(level.cavities, r.cavities);
      if (share > worst.share) worst = {degrees, 360.0 * k / azimuths, share};
    }
    level.tilt.push_back(worst);
  }
  if (options.find_lean) level.lean = freeing_lean(vertices, triangles, split, box, open, options, level);
  return level;
}

double CavityFinder::caught(const CavityResult& r) {
  double sum = 0;
  for (const Cavity& c : r.cavities.list())
    if (c.filled)
      for (const AirTrap& t : c.air_traps) sum += in_cubic_millimetres(t.volume);
  return sum;
}

/// What gets into the filled cavities with the air that stays.
double CavityFinder::held(const CavityResult& r) {
  double sum = 0;
  for (const Cavity& c : r.cavities.list())
    if (c.filled) sum += in_cubic_millimetres(c.usable);
  return sum;
}

/// The least lean that leaves at most a twentieth of the air caught as the mold stands.
std::optional<Lean> CavityFinder::freeing_lean(const std::vector<Vec3>& vertices,
                                               const std::vector<Triangle>& triangles,
                                               const SplitSurface& split, const Box& box, bool open,
                                               const CavityOptions& options, const CavityResult& level) {
  const double before = caught(level);
  if (!(before > 0)) return std::nullopt;
  const Eigen::Matrix3d& f = level.cavities.patches_->frame;
  for (int degrees = lean_step; degrees <= most_lean; degrees += lean_step) {
    std::optional<Lean> best;
    double least = air_left * before;
    for (int k = 0; k < azimuths; ++k) {
      const double azimuth = k * 2 * std::numbers::pi / azimuths, lean = degrees * std::numbers::pi / 180;
      const Vec3 side = std::cos(azimuth) * f.row(0) + std::sin(azimuth) * f.row(1);
      CavityOptions leaning = options;
      leaning.up = std::cos(lean) * Vec3(f.row(2)) + std::sin(lean) * side;
      leaning.tilts.clear();
      leaning.find_lean = false;
      leaning.look_further = true;
      leaning.fill_to = {};
      const CavityResult r = CavityFinder(vertices, triangles, split, box, open, leaning).run(true);
      // Leaning further than it bears pours the liquid out, and the air with it: more must get in than
      // standing.
      if (held(r) < held(level) + worth_leaning * before) continue;
      const double left = caught(r);
      if (left < least) {
        least = left;
        best = Lean{static_cast<double>(degrees), leaning.up};
      }
    }
    if (best) return best;
  }
  return std::nullopt;
}

/// Share of the filled capacity that a lean loses. Cavities are matched by the wall they share.
double CavityFinder::lost(const Cavities& level, const Cavities& leaning) {
  double before = 0, after = 0;
  std::vector<std::size_t> shared(leaning.list().size() + 1);  // by id
  std::vector<int> met;
  for (const Cavity& c : level.list()) {
    if (!c.filled) continue;
    before += in_cubic_millimetres(c.capacity.value);
    met.clear();
    const auto wall = level.patches_->wall(c.id);
    for (const Index t : wall)
      for (int id = leaning.patches_->cavity_of[t]; id > 0; id = leaning.at(id).parent)
        if (shared[static_cast<std::size_t>(id)]++ == 0) met.push_back(id);
    std::sort(met.begin(), met.end());
    double best = 0, volume = 0;
    for (const int id : met) {
      const Cavity& k = leaning.at(id);
      const std::size_t both = std::exchange(shared[static_cast<std::size_t>(id)], 0);
      const std::size_t either = wall.size() + leaning.patches_->wall(k.id).size() - both;
      const double likeness = static_cast<double>(both) / static_cast<double>(either);
      if (likeness > best) {
        best = likeness;
        volume = in_cubic_millimetres(k.capacity.value);
      }
    }
    after += volume;
  }
  return before > 0 ? std::max(0.0, 1 - after / before) : 0;
}

namespace {

/// Chosen cavities must be there, be open, and not lie one in the other.
Expected<CavityResult> as_chosen(CavityResult r, const FillTo& fill_to) {
  const auto& list = r.cavities.list();
  for (const int id : fill_to.ids) {
    if (id < 1 || static_cast<std::size_t>(id) > list.size() || r.cavities.at(id).kind == CavityKind::sealed)
      return fail(Code::fill_out_of_range,
                  list.empty() ? std::string("there is no cavity to fill")
                               : fmt::format("there is no cavity {} to fill", id),
                  "measure lists the cavities by number; --fill-to takes these");
    for (int up = r.cavities.at(id).parent; up > 0; up = r.cavities.at(up).parent)
      if (r.cavities.at(up).filled)
        return fail(Code::fill_out_of_range, fmt::format("cavity {} lies in cavity {}", id, up),
                    "fill one or the other");
  }
  return r;
}

}  // namespace

namespace {

template <class Surface>
Expected<CavityResult> find_in(const Surface& s, bool open, const CavityOptions& options) {
  CavityResult r = CavityFinder::with_tilts(s.vertices(), s.triangles(), s.box(), open, options);
  r.overlap = Surface::overlap;
  return as_chosen(std::move(r), options.fill_to);
}

}  // namespace

Expected<CavityResult> find_cavities(const ClosedBody& body, const CavityOptions& options) {
  return find_in(body, false, options);
}

Expected<CavityResult> find_cavities(const Solid& solid, const CavityOptions& options) {
  return find_in(solid, false, options);
}

Expected<CavityResult> find_cavities(const OpenSurface& surface, const CavityOptions& options) {
  return find_in(surface, true, options);
}

Expected<CavityResult> find_cavities(const ProvenOpenSurface& surface, const CavityOptions& options) {
  return find_in(surface, true, options);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Components of {void, height <= h} are swept exactly on the mesh: surface edges carry every connection,
// except that a surface patch born with void below it (the underside of something hanging) belongs to the
// liquid that owns the surface straight below. See docs/algorithms/join_tree.md for the argument. Related:
// plane-sweep pool segmentation (Y. Yasui, S. McMains, T. Glau) and depression hierarchies of height fields
// (R. Barnes, K. Callaghan, A. Wickert).
#include "geometry/cavity/join_tree.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/half_edges.hpp"
#include "geometry/mesh/spread_sort.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace pourwright {
namespace {

constexpr Index outside = none - 1;   // owner of a set of surface vertices that is no node
constexpr Index unlinked = none - 2;  // a hanging minimum whose surroundings contradict it

class Sweep {
 public:
  Sweep(const std::vector<Vec3>& vertices, const SplitSurface& split, bool open, double plateau)
      : input_vertices_(vertices),
        open_(open),
        plateau_(plateau),
        triangles_(split.triangles),
        origin_(split.origin),
        border_(split.border),
        sets_(0) {}

  JoinTree run() {
    number_by_height();
    collect_lower_neighbours();
    find_links();
    sweep();
    collapse_plateaus();
    label();
    return std::move(tree_);
  }

 private:
  /// Fans numbered in the order of the sweep: by height, ties by number. All decisions use this order, so
  /// that plateaus need no special code (simulation of simplicity).
  void number_by_height() {
    const std::size_t n = input_vertices_.size() + origin_.size();
    std::vector<std::pair<double, Index>> keyed(n);
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (Index v = 0; v < n; ++v) {
      const double z = input_vertices_[input_of(v)].z();
      keyed[v] = {z, v};
      low = std::min(low, z);
      high = std::max(high, z);
    }
    sort_spread(keyed, low, high);
    order_.resize(n);
    std::vector<Index> rank(n);
    for (Index r = 0; r < n; ++r) {
      order_[r] = keyed[r].second;
      rank[keyed[r].second] = r;
    }
    for (Triangle& t : triangles_)
      for (Index& v : t) v = rank[v];
  }

  Index input_of(Index fan) const {
    return fan < input_vertices_.size() ? fan : origin_[fan - input_vertices_.size()];
  }
  const Vec3& point(Index r) const { return input_vertices_[input_of(order_[r])]; }
  double height(Index r) const { return point(r).z(); }

  /// Each edge once, filed under its higher end. Where an edge has two triangles it is taken from the
  /// half-edge that runs down; a border edge may have only one that runs up, so open surfaces file both.
  void collect_lower_neighbours() {
    const std::size_t n = order_.size();
    lower_start_.assign(n + 1, 0);
    const auto each = [&](auto&& file) {
      for (const Triangle& t : triangles_)
        for (std::size_t k = 0; k < 3; ++k) {
          const Index a = t[k], b = t[k == 2 ? 0 : k + 1];
          if (a > b)
            file(a, b);
          else if (open_)
            file(b, a);
        }
    };
    each([&](Index high, Index) { ++lower_start_[high]; });
    Index sum = 0;
    for (Index& s : lower_start_) s = sum += s;
    lower_.resize(sum);
    each([&](Index high, Index low) { lower_[--lower_start_[high]] = low; });
  }

  bool is_local_minimum(Index r) const { return lower_start_[r] == lower_start_[r + 1]; }

  /// For every local minimum with void below: what it hangs over.
  void find_links() {
    std::vector<Index> minima;
    std::vector<Index> slot(order_.size(), none);
    for (Index r = 0; r < order_.size(); ++r)
      if (is_local_minimum(r)) {
        slot[r] = static_cast<Index>(minima.size());
        minima.push_back(r);
      }
    // The void is below when the angle-weighted normal points down: the star lies in z >= z_v, so the vertex
    // is the star's nearest point to what is below it (J. A. Bærentzen, H. Aanæs, Signed distance computation
    // using the angle weighted pseudonormal, 2005).
    std::vector<double> facing(minima.size(), 0);
    std::vector<Index> underside(minima.size(), none);
    std::vector<double> widest(minima.size(), 0);
    for (Index t = 0; t < triangles_.size(); ++t) {
      const Triangle& c = triangles_[t];
      const Index low = std::min({c[0], c[1], c[2]}), s = slot[low];
      if (s == none) continue;
      const std::array<Vec3, 3> k = corners_from(t, low);
      const Vec3 u = k[1] - k[0], v = k[2] - k[0], n = u.cross(v);
      const double length = n.norm();
      if (length == 0) continue;
      const double angle = std::atan2(length, u.dot(v)), share = angle * n.z() / length;
      facing[s] += share;
      if (share < widest[s]) {
        widest[s] = share;
        underside[s] = t;
      }
    }
    hanging_.assign(order_.size(), false);
    std::vector<Hanging> asking;
    const double bottom = height(0);
    for (std::size_t i = 0; i < minima.size(); ++i) {
      if (!(facing[i] < 0)) continue;
      hanging_[minima[i]] = true;
      // Nothing can lie below the lowest.
      if (height(minima[i]) > bottom) asking.push_back({minima[i], underside[i]});
    }
    links_.assign(minima.size(), none);
    minimum_slot_ = std::move(slot);
    shoot(asking);
  }

  /// A local minimum with void below, and the triangle of its underside that faces down most.
  struct Hanging {
    Index vertex, underside;
  };

  /// Corners of a triangle, beginning with the one at vertex v.
  std::array<Vec3, 3> corners_from(Index t, Index v) const {
    const Triangle& c = triangles_[t];
    const std::size_t k = c[0] == v ? 0 : c[1] == v ? 1 : 2;
    return {point(c[k]), point(c[(k + 1) % 3]), point(c[(k + 2) % 3])};
  }

  /// First surface below each hanging vertex, straight down from its underside right beside it. From the
  /// vertex itself the line could start inside another body that touches the vertex.
  void shoot(const std::vector<Hanging>& asking) {
    if (asking.empty()) return;
    struct Hit {
      Index triangle = none;
      int sign = 0;
    };
    std::vector<Hit> hits(asking.size());
    std::vector<VerticalLine> lines;
    for (const Hanging& a : asking) {
      const std::array<Vec3, 3> k = corners_from(a.underside, a.vertex);
      lines.push_back({k[0], k[1] + (k[2] - k[1]) / 2});
    }
    // The crossing search wants plain arrays in sweep numbering.
    std::vector<Vec3> swept(order_.size());
    for (Index r = 0; r < order_.size(); ++r) swept[r] = point(r);
    for_each_crossing(swept, triangles_, lines, [&](Index i, Index t, int sign) {
      const Triangle& c = triangles_[t];
      const Hanging& a = asking[i];
      if (c[0] == a.vertex || c[1] == a.vertex || c[2] == a.vertex) return;
      const std::array<Vec3, 3> k{swept[c[0]], swept[c[1]], swept[c[2]]};
      const int above = above_plane(k[0], k[1], k[2], sign, lines[i].at);
      if (above < 0) return;
      if (above == 0 && compare_heights(corners_from(a.underside, a.vertex), k, lines[i]) <= 0) return;
      if (hits[i].triangle == none || compare_heights(k, corners_from(hits[i].triangle, none), lines[i]) > 0)
        hits[i] = {t, sign};
    });
    tree_.rays = asking.size();
    for (std::size_t i = 0; i < asking.size(); ++i) {
      const Index v = asking[i].vertex;
      Index& link = links_[minimum_slot_[v]];
      if (hits[i].triangle == none) {
        // Never the outside on a scan: a fold would otherwise drain the whole pool.
        link = open_ ? unlinked : outside;
      } else if (hits[i].sign > 0) {
        const Triangle& c = triangles_[hits[i].triangle];
        link = std::min({c[0], c[1], c[2]});
      } else {
        link = unlinked;  // a surface seen from its solid side: contradiction
        ++tree_.contradictions;
      }
      if (link == unlinked)
        ++tree_.orphans;
      else if (link != outside && link > v)
        late_.emplace_back(link, v);
    }
    std::sort(late_.begin(), late_.end());
  }

  void sweep() {
    const auto n = static_cast<Index>(order_.size());
    sets_ = DisjointSets(n);
    owner_.assign(n, none);
    node_of_.assign(n, none);
    std::vector<Index> roots;
    std::size_t late = 0;
    const auto join = [&](Index v, Index node) {
      for (const Index r : roots) sets_.unite(v, r);
      owner_[sets_.find(v)] = node_of_[v] = node;
    };
    for (Index v = 0; v < n; ++v) {
      roots.clear();
      for (Index i = lower_start_[v]; i < lower_start_[v + 1]; ++i) roots.push_back(sets_.find(lower_[i]));
      keep_each_once(roots);
      const bool on_border = open_ && border_[order_[v]];
      const Index node = roots.empty() && !on_border ? born(v, roots) : meet(v, roots, on_border);
      join(v, node);
      if (late == late_.size() || late_[late].first != v) continue;
      roots.assign(1, sets_.find(v));
      for (; late < late_.size() && late_[late].first == v; ++late)
        roots.push_back(sets_.find(late_[late].second));
      keep_each_once(roots);
      const Index all = meet(v, roots, false);
      join(v, all);
    }
  }

  /// A local minimum: a new pool when the void is above it, else part of what lies below. May add a root.
  Index born(Index v, std::vector<Index>& roots) {
    if (!hanging_[v]) return new_node(v, PoolNode::Kind::pool);
    const Index link = links_[minimum_slot_[v]];
    const bool bottom = height(v) <= height(0);
    if (link == outside || (bottom && !open_)) return outside;
    // What touches a level surface of its own height may come before that surface; it is placed when that is
    // reached.
    if (link == unlinked || bottom || link > v) return new_node(v, PoolNode::Kind::unknown);
    roots.push_back(sets_.find(link));
    return meet(v, roots, false);
  }

  static void keep_each_once(std::vector<Index>& list) {
    if (list.size() < 2) return;
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
  }

  Index new_node(Index v, PoolNode::Kind kind) {
    PoolNode node;
    node.kind = kind;
    node.birth = node.formed = height(v);
    node.birth_vertex = input_of(order_[v]);
    tree_.nodes.push_back(std::move(node));
    return static_cast<Index>(tree_.nodes.size() - 1);
  }

  /// What the components with these roots become when v joins them.
  Index meet(Index v, const std::vector<Index>& roots, bool joins_outside) {
    meeting_.clear();
    unknown_.clear();
    for (const Index r : roots) {
      if (owner_[r] == outside) {
        joins_outside = true;
        continue;
      }
      const Index o = tree_.resolve(owner_[r]);
      (tree_.nodes[o].kind == PoolNode::Kind::unknown ? unknown_ : meeting_).push_back(o);
    }
    keep_each_once(meeting_);
    keep_each_once(unknown_);
    const Index result = joins_outside ? outside : merge(v);
    for (const Index o : unknown_) {
      if (result == outside)
        tree_.nodes[o].kind = PoolNode::Kind::nothing;
      else if (o != result)
        tree_.nodes[o].absorbed_by = result;
    }
    if (result == outside)
      for (const Index o : meeting_) close(o, v, true, none);
    return result;
  }

  Index merge(Index v) {
    const std::vector<Index>& nodes = meeting_;
    if (nodes.empty()) return unknown_.front();
    if (nodes.size() == 1) return nodes.front();
    const double z = height(v);
    const Index deepest = *std::min_element(nodes.begin(), nodes.end(), [&](Index a, Index b) {
      return std::pair(tree_.nodes[a].birth, a) < std::pair(tree_.nodes[b].birth, b);
    });
    const auto significant = [&](Index o) { return z - tree_.nodes[o].birth > plateau_; };
    if (std::count_if(nodes.begin(), nodes.end(), significant) < 2) {
      for (const Index o : nodes)
        if (o != deepest) tree_.nodes[o].absorbed_by = deepest;
      return deepest;
    }
    PoolNode parent;
    parent.birth = tree_.nodes[deepest].birth;
    parent.birth_vertex = tree_.nodes[deepest].birth_vertex;
    parent.formed = z;
    const auto id = static_cast<Index>(tree_.nodes.size());
    tree_.nodes.push_back(std::move(parent));
    for (const Index o : nodes) {
      if (significant(o)) {
        close(o, v, false, id);
        tree_.nodes[id].children.push_back(o);
      } else {
        tree_.nodes[o].absorbed_by = id;
      }
    }
    return id;
  }

  void close(Index node, Index v, bool spills, Index parent) {
    PoolNode& p = tree_.nodes[node];
    p.brim = height(v);
    p.brim_vertex = input_of(order_[v]);
    p.spills = spills;
    p.parent = parent;
  }

  /// A parent that exists over less than a plateau is an artefact of breaking ties: its children spill where
  /// it does. Its own surface lies within a plateau of their brims, so it holds nothing. Newest first.
  void collapse_plateaus() {
    for (auto id = static_cast<Index>(tree_.nodes.size()); id-- > 0;) {
      PoolNode& p = tree_.nodes[id];
      if (p.absorbed_by != none || p.children.empty() || !(p.spills || p.parent != none)) continue;
      if (p.brim - p.formed > plateau_) continue;
      for (const Index c : p.children) {
        tree_.nodes[c].parent = p.parent;
        tree_.nodes[c].spills = p.spills;
      }
      p.absorbed_by = p.parent;  // its few triangles may rise into the pool above
      p.parent = none;
      p.spills = false;
      p.kind = PoolNode::Kind::nothing;
    }
    for (PoolNode& p : tree_.nodes) p.children.clear();
    for (Index id = 0; id < tree_.nodes.size(); ++id) {
      const PoolNode& p = tree_.nodes[id];
      if (p.absorbed_by == none && p.kind == PoolNode::Kind::pool && p.parent != none)
        tree_.nodes[p.parent].children.push_back(id);
    }
  }

  void label() {
    tree_.triangle_node.resize(triangles_.size());
    for (std::size_t t = 0; t < triangles_.size(); ++t) {
      const Index o = node_of_[std::min({triangles_[t][0], triangles_[t][1], triangles_[t][2]})];
      const Index node = o == outside ? none : tree_.resolve(o);
      tree_.triangle_node[t] = node != none && tree_.nodes[node].kind == PoolNode::Kind::pool ? node : none;
    }
  }

  const std::vector<Vec3>& input_vertices_;
  bool open_;
  double plateau_;
  std::vector<Triangle> triangles_;   // in sweep numbering once number_by_height has run
  const std::vector<Index>& origin_;  // input vertex of each extra fan
  const std::vector<bool>& border_;   // per fan
  std::vector<Index> order_;          // fan at each place of the sweep
  std::vector<Index> lower_start_, lower_;
  std::vector<bool> hanging_;
  std::vector<Index> minimum_slot_, links_;
  std::vector<std::pair<Index, Index>>
      late_;  // (vertex of the surface below, hanging vertex before it), sorted
  DisjointSets sets_;
  std::vector<Index> owner_;              // per set root
  std::vector<Index> node_of_;            // what each vertex joined
  std::vector<Index> meeting_, unknown_;  // pools and unplaced patches that meet at a vertex
  JoinTree tree_;
};

}  // namespace

SplitSurface split_surface(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                           bool open) {
  SplitSurface out{triangles, {}, {}};
  const auto opposite = pair_half_edges(vertices, triangles);
  out.origin = split_fans(vertices.size(), out.triangles, opposite);
  if (!open) return out;
  out.border.assign(vertices.size() + out.origin.size(), false);
  for (HalfEdge h = 0; h < opposite.size(); ++h)
    if (opposite[h] == none) {
      out.border[out.triangles[h / 3][h % 3]] = true;
      out.border[out.triangles[h / 3][(h % 3 + 1) % 3]] = true;
    }
  return out;
}

JoinTree build_join_tree(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, bool open,
                         double plateau) {
  return build_join_tree(vertices, split_surface(vertices, triangles, open), open, plateau);
}

JoinTree build_join_tree(const std::vector<Vec3>& vertices, const SplitSurface& split, bool open,
                         double plateau) {
  return Sweep(vertices, split, open, plateau).run();
}

}  // namespace pourwright

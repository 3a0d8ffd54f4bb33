// SPDX-License-Identifier: GPL-3.0-or-later
// Borders that run along each other: T-junctions and cracks. Beyond what rounding explains a seam is closed
// like a zip, from an end that both sides share; so the walls of a plate, which lie near each other beside
// long edges, stay apart.
#include "geometry/mesh/point_tree.hpp"
#include "geometry/repair/workpiece.hpp"

#include <cmath>

namespace pourwright::mending {
namespace {

struct BorderEdge {
  Index a, b;
  HalfEdge half_edge;
};

/// The border edges and, for each vertex on them, which it has and how long the shortest is.
struct Border {
  std::vector<BorderEdge> edges;
  std::vector<Index> vertices;         // each once, ascending
  std::vector<std::vector<Index>> at;  // parallel to `vertices`: numbers of edges
  std::vector<double> shortest;        // parallel to `vertices`
  double mean = 0;

  explicit Border(const Workpiece& w) {
    for_each_edge(w.triangles, w.vertices.size(), [&](Index, std::span<const EdgeUse> uses) {
      if (uses.size() != 1) return;
      const HalfEdge h = uses[0].half_edge;
      edges.push_back({w.from(h), w.to(h), h});
    });
    for (const BorderEdge& e : edges) vertices.insert(vertices.end(), {e.a, e.b});
    std::sort(vertices.begin(), vertices.end());
    vertices.erase(std::unique(vertices.begin(), vertices.end()), vertices.end());
    at.resize(vertices.size());
    shortest.assign(vertices.size(), std::numeric_limits<double>::infinity());
    for (std::size_t i = 0; i < edges.size(); ++i) {
      const double length = (w.vertices[edges[i].a] - w.vertices[edges[i].b]).norm();
      mean += length / static_cast<double>(edges.size());
      for (const Index v : {edges[i].a, edges[i].b}) {
        const std::size_t k = place(v);
        at[k].push_back(static_cast<Index>(i));
        shortest[k] = std::min(shortest[k], length);
      }
    }
  }
  std::size_t place(Index v) const {
    return static_cast<std::size_t>(std::lower_bound(vertices.begin(), vertices.end(), v) - vertices.begin());
  }
};

/// What single-precision coordinates of this size cannot tell apart: two points, each off by half a unit in
/// the last place in each of three coordinates, and as much again for sums of translations.
constexpr double grain_share = 0x1p-22;
double grain(const Workpiece& w) {
  double farthest = 0;
  for (const Vec3& p : w.vertices) farthest = std::max(farthest, p.cwiseAbs().maxCoeff());
  return grain_share * farthest;
}

/// Up to this share of an edge's length a seam may be open at both ends: text with four digits writes that.
/// Beyond it the sides must share an end, for a wall may be as thin.
constexpr double loose_reach = 1e-3;

/// A corner is not drawn to an edge from farther than this share of its own shortest border edge, lest a
/// whole edge fold onto another.
constexpr double own_share = 0.2;

/// Pairs of places that one round may look at; some seconds. Borders that need more lie so close to each
/// other that no nearest one can be told, and stay open for the closing of holes.
constexpr std::size_t most_looks = 50'000'000;

/// Whether two vertices on borders are joined by an edge: becoming one would collapse a triangle.
class Adjacent {
 public:
  Adjacent(const Workpiece& w, const Border& border) {
    std::vector<bool> on_border(w.vertices.size());
    for (const Index v : border.vertices) on_border[v] = true;
    for (const Triangle& t : w.triangles)
      for (std::size_t k = 0; k < 3; ++k)
        if (const Index a = t[k], b = t[(k + 1) % 3]; on_border[a] && on_border[b])
          edges_.push_back(std::minmax(a, b));
    std::sort(edges_.begin(), edges_.end());
  }
  bool operator()(Index a, Index b) const {
    return std::binary_search(edges_.begin(), edges_.end(), std::pair<Index, Index>(std::minmax(a, b)));
  }

 private:
  std::vector<std::pair<Index, Index>> edges_;
};

struct Foot {  // of a point on a segment
  double t, distance;
};
Foot foot(const Vec3& a, const Vec3& b, const Vec3& p) {
  const Vec3 d = b - a;
  const double t = std::clamp((p - a).dot(d) / d.squaredNorm(), 0.0, 1.0);
  return {t, (a + t * d - p).norm()};
}

struct Cut {
  HalfEdge half_edge;
  double t;
  Index v;
};
/// Splits a triangle at points on its sides.
void split_triangle(std::vector<Triangle>& out, const Triangle& whole, std::span<const Cut> cuts) {
  std::vector<Triangle> pieces{whole};
  for (std::size_t i = 0; i < cuts.size();) {
    std::size_t j = i;
    while (j < cuts.size() && cuts[j].half_edge == cuts[i].half_edge) ++j;
    const Index k = cuts[i].half_edge % 3, a = whole[k], b = whole[(k + 1) % 3];
    for (std::size_t p = 0; p < pieces.size(); ++p) {
      const auto side = std::find_if(pieces[p].begin(), pieces[p].end(), [&](const Index& v) {
        const auto n = static_cast<std::size_t>(&v - pieces[p].data());
        return v == a && pieces[p][(n + 1) % 3] == b;
      });
      if (side == pieces[p].end()) continue;
      const Index apex = pieces[p][static_cast<std::size_t>(side - pieces[p].begin() + 2) % 3];
      Index last = a;
      pieces[p] = {a, cuts[i].v, apex};
      for (std::size_t c = i; c < j; ++c) {
        const Triangle piece{last, cuts[c].v, apex};
        if (c == i)
          pieces[p] = piece;
        else
          pieces.push_back(piece);
        last = cuts[c].v;
      }
      pieces.push_back({last, b, apex});
      break;
    }
    i = j;
  }
  for (const Triangle& t : pieces)
    if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]) out.push_back(t);
}

/// Whether the border goes on from a vertex along an edge: to an end of it or, when `loose`, near it.
bool runs_along(const Workpiece& w, const Border& border, std::size_t place, const BorderEdge& e,
                double within, bool loose) {
  const Index v = border.vertices[place];
  const Vec3 &a = w.vertices[e.a], &b = w.vertices[e.b];
  for (const Index n : border.at[place]) {
    const BorderEdge& f = border.edges[n];
    const Index other = f.a == v ? f.b : f.a;
    if (other == e.a || other == e.b) return true;
    if (loose && foot(a, b, w.vertices[other]).distance <= within) return true;
  }
  return false;
}

bool split_at_t_junctions(Workpiece& w, double reach) {
  const Border border(w);
  if (border.edges.empty()) return false;
  const double least = grain(w);
  const PointTree tree(w.vertices, border.vertices);
  std::vector<Cut> cuts;
  std::vector<Volume> doubts;
  std::size_t looks = 0;
  for (const BorderEdge& e : border.edges) {
    if (looks > most_looks) return false;
    const Vec3 &a = w.vertices[e.a], &b = w.vertices[e.b];
    const double length = (b - a).norm(), far = std::max(least, reach * length);
    const Index apex = w.from(previous(e.half_edge));
    const auto consider = [&](Index v) {
      ++looks;
      if (v == e.a || v == e.b || v == apex) return;
      const std::size_t place = border.place(v);
      const double within = std::min(far, std::max(least, own_share * border.shortest[place]));
      const Foot f = foot(a, b, w.vertices[v]);
      // So near an end it is the end itself, moved: a crack, not a corner on the edge.
      const double end = std::max(2 * within, loose_reach * std::min(length, border.shortest[place]));
      if (f.distance > within || f.t * length <= end || (1 - f.t) * length <= end) return;
      if (!runs_along(w, border, place, e, within, reach <= loose_reach || within <= least)) return;
      cuts.push_back({e.half_edge, f.t, v});
      doubts.push_back(cubic_millimetres(f.distance * w.normal(e.half_edge / 3).norm() / 6));
    };
    // A long slanting edge is followed in pieces, so that its boxes stay slim.
    const int pieces = static_cast<int>(std::clamp(std::ceil(length / (4 * border.mean)), 1.0, 64.0));
    for (int i = 0; i < pieces; ++i) {
      const Vec3 p = a + (b - a) * i / pieces, q = a + (b - a) * (i + 1) / pieces, r = Vec3::Constant(far);
      tree.in_box(p.cwiseMin(q) - r, p.cwiseMax(q) + r, consider);
    }
  }
  if (cuts.empty()) return false;
  std::sort(cuts.begin(), cuts.end(), [](const Cut& x, const Cut& y) {
    return std::tie(x.half_edge, x.t, x.v) < std::tie(y.half_edge, y.t, y.v);
  });
  cuts.erase(std::unique(cuts.begin(), cuts.end(),
                         [](const Cut& x, const Cut& y) { return x.half_edge == y.half_edge && x.v == y.v; }),
             cuts.end());
  std::vector<Triangle> out;
  out.reserve(w.triangles.size() + cuts.size());
  std::size_t i = 0;
  for (std::size_t t = 0; t < w.triangles.size(); ++t) {
    std::size_t j = i;
    while (j < cuts.size() && cuts[j].half_edge / 3 == t) ++j;
    if (i == j)
      out.push_back(w.triangles[t]);
    else
      split_triangle(out, w.triangles[t], {cuts.data() + i, j - i});
    i = j;
  }
  RepairStep& s = w.step(Mending::t_junctions);
  if (s.count == 0) s.at = w.vertices[cuts[0].v];
  s.count += cuts.size();
  s.doubt += together(doubts);
  w.triangles = std::move(out);
  return true;
}

double shortest_side(const Workpiece& w, std::size_t t) {
  const Triangle& c = w.triangles[t];
  const Vec3 &p = w.vertices[c[0]], &q = w.vertices[c[1]], &r = w.vertices[c[2]];
  return std::sqrt(std::min({(q - p).squaredNorm(), (r - q).squaredNorm(), (p - r).squaredNorm()}));
}

/// Pairs of border edges, each the other's nearest, whose ends lie within reach of each other. Beyond the
/// loose reach they share one end.
bool join_cracks(Workpiece& w, double reach) {
  const Border border(w);
  if (border.edges.empty()) return false;
  const double least = grain(w);
  const PointTree tree(w.vertices, border.vertices);
  struct Partner {
    Index edge = none;
    double distance = std::numeric_limits<double>::infinity();
    bool crossed = false;  // a meets a, b meets b: one of the two is flipped
  };
  std::vector<Partner> best(border.edges.size());
  const Adjacent adjacent(w, border);
  std::size_t looks = 0;
  for (Index i = 0; i < border.edges.size(); ++i) {
    if (looks > most_looks) return false;
    const BorderEdge& e = border.edges[i];
    const Vec3 &a = w.vertices[e.a], &b = w.vertices[e.b];
    const double within = std::max(least, reach * (b - a).norm());
    tree.near(a, within, [&](Index v) {
      for (const Index j : border.at[border.place(v)]) {
        const BorderEdge& f = border.edges[j];
        ++looks;
        if (j == i || f.half_edge / 3 == e.half_edge / 3) continue;
        const bool crossed = f.a == v;
        const Index end = crossed ? f.b : f.a;
        if (end == e.a || v == e.b) continue;
        const double other = (w.vertices[end] - b).norm();
        // Of slivers that lie side by side, and of the walls of a plate, the long sides are not one edge.
        const double slim =
            reach * std::min(shortest_side(w, e.half_edge / 3), shortest_side(w, f.half_edge / 3));
        if (std::max(other, (w.vertices[v] - a).norm()) > std::max(least, slim)) continue;
        if (other > std::max(least, std::min(within, reach * (w.vertices[f.a] - w.vertices[f.b]).norm())))
          continue;
        const double d = std::max((w.vertices[v] - a).norm(), other);
        if (d > least && reach > loose_reach && v != e.a && end != e.b) continue;
        if (d > least && (adjacent(v, e.a) || adjacent(end, e.b))) continue;
        if (d < best[i].distance || (d == best[i].distance && best[i].crossed && !crossed))
          best[i] = {j, d, crossed};
      }
    });
  }
  DisjointSets same(w.vertices.size());
  std::size_t joined = 0;
  Vec3 at = Vec3::Zero();
  for (Index i = 0; i < border.edges.size(); ++i) {
    const Partner& p = best[i];
    if (p.edge == none || p.edge < i || best[p.edge].edge != i) continue;
    const BorderEdge &e = border.edges[i], &f = border.edges[p.edge];
    same.unite(e.a, p.crossed ? f.a : f.b);
    same.unite(e.b, p.crossed ? f.b : f.a);
    if (joined++ == 0) at = w.vertices[e.a];
  }
  if (joined == 0) return false;

  // Of vertices that become one, the place that most triangles use is right: damage moves single corners.
  std::vector<std::uint32_t> uses(w.vertices.size());
  std::vector<double> area(w.vertices.size());
  for (std::size_t t = 0; t < w.triangles.size(); ++t)
    for (const Index v : w.triangles[t]) {
      ++uses[v];
      area[v] += w.normal(t).norm() / 2;
    }
  std::vector<Index> chosen(w.vertices.size(), none);
  for (const Index v : border.vertices) {
    Index& c = chosen[same.find(v)];
    if (c == none || uses[v] > uses[c]) c = v;
  }
  std::vector<Volume> doubts;
  for (const Index v : border.vertices)
    doubts.push_back(
        cubic_millimetres((w.vertices[v] - w.vertices[chosen[same.find(v)]]).norm() * area[v] / 3));
  for (Triangle& t : w.triangles)
    for (Index& v : t)
      if (const Index c = chosen[same.find(v)]; c != none) v = c;
  w.keep_triangles([&](std::size_t t) {
    const Triangle& c = w.triangles[t];
    return c[0] != c[1] && c[1] != c[2] && c[2] != c[0];
  });
  RepairStep& s = w.step(Mending::cracks);
  if (s.count == 0) s.at = at;
  s.count += joined;
  s.doubt += together(doubts);
  return true;
}

}  // namespace

bool close_seams(Workpiece& w, double reach) {
  bool changed = false;
  for (int pass = 0; pass < 4; ++pass) {
    const bool joined = join_cracks(w, reach);
    const bool split = split_at_t_junctions(w, reach);
    changed |= joined || split;
    if (!joined && !split) break;
  }
  return changed;
}

}  // namespace pourwright::mending

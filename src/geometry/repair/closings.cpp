// SPDX-License-Identifier: GPL-3.0-or-later
// One hole closed in the likeliest way, and how far off that may be: never less than the distance to the
// plain rival, where the likeliest way invents a corner, nor less than a share of the way to the closings
// that enclose most and least.
#include "geometry/repair/closings.hpp"

#include "geometry/repair/facets.hpp"

#include <cmath>
#include <numeric>

namespace pourwright::mending {
namespace {

// Half widths, as shares of area × extent of a hole. Measured: docs/algorithms/interval.md.
constexpr double doubt_of_plane = 2e-4;  // the faces round it lie in planes
constexpr double doubt_of_curve = 1.0;   // of the difference between the flat and the curved closing
constexpr double doubt_of_bend = 0.02;   // per radian between the closing and what lies round it
constexpr double doubt_of_sag = 0.3;     // of a crease's bend across the hole, times the area
// Of the distance to the fullest and the hollowest closing without new points: of a few triangles one of them
// was there; of many the surface is rarely as far off, and less so where its creases were continued.
// Where all of few triangles lie in planes that are seen beside the hole, another diagonal would need planes
// of its own.
constexpr double doubt_of_few = 1, doubt_of_others = 0.4, doubt_of_parts = 0.2;
/// Edges of a border from which on it is one of many triangles: below, at most four are missing, and which
/// way they lay is all that is unknown.
constexpr std::size_t fewest_of_many = 7;
/// Edges up to which the extreme closings are sought, in O(n³): 200 take some milliseconds.
constexpr std::size_t most_for_extremes = 200;
/// Triangles up to which a closing is bent, by solving a sparse system: some seconds and 100 MB.
constexpr double most_bent = 1e5;

/// A side of a body: its border may leave the plane by the doubt of a cut made by hand or a scan, one in a
/// hundred, and the faces beside it stand on it. A cap of 5 % of a sphere, which is a hole like any other,
/// leans by 0.45; a cone of 45° by 0.79.
constexpr double most_uneven = 0.01, least_steep = 0.85;

/// The most that a closing without new points can enclose, by dynamic programming over the diagonals
/// (Klincsek, Annals of Discrete Mathematics 9 (1980) 121–123). O(n³). With `sense` −1: minus the least.
double most_enclosed(const std::vector<Vec3>& loop, const Vec3& origin, double sense) {
  const std::size_t n = loop.size();
  std::vector<double> best(n * n);
  for (std::size_t gap = 2; gap < n; ++gap)
    for (std::size_t i = 0, j = gap; j < n; ++i, ++j) {
      const Vec3 across = sense / 6 * (loop[j] - origin).cross(loop[i] - origin);
      double most = -std::numeric_limits<double>::infinity();
      for (std::size_t k = i + 1; k < j; ++k)
        most = std::max(most, best[i * n + k] + best[k * n + j] + across.dot(loop[k] - origin));
      best[i * n + j] = most;
    }
  return best[n - 1];
}

class HoleCloser {
 public:
  HoleCloser(const Workpiece& w, const Fans& fans) : w_(w), fans_(fans) {}

  Closing run(const BorderLine& line) const {
    Closing c = close(line);
    consider_others(line, c);
    return c;
  }

 private:
  /// The triangles within three rows of a part of a border that can be reached without crossing a crease.
  std::vector<Index> smooth_round(const Parts::Part& part) const {
    std::vector<Index> ring;
    for (const HalfEdge h : part.half_edges)
      if (h != none) ring.push_back(h / 3);
    std::sort(ring.begin(), ring.end());
    ring.erase(std::unique(ring.begin(), ring.end()), ring.end());
    std::vector<Index> row = ring;
    for (int k = 0; k < 4; ++k) {
      std::vector<Index> wider;
      for (const Index t : row)
        for (const Index v : w_.triangles[t])
          for (const Index u : fans_.at(v))
            if (!std::binary_search(ring.begin(), ring.end(), u) && shares_edge(t, u) &&
                !sharp_between(w_, t, u))
              wider.push_back(u);
      std::sort(wider.begin(), wider.end());
      wider.erase(std::unique(wider.begin(), wider.end()), wider.end());
      row = wider;
      ring.insert(ring.end(), wider.begin(), wider.end());
      std::sort(ring.begin(), ring.end());
    }
    return ring;
  }

  bool shares_edge(Index t, Index u) const {
    int common = 0;
    for (const Index a : w_.triangles[t])
      for (const Index b : w_.triangles[u]) common += a == b;
    return common == 2;
  }

  /// Equilateral ones as long as the border's edges.
  static double triangles_when_bent(const std::vector<Vec3>& loop, const std::vector<Triangle>& flat) {
    double area = 0, length = 0;
    for (const Triangle& t : flat)
      area += (loop[t[1]] - loop[t[0]]).cross(loop[t[2]] - loop[t[0]]).norm() / 2;
    for (std::size_t i = 0; i < loop.size(); ++i) length += (loop[(i + 1) % loop.size()] - loop[i]).norm();
    const double edge = length / static_cast<double>(loop.size());
    return edge > 0 ? area / (0.433 * edge * edge) : 0;
  }

  /// The flat closing bent to follow the triangles round the hole.
  std::optional<Filling> bend(const BorderLine& line, const Parts::Part& part, const std::vector<Vec3>& loop,
                              const std::vector<Triangle>& flat) const {
    if (triangles_when_bent(loop, flat) > most_bent) return std::nullopt;
    std::vector<std::pair<Index, Index>> local;  // vertex, number
    for (Index i = 0; i < part.corners.size(); ++i)
      if (part.corners[i] < line.vertices.size()) local.emplace_back(line.vertices[part.corners[i]], i);
    std::sort(local.begin(), local.end());
    const std::vector<Index> ring = smooth_round(part);
    std::vector<Index> corners;
    for (const Index t : ring) corners.insert(corners.end(), w_.triangles[t].begin(), w_.triangles[t].end());
    std::sort(corners.begin(), corners.end());
    corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
    const auto known = [&](Index v) {
      const auto it = std::lower_bound(local.begin(), local.end(), std::pair(v, Index{0}));
      return it != local.end() && it->first == v ? it->second : none;
    };
    std::vector<Vec3> points;
    std::vector<std::pair<Index, Index>> fresh;
    for (const Index v : corners)
      if (known(v) == none) {
        fresh.emplace_back(v, static_cast<Index>(loop.size() + points.size()));
        points.push_back(w_.vertices[v]);
      }
    local.insert(local.end(), fresh.begin(), fresh.end());
    std::sort(local.begin(), local.end());
    // Triangles on the line first: the closing must hang on them.
    std::vector<Index> beside;
    for (const HalfEdge h : part.half_edges)
      if (h != none) beside.push_back(h / 3);
    std::sort(beside.begin(), beside.end());
    beside.erase(std::unique(beside.begin(), beside.end()), beside.end());
    std::vector<Triangle> triangles;
    const auto take = [&](Index t) {
      const Triangle& c = w_.triangles[t];
      triangles.push_back({known(c[0]), known(c[1]), known(c[2])});
    };
    for (const Index t : beside) take(t);
    for (const Index t : ring)
      if (!std::binary_search(beside.begin(), beside.end(), t)) take(t);
    return follow_surface(loop, flat, points, triangles);
  }

  /// Each part between the creases for itself.
  Closing close_parts(const BorderLine& line, const Parts& parts) const {
    Closing whole;
    const auto n = static_cast<Index>(line.vertices.size());
    whole.chosen.added = parts.added;
    for (std::size_t k = 0; k < parts.list.size(); ++k) {
      const std::vector<Index>& corners = parts.list[k].corners;
      Vec3 area = Vec3::Zero();
      Box box;
      for (std::size_t i = 0; i < corners.size(); ++i) {
        box.add(corner(line, parts, corners[i]));
        area += (corner(line, parts, corners[i]) - line.middle)
                    .cross(corner(line, parts, corners[(i + 1) % corners.size()]) - line.middle) /
                2;
      }
      const double extent = box.size().norm();
      Closing c;
      fill(line, parts, k, std::max(area.norm(), 1e-3 * extent * extent) * extent, c);
      const auto more = static_cast<Index>(n + whole.chosen.added.size());
      const auto number = [&](Index i) {
        return i < corners.size() ? corners[i] : more + (i - static_cast<Index>(corners.size()));
      };
      for (const Triangle& t : c.chosen.triangles)
        whole.chosen.triangles.push_back({number(t[0]), number(t[1]), number(t[2])});
      whole.chosen.added.insert(whole.chosen.added.end(), c.chosen.added.begin(), c.chosen.added.end());
      whole.change += c.change;
      whole.doubt += c.doubt + doubt_of_sag * parts.sag * area.norm();
    }
    whole.creased = true;
    return whole;
  }

  const Vec3& corner(const BorderLine& line, const Parts& parts, Index i) const {
    return i < line.vertices.size() ? w_.vertices[line.vertices[i]] : parts.added[i - line.vertices.size()];
  }

  /// Closes one part; corners of the filling are the part's. `scale` is its area × extent.
  void fill(const BorderLine& line, const Parts& parts, std::size_t k, double scale, Closing& c) const {
    const Parts::Part& part = parts.list[k];
    std::vector<Vec3> loop, beside;
    for (std::size_t i = 0; i < part.corners.size(); ++i) {
      loop.push_back(corner(line, parts, part.corners[i]));
      if (part.half_edges[i] != none) beside.push_back(w_.vertices[w_.from(previous(part.half_edges[i]))]);
    }
    if (beside.size() < loop.size()) beside.clear();
    const std::vector<Triangle> flat = span_loop(loop, beside);
    c.chosen.triangles = flat;
    Vec3 area = Vec3::Zero();
    for (std::size_t i = 0; i < loop.size(); ++i)
      area += (loop[i] - loop[0]).cross(loop[(i + 1) % loop.size()] - loop[0]) / 2;
    double bend_angle = 0, edges = 0;
    for (const HalfEdge h : part.half_edges) {
      if (h == none) continue;
      const double cosine = w_.normal(h / 3).normalized().dot(area.normalized());
      if (std::isfinite(cosine)) bend_angle += std::acos(std::clamp(cosine, -1.0, 1.0));
      ++edges;
    }
    bend_angle /= std::max(edges, 1.0);
    c.doubt = doubt_of_bend * bend_angle * scale;
    if (loop.size() == 3) return;
    if (auto bent = bend(line, part, loop, flat)) {
      c.change = volume_under(loop, line.middle, *bent) - volume_under(loop, line.middle, {{}, flat});
      c.chosen = std::move(*bent);
      if (!c.chosen.added.empty()) c.flat = flat;
      c.doubt += doubt_of_curve * std::abs(c.change);
    } else {
      c.doubt += std::tan(std::min(bend_angle, 1.3)) * scale / 6;  // what a cap of that slope would hold
    }
  }

  Closing close(const BorderLine& line) const {
    const double scale = std::max(line.area.norm(), 1e-3 * line.extent * line.extent) * line.extent;
    Closing c;
    if (auto planes = close_by_planes(line, scale)) return std::move(*planes);
    if (is_missing_side(line)) {
      std::vector<Vec3> loop;
      for (const Index v : line.vertices) loop.push_back(w_.vertices[v]);
      std::vector<Index> all(loop.size());
      std::iota(all.begin(), all.end(), Index{0});
      if (auto flat = span_plane(loop, {all}, line.area)) {
        c.chosen.triangles = std::move(*flat);
        c.side = true;
        c.doubt = line.area.norm() * line.unevenness + doubt_of_side * scale;
        return c;
      }
    }
    const Parts parts = continue_creases(w_, fans_, line);
    if (parts.list.size() > 1) return close_parts(line, parts);
    fill(line, parts, 0, scale, c);
    return c;
  }

  /// Where the faces beside the border meet in a corner, a flat face may have cut it off, and the other way
  /// round. The likelier of the two is chosen and the other lies in the interval: of a flat border it is the
  /// flat face.
  std::optional<Closing> close_by_planes(const BorderLine& line, double scale) const {
    auto facets = continue_facets(w_, line);
    if (!facets) return std::nullopt;
    Closing c;
    c.plane = true;
    c.doubt = doubt_of_plane * scale;
    if (!facets->added.empty()) {
      std::vector<Vec3> loop;
      for (const Index v : line.vertices) loop.push_back(w_.vertices[v]);
      Filling plain{{}, span_loop(loop, {})};
      c.change = volume_under(loop, line.middle, *facets) - volume_under(loop, line.middle, plain);
      c.doubt += std::abs(c.change);
      c.flat = plain.triangles;
      if (is_flat(line)) {
        std::vector<Index> all(loop.size());
        std::iota(all.begin(), all.end(), Index{0});
        if (auto spanned = span_plane(loop, {all}, line.area)) plain.triangles = std::move(*spanned);
        *facets = std::move(plain);
        c.flat.clear();
        c.change = 0;
      }
    }
    c.chosen = std::move(*facets);
    return c;
  }

  /// What the closings without new points leave open.
  void consider_others(const BorderLine& line, Closing& c) const {
    const std::size_t n = line.vertices.size();
    if (n < 4 || n > most_for_extremes) return;
    std::vector<Vec3> loop;
    for (const Index v : line.vertices) loop.push_back(w_.vertices[v]);
    const double own = volume_under(loop, line.middle, c.chosen);
    const double off =
        std::max(most_enclosed(loop, line.middle, 1) - own, own + most_enclosed(loop, line.middle, -1));
    const bool few = n < fewest_of_many;
    const bool seen = few ? c.plane : c.creased;
    const double share = seen ? doubt_of_parts : few ? doubt_of_few : doubt_of_others;
    c.doubt = std::max(c.doubt, share * off);
  }

  const Workpiece& w_;
  const Fans& fans_;
};

}  // namespace

double volume_under(const std::vector<Vec3>& loop, const Vec3& origin, const Filling& f) {
  const auto at = [&](Index i) {
    return Vec3((i < loop.size() ? loop[i] : f.added[i - loop.size()]) - origin);
  };
  double six = 0;
  for (const Triangle& t : f.triangles) six += at(t[0]).dot(at(t[1]).cross(at(t[2])));
  return six / 6;
}

bool is_missing_side(const BorderLine& line) {
  return line.unevenness < most_uneven * line.extent && line.steepness > least_steep;
}

Closing close_hole(const Workpiece& w, const Fans& fans, const BorderLine& line) {
  return HoleCloser(w, fans).run(line);
}

}  // namespace pourwright::mending

// SPDX-License-Identifier: GPL-3.0-or-later
// Cutting a surface at a level, and closing it there: a body below a level, a lid across a passage. Every
// edge is cut once, so that what is cut stays closed.
#include "geometry/cavity/level_cut.hpp"

#include "geometry/cavity/level_cap.hpp"
#include "geometry/mesh/point_in_polygon.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <unordered_map>

namespace pourwright {
namespace {

/// A passage is straight while its section stays within this factor of the narrowest met: facets of a round
/// bore and a draft of a degree over its own width stay below.
constexpr double straight = 1.05;
/// Vertices met on the way along a passage; a way longer than that is closed where it is.
constexpr int most_steps = 1000;
/// Directions in which a hole in a wall is first looked through, over half a turn: one lies within 6° of any,
/// where a section is half a hundredth larger.
constexpr int directions = 16;
/// Where a hole may be, from its sill, as shares of the reach: along the direction looked through, to either
/// side, and above. The sill may be a corner of the hole: to one side of it lies the wall, to the other the
/// hole, and along the hole's axis perhaps the open; where the wall is round the open reaches in. A hole that
/// slopes leaves the level of its sill.
constexpr double alongs[] = {-0.1, -0.03, -0.01, -1e-3, 1e-3, 0.01, 0.03, 0.1};
constexpr double asides[] = {0.0, -1e-3, 1e-3};
constexpr double aboves[] = {1e-4, 1e-3, 1e-2, 3e-2};
/// Halvings by the golden section from 11° down to where a section is right to nine digits: an angle off by ε
/// makes it ε²/2 larger.
constexpr int narrowings = 20;

/// Points where edges pass a level, one for each edge however many triangles share it.
class EdgeCuts {
 public:
  EdgeCuts(const std::vector<Vec3>& vertices, double level, std::vector<Vec3>& into)
      : vertices_(vertices), level_(level), into_(into) {}

  Index operator()(Index a, Index b) {
    if (a > b) std::swap(a, b);
    const auto [it, fresh] = known_.try_emplace(std::uint64_t{a} << 32 | b, static_cast<Index>(into_.size()));
    if (fresh) {
      const Vec3 &p = vertices_[a], &q = vertices_[b];
      Vec3 cut = p + (q - p) * ((level_ - p.z()) / (q.z() - p.z()));
      cut.z() = level_;
      into_.push_back(cut);
    }
    return it->second;
  }

 private:
  const std::vector<Vec3>& vertices_;
  double level_;
  std::vector<Vec3>& into_;
  std::unordered_map<std::uint64_t, Index> known_;
};

TriangleSoup compact(const std::vector<Vec3>& vertices, std::vector<Triangle> triangles) {
  TriangleSoup out;
  std::vector<Index> place(vertices.size(), none);
  for (Triangle& t : triangles)
    for (Index& v : t) {
      if (place[v] == none) {
        place[v] = static_cast<Index>(out.vertices.size());
        out.vertices.push_back(vertices[v]);
      }
      v = place[v];
    }
  out.triangles = std::move(triangles);
  return out;
}

/// Edges that one triangle uses and no other uses the other way, as that triangle runs along them.
std::vector<std::pair<Index, Index>> border_of(const std::vector<Triangle>& triangles) {
  std::unordered_map<std::uint64_t, int> balance;
  for (const Triangle& t : triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Index a = t[k], b = t[(k + 1) % 3];
      balance[std::uint64_t{std::min(a, b)} << 32 | std::max(a, b)] += a < b ? 1 : -1;
    }
  std::vector<std::pair<Index, Index>> out;
  for (const Triangle& t : triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const Index a = t[k], b = t[(k + 1) % 3];
      int& left = balance[std::uint64_t{std::min(a, b)} << 32 | std::max(a, b)];
      if (left == 0 || (left > 0) != (a < b)) continue;
      left = 0;
      out.emplace_back(a, b);
    }
  return out;
}

}  // namespace

namespace {

/// Cuts through a vertex that lies on a level repeat it; merging by place lets the border close.
class PlacesAtLevels {
 public:
  Index operator()(const std::vector<Vec3>& points, Index v) {
    const Vec3 p = points[v] + Vec3::Zero();  // no negative zero
    std::uint64_t hash = 0;
    for (int k = 0; k < 3; ++k) hash = (hash ^ std::bit_cast<std::uint64_t>(p[k])) * 0x9E3779B97F4A7C15u;
    auto& list = known_[hash];
    const auto it = std::find_if(list.begin(), list.end(), [&](Index w) { return points[w] == points[v]; });
    if (it != list.end()) return *it;
    list.push_back(v);
    return v;
  }

 private:
  std::unordered_map<std::uint64_t, std::vector<Index>> known_;
};

/// What of a part lies below its level, faces turned; new points go to `points`.
void cut_part(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, const CutPart& part,
              std::vector<Vec3>& points, PlacesAtLevels& places, std::vector<Triangle>& kept) {
  const double level = part.level;
  EdgeCuts cut(vertices, level, points);
  const std::size_t first = kept.size();
  for (const Index number : part.triangles) {
    Triangle t = triangles[number];
    std::swap(t[1], t[2]);
    const auto low = [&](std::size_t k) { return vertices[t[k]].z() <= level; };
    const auto strictly = [&](std::size_t k) { return vertices[t[k]].z() < level; };
    if (!strictly(0) && !strictly(1) && !strictly(2)) continue;
    const std::size_t below = std::size_t{low(0)} + std::size_t{low(1)} + std::size_t{low(2)};
    if (below == 3) {
      kept.push_back(t);
      continue;
    }
    // Turn it so that the odd corner comes first.
    while (low(0) == low(1) || low(0) == low(2)) std::rotate(t.begin(), t.begin() + 1, t.end());
    const Index a = cut(t[0], t[1]), b = cut(t[0], t[2]);
    if (below == 1) {
      kept.push_back({t[0], a, b});
    } else {
      kept.push_back({a, t[1], t[2]});
      kept.push_back({a, t[2], b});
    }
  }
  for (std::size_t i = first; i < kept.size(); ++i)
    for (Index& v : kept[i])
      if (points[v].z() == level) v = places(points, v);
}

}  // namespace

TriangleSoup closed_below(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                          std::span<const CutPart> parts) {
  std::vector<Vec3> points = vertices;
  PlacesAtLevels places;
  std::vector<Triangle> kept;
  for (const CutPart& p : parts) cut_part(vertices, triangles, p, points, places, kept);
  std::erase_if(kept, [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
  std::map<double, std::vector<std::pair<Index, Index>>> borders;
  for (const auto& e : border_of(kept)) borders[points[e.first].z()].push_back(e);
  for (const auto& [level, edges] : borders) {
    const auto cap = level_cap(points, edges);
    kept.insert(kept.end(), cap.begin(), cap.end());
  }
  return compact(points, std::move(kept));
}

TriangleSoup closed_below(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                          std::span<const Index> part, double level) {
  const CutPart one[] = {{part, level}};
  return closed_below(vertices, triangles, one);
}

namespace {

/// The closed curve in which the surface passes a level round a point, vertices at the level counting as
/// above.
struct Loop {
  std::vector<Index> triangles;
  std::vector<std::pair<Index, Index>> edges;  // edge passed on entering each triangle
  double area = 0;
  Vec3 centre = Vec3::Zero();
  double next_above = 0;  // height of the next vertex above along it
};

class Slicer {
 public:
  Slicer(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles)
      : vertices_(vertices), triangles_(triangles) {}

  /// All curves at a level.
  std::vector<Loop> at(double level) const {
    std::unordered_map<std::uint64_t, std::array<Index, 2>> across;
    std::vector<Index> crossing;
    const auto below = [&](Index v) { return vertices_[v].z() < level; };
    for (Index t = 0; t < triangles_.size(); ++t) {
      const Triangle& c = triangles_[t];
      if (below(c[0]) == below(c[1]) && below(c[1]) == below(c[2])) continue;
      crossing.push_back(t);
      for (std::size_t k = 0; k < 3; ++k) {
        const Index a = c[k], b = c[(k + 1) % 3];
        if (below(a) == below(b)) continue;
        auto [it, fresh] = across.try_emplace(key(a, b), std::array<Index, 2>{t, none});
        if (!fresh) it->second[1] = t;
      }
    }
    std::vector<Loop> out;
    std::unordered_map<Index, bool> done;
    for (const Index start : crossing) {
      if (done[start]) continue;
      Loop loop;
      loop.next_above = std::numeric_limits<double>::infinity();
      Index t = start;
      bool closed = false;
      for (;;) {
        done[t] = true;
        const Triangle& c = triangles_[t];
        // With faces toward the void, going in over the edge that rises keeps the void on the left.
        std::pair<Index, Index> in, leave;
        for (std::size_t k = 0; k < 3; ++k) {
          const Index a = c[k], b = c[(k + 1) % 3];
          if (below(a) == below(b)) continue;
          (below(a) ? in : leave) = {a, b};
        }
        loop.triangles.push_back(t);
        loop.edges.push_back(in);
        for (const Index v : c)
          if (!below(v)) loop.next_above = std::min(loop.next_above, vertices_[v].z());
        const auto& pair = across.at(key(leave.first, leave.second));
        const Index other = pair[0] == t ? pair[1] : pair[0];
        if (other == none) break;
        if (other == start) {
          closed = true;
          break;
        }
        if (done[other]) break;
        t = other;
      }
      if (!closed || loop.triangles.size() < 3) continue;
      outline(loop, level);
      out.push_back(std::move(loop));
    }
    return out;
  }

  std::vector<Vec3> polygon(const Loop& loop, double level) const {
    std::vector<Vec3> p;
    for (const auto& [a, b] : loop.edges) {
      const Vec3 &u = vertices_[a], &v = vertices_[b];
      p.push_back(u + (v - u) * ((level - u.z()) / (v.z() - u.z())));
    }
    return p;
  }

  /// The smallest curve round a point.
  std::optional<Loop> around(double level, const Vec3& at) const {
    auto loops = this->at(level);
    const Loop* best = smallest_round(loops, level, at);
    return best ? std::optional(*best) : std::nullopt;
  }
  const Loop* smallest_round(const std::vector<Loop>& loops, double level, const Vec3& at) const {
    const Loop* best = nullptr;
    for (const Loop& l : loops)
      if (inside(polygon(l, level), at) && !(best && std::abs(best->area) <= std::abs(l.area))) best = &l;
    return best;
  }

 private:
  static std::uint64_t key(Index a, Index b) { return std::uint64_t{std::min(a, b)} << 32 | std::max(a, b); }

  void outline(Loop& loop, double level) const {
    const auto p = polygon(loop, level);
    const Vec3 o = p[0];
    Vec3 moment = Vec3::Zero();
    for (std::size_t i = 0; i < p.size(); ++i) {
      const Vec3 a = p[i] - o, b = p[(i + 1) % p.size()] - o;
      const double cross = a.x() * b.y() - a.y() * b.x();
      loop.area += cross / 2;
      moment += cross * (a + b) / 6;
    }
    loop.centre = loop.area != 0 ? Vec3(o + moment / loop.area) : o;
    loop.centre.z() = level;
  }

  static bool inside(const std::vector<Vec3>& p, const Vec3& q) {
    PointInPolygon point(q.x(), q.y());
    for (std::size_t i = 0, j = p.size() - 1; i < p.size(); j = i++)
      point.edge(p[i].x(), p[i].y(), p[j].x(), p[j].y());
    return point.inside();
  }

  const std::vector<Vec3>& vertices_;
  const std::vector<Triangle>& triangles_;
};

}  // namespace

std::optional<Plugged> plug_passage(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                    double level, const Vec3& at) {
  const Slicer slicer(vertices, triangles);
  auto loop = slicer.around(level, at);
  if (!loop) return std::nullopt;
  double narrowest = std::abs(loop->area);
  for (int step = 0; step < most_steps; ++step) {
    const double higher = loop->next_above;
    if (!(higher > level)) break;
    auto next = slicer.around(higher, loop->centre);
    if (!next || std::abs(next->area) > straight * narrowest) break;
    narrowest = std::min(narrowest, std::abs(next->area));
    loop = std::move(next);
    level = higher;
  }
  Plugged out;
  out.section = std::abs(loop->area);
  out.level = level;
  out.at = loop->centre;
  std::vector<Vec3> points = vertices;
  std::vector<Triangle> kept = triangles;
  // Both sides of the cut get points of their own, so that the surface comes apart there; on each side one
  // for each place, or the lid would leave edges of no length open.
  EdgeCuts upper_cut(vertices, level, points);
  PlacesAtLevels upper_places, lower_places;
  const auto upper = [&](Index a, Index b) { return upper_places(points, upper_cut(a, b)); };
  std::vector<Vec3> lower_store;
  EdgeCuts lower_cut(vertices, level, lower_store);
  std::unordered_map<Index, Index> lower_of;
  const auto lower = [&](Index a, Index b) {
    const Index n = lower_cut(a, b);
    const auto [it, fresh] = lower_of.try_emplace(n, static_cast<Index>(points.size()));
    if (fresh) points.push_back(lower_store[n]);
    return lower_places(points, it->second);
  };
  const auto below = [&](Index v) { return vertices[v].z() < level; };
  std::vector<std::pair<Index, Index>> upper_ring, lower_ring;
  for (const Index number : loop->triangles) {
    Triangle t = triangles[number];
    while (below(t[0]) == below(t[1]) || below(t[0]) == below(t[2]))
      std::rotate(t.begin(), t.begin() + 1, t.end());
    for (const Index v : t)
      if (points[v].z() == level) upper_places(points, v);  // the vertex itself rather than a cut beside it
    const bool first_below = below(t[0]);
    const auto side = [&](bool is_below, Index a, Index b) { return is_below ? lower(a, b) : upper(a, b); };
    const Index a0 = side(first_below, t[0], t[1]), b0 = side(first_below, t[0], t[2]);
    const Index a1 = side(!first_below, t[0], t[1]), b1 = side(!first_below, t[0], t[2]);
    kept[number] = {t[0], a0, b0};
    kept.push_back({a1, t[1], t[2]});
    kept.push_back({a1, t[2], b1});
    if (a0 != b0) (first_below ? lower_ring : upper_ring).emplace_back(a0, b0);
    if (a1 != b1) (first_below ? upper_ring : lower_ring).emplace_back(a1, b1);
  }
  std::erase_if(kept, [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
  auto lid = level_cap(points, upper_ring);
  kept.insert(kept.end(), lid.begin(), lid.end());
  lid = level_cap(points, lower_ring);
  for (Triangle& t : lid) std::swap(t[1], t[2]);
  kept.insert(kept.end(), lid.begin(), lid.end());
  out.mesh = compact(points, std::move(kept));
  return out;
}

namespace {

/// Turns the level direction (cos a, sin a, 0) up.
Eigen::Matrix3d lay_over(double a) {
  const Vec3 up(std::cos(a), std::sin(a), 0), side = Vec3::UnitZ();
  Eigen::Matrix3d m;
  m.row(0) = side;
  m.row(1) = up.cross(side);
  m.row(2) = up;
  return m;
}

/// The triangles that come within `reach` of a point.
TriangleSoup neighbourhood(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                           const Vec3& at, double reach) {
  std::vector<Triangle> near;
  for (const Triangle& t : triangles) {
    Box box;
    for (const Index v : t) box.add(vertices[v]);
    if (((box.low - at).array() <= reach).all() && ((at - box.high).array() <= reach).all())
      near.push_back(t);
  }
  return compact(vertices, std::move(near));
}

/// A look through a hole: the direction, and the place in it, as shares of the reach.
struct Look {
  double angle = 0, along = 0, above = 0, aside = 0;
  double section = std::numeric_limits<double>::infinity();
  Vec3 at = Vec3::Zero();  // turned so that the direction is up
};

/// The near triangles seen in one direction.
class Through {
 public:
  Through(const TriangleSoup& near, const Vec3& sill, double reach, double angle)
      : turn_(lay_over(angle)), sill_(sill), reach_(reach), angle_(angle), triangles_(near.triangles) {
    turned_.reserve(near.vertices.size());
    for (const Vec3& p : near.vertices) turned_.push_back(turn_ * p);
  }

  /// Smaller sections than `best` become it.
  void look(double along, std::span<const double> above, std::span<const double> aside, Look& best) const {
    const Slicer slicer(turned_, triangles_);
    const double level = (turn_ * sill_).z() + along * reach_;
    const auto loops = slicer.at(level);
    if (loops.empty()) return;
    for (const double up : above)
      for (const double side : aside) {
        Vec3 at = turn_ * (sill_ + Vec3(0, 0, up * reach_)) + reach_ * Vec3(0, side, 0);
        at.z() = level;
        const Loop* loop = slicer.smallest_round(loops, level, at);
        if (!loop || !(loop->area > 0 && loop->area < best.section)) continue;  // negative: round material
        best = {angle_, along, up, side, loop->area, at};
      }
  }

 private:
  Eigen::Matrix3d turn_;
  Vec3 sill_;
  double reach_, angle_;
  const std::vector<Triangle>& triangles_;
  std::vector<Vec3> turned_;
};

/// Straight along the hole its section is smallest: the golden section between the neighbouring directions
/// (J. Kiefer, Sequential minimax search for a maximum, 1953).
void straighten(const TriangleSoup& near, const Vec3& sill, double reach, Look& best) {
  const Look start = best;
  const auto section = [&](double angle) {
    Look here;
    Through(near, sill, reach, angle).look(start.along, {&start.above, 1}, {&start.aside, 1}, here);
    if (here.section < best.section) best = here;
    return here.section;
  };
  constexpr double golden = std::numbers::phi - 1;
  double low = start.angle - std::numbers::pi / directions,
         high = start.angle + std::numbers::pi / directions;
  double a = high - golden * (high - low), b = low + golden * (high - low), at_a = section(a),
         at_b = section(b);
  for (int k = 0; k < narrowings; ++k) {
    if (at_a < at_b) {
      high = b;
      b = a;
      at_b = at_a;
      at_a = section(a = high - golden * (high - low));
    } else {
      low = a;
      a = b;
      at_a = at_b;
      at_b = section(b = low + golden * (high - low));
    }
  }
}

}  // namespace

std::vector<Plugged> plug_side_hole(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                                    const Vec3& sill, double reach) {
  const TriangleSoup near = neighbourhood(vertices, triangles, sill, reach);
  Look best;
  for (int k = 0; k < directions; ++k) {
    const Through through(near, sill, reach, k * std::numbers::pi / directions);
    for (const double along : alongs) through.look(along, aboves, asides, best);
  }
  std::vector<Plugged> out;
  if (!std::isfinite(best.section)) return out;
  straighten(near, sill, reach, best);
  for (const bool back : {false, true}) {
    const Eigen::Matrix3d turn = lay_over(best.angle + (back ? std::numbers::pi : 0));
    std::vector<Vec3> turned;
    turned.reserve(vertices.size());
    for (const Vec3& p : vertices) turned.push_back(turn * p);
    const Vec3 at = back ? Vec3(best.at.x(), -best.at.y(), -best.at.z()) : best.at;
    auto plugged = plug_passage(turned, triangles, at.z(), at);
    if (!plugged) continue;
    for (Vec3& p : plugged->mesh.vertices) p = turn.transpose() * p;
    plugged->at = turn.transpose() * plugged->at;
    out.push_back(std::move(*plugged));
  }
  return out;
}

}  // namespace pourwright

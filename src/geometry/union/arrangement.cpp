// SPDX-License-Identifier: GPL-3.0-or-later
// Every triangle in contact is triangulated along its contacts with exact coordinates; pieces that coincide
// become one with a multiplicity. Across a piece of multiplicity m the winding number grows by m from front
// to back; round an edge it is carried from wedge to wedge; one vertical line per connected part starts it.
// Kept is what divides "not wrapped" from "wrapped".
#include "geometry/union/arrangement.hpp"

#include "geometry/mesh/cgal_variant.hpp"
#include "geometry/mesh/edge_fan.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Constrained_triangulation_plus_2.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>

namespace pourwright::uniting {
namespace {

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using Point = Exact::Point_3;

struct Less {
  bool operator()(const Point& a, const Point& b) const { return CGAL::compare_xyz(a, b) == CGAL::SMALLER; }
};

/// Exact points by number: those of the mesh, then new ones.
class Points {
 public:
  explicit Points(const std::vector<Vec3>& vertices) : vertices_(vertices) {}

  const Point& at(Index i) {
    if (i >= vertices_.size()) return fresh_[i - vertices_.size()];
    auto [it, added] = known_.try_emplace(i);
    if (added) {
      const Vec3& p = vertices_[i];
      it->second = Point(p.x(), p.y(), p.z());
      number_.try_emplace(it->second, i);
    }
    return it->second;
  }
  Index number(const Point& p) {
    const auto [it, added] = number_.try_emplace(p, static_cast<Index>(vertices_.size() + fresh_.size()));
    if (added) fresh_.push_back(p);
    return it->second;
  }
  std::vector<Vec3> rounded() const {
    std::vector<Vec3> out = vertices_;
    for (const Point& p : fresh_) {
      // Exactly first: the lazy numbers' own rounding is only good to five digits.
      const auto r = [](const Exact::FT& x) { return CGAL::to_double(CGAL::exact(x)) + 0.0; };
      out.emplace_back(r(p.x()), r(p.y()), r(p.z()));
    }
    return out;
  }

 private:
  const std::vector<Vec3>& vertices_;
  std::map<Index, Point> known_;
  std::vector<Point> fresh_;
  std::map<Point, Index, Less> number_;
};

/// The contact of two triangles as lines and points on both.
struct Marks {
  std::vector<std::pair<Point, Point>> lines;
  std::vector<Point> points;
};

void mark(const Exact::Triangle_3& s, const Exact::Triangle_3& t, Marks& on_s, Marks& on_t) {
  const auto meet = CGAL::intersection(s, t);
  if (!meet) return;
  const auto ring = [&](const std::vector<Point>& p) {
    for (std::size_t i = 0; i < p.size(); ++i)
      for (Marks* m : {&on_s, &on_t}) m->lines.emplace_back(p[i], p[(i + 1) % p.size()]);
  };
  if (const auto* p = get_as<Point>(*meet)) {
    for (Marks* m : {&on_s, &on_t}) m->points.push_back(*p);
  } else if (const auto* e = get_as<Exact::Segment_3>(*meet)) {
    for (Marks* m : {&on_s, &on_t}) m->lines.emplace_back(e->source(), e->target());
  } else if (const auto* c = get_as<Exact::Triangle_3>(*meet)) {
    ring({c->vertex(0), c->vertex(1), c->vertex(2)});
  } else if (const auto* polygon = get_as<std::vector<Point>>(*meet)) {
    ring(*polygon);
  }
}

/// What a contact and a place where contacts cross cost, in the unit of the budget: estimates, a crossing
/// being made from three contacts' planes.
constexpr std::size_t contact_cost = 1, crossing_cost = 4;
/// Doubles of which the smallest that counts is a millionth of the largest.
constexpr double usual_bits = 53 + 20;

/// Where lines cross, the point is made from the lines as they were inserted, not from pieces of them that
/// end in made points: its numbers stay as long as the first crossing's, however often a line is crossed.
using Sheet = CGAL::Constrained_triangulation_plus_2<
    CGAL::Constrained_Delaunay_triangulation_2<Exact, CGAL::Default, CGAL::Exact_intersections_tag>>;

/// How often the lines on a triangle cross each other, as doubles see it; counts no further than `most`.
/// Lines that follow each other, as those of one contact do, cost little.
std::size_t crossings(const Marks& marks, int i, int j, std::size_t most) {
  struct Line {
    double x0, y0, x1, y1;
  };
  std::vector<Line> lines;
  for (const auto& [a, b] : marks.lines) {
    lines.push_back(
        {CGAL::to_double(a[i]), CGAL::to_double(a[j]), CGAL::to_double(b[i]), CGAL::to_double(b[j])});
    if (lines.back().x0 > lines.back().x1)
      lines.back() = {lines.back().x1, lines.back().y1, lines.back().x0, lines.back().y0};
  }
  std::sort(lines.begin(), lines.end(), [](const Line& a, const Line& b) { return a.x0 < b.x0; });
  const auto apart = [](const Line& a, const Line& b) {  // both ends of b on one side of a, or on it
    const double dx = a.x1 - a.x0, dy = a.y1 - a.y0;
    const double s = dx * (b.y0 - a.y0) - dy * (b.x0 - a.x0), t = dx * (b.y1 - a.y0) - dy * (b.x1 - a.x0);
    return s * t >= 0;
  };
  std::size_t count = 0;
  for (std::size_t k = 0; k < lines.size(); ++k)
    for (std::size_t l = k + 1; l < lines.size() && lines[l].x0 < lines[k].x1; ++l)
      if (!apart(lines[k], lines[l]) && !apart(lines[l], lines[k]) && ++count > most) return count;
  return count;
}

/// One triangle cut along its marks; pieces face the way it does.
void cut(const Triangle& whole, const Marks& marks, Points& points, std::vector<Triangle>& out) {
  const Exact::Triangle_3 t(points.at(whole[0]), points.at(whole[1]), points.at(whole[2]));
  const Exact::Vector_3 n = CGAL::normal(t.vertex(0), t.vertex(1), t.vertex(2));
  int axis = 2;  // seen along the axis in which the triangle is widest
  for (const int k : {0, 1})
    if (CGAL::abs(n[k]) > CGAL::abs(n[axis])) axis = k;
  int i = (axis + 1) % 3, j = (axis + 2) % 3;
  if (n[axis] < 0) std::swap(i, j);
  const Exact::Plane_3 plane = t.supporting_plane();
  const auto project = [&](const Point& p) { return Exact::Point_2(p[i], p[j]); };
  const auto lift = [&](const Exact::Point_2& q) {
    std::array<Exact::FT, 3> c;
    const std::array<Exact::FT, 3> k{plane.a(), plane.b(), plane.c()};
    const auto at = [](int m) { return static_cast<std::size_t>(m); };
    c[at(i)] = q.x();
    c[at(j)] = q.y();
    c[at(axis)] = -(k[at(i)] * q.x() + k[at(j)] * q.y() + plane.d()) / k[at(axis)];
    return Point(c[0], c[1], c[2]);
  };

  Sheet sheet;
  std::map<Sheet::Vertex_handle, Index> number;
  const auto insert = [&](const Point& p) {
    const auto v = sheet.insert(project(p));
    if (const auto [it, added] = number.try_emplace(v, none); added) it->second = points.number(p);
    return v;
  };
  for (int k = 0; k < 3; ++k) insert(t.vertex(k));
  for (const Point& p : marks.points) insert(p);
  for (const auto& [a, b] : marks.lines) {
    const auto va = insert(a), vb = insert(b);
    if (va != vb) sheet.insert_constraint(va, vb);
  }
  // Where marks cross each other the triangulation has made points of its own.
  for (const auto v : sheet.finite_vertex_handles())
    if (const auto [it, added] = number.try_emplace(v, none); added)
      it->second = points.number(lift(v->point()));
  for (const auto f : sheet.finite_face_handles())
    out.push_back({number[f->vertex(0)], number[f->vertex(1)], number[f->vertex(2)]});
}

struct Piece {
  Triangle corners;     // facing so that `count` is positive
  int count = 1;        // how many triangles lie here, those that face back taken away
  Index parent = 0;     // a triangle of the mesh in whose plane it lies
  bool turned = false;  // against the parent
};

Triangle flipped(const Triangle& t) {
  return {t[0], t[2], t[1]};
}

/// Three corners in rising order and whether that turned them.
std::pair<Triangle, bool> canonical(Triangle t) {
  bool odd = false;
  const auto order = [&](std::size_t a, std::size_t b) {
    if (t[a] > t[b]) {
      std::swap(t[a], t[b]);
      odd = !odd;
    }
  };
  order(0, 1);
  order(1, 2);
  order(0, 1);
  return {t, odd};
}

class Arrangement {
 public:
  Arrangement(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
              const std::vector<Contact>& contacts, std::size_t& work)
      : vertices_(vertices), triangles_(triangles), points_(vertices) {
    dense_ = !make_pieces(contacts, work);
  }

  std::optional<TriangleSoup> boundary() {
    if (dense_ || !connect() || !spread()) return std::nullopt;
    TriangleSoup out;
    out.vertices = points_.rounded();
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const int front = front_[patch_[i]];
      if (front <= 0 && front + pieces_[i].count > 0) out.triangles.push_back(pieces_[i].corners);
    }
    return out;
  }

 private:
  /// False when it would be more work than allowed.
  bool make_pieces(const std::vector<Contact>& contacts, std::size_t& work) {
    const double length = length_of_numbers(contacts);
    const auto spend = [&](std::size_t steps) {
      const double cost = length * static_cast<double>(steps);
      if (!(cost <= static_cast<double>(work))) return false;
      work -= static_cast<std::size_t>(cost);
      return true;
    };
    if (!spend(contacts.size() * contact_cost)) return false;
    std::map<Index, Marks> marks;
    for (const auto& [s, t] : contacts) mark(exact(s), exact(t), marks[s], marks[t]);
    for (const auto& [t, m] : marks) {
      const Plan plan = widest_plan(t);
      if (!spend(crossings(m, plan.i, plan.j, work) * crossing_cost)) return false;
    }
    std::map<Triangle, std::size_t> known;
    std::vector<Triangle> cuts;
    for (Index t = 0; t < triangles_.size(); ++t) {
      const auto found = marks.find(t);
      if (found == marks.end()) {
        pieces_.push_back({triangles_[t], 1, t, false});
        continue;
      }
      cuts.clear();
      cut(triangles_[t], found->second, points_, cuts);
      for (const Triangle& c : cuts) {
        const auto [key, odd] = canonical(c);
        const auto [it, added] = known.try_emplace(key, pieces_.size());
        if (added) {
          pieces_.push_back({key, odd ? -1 : 1, t, odd});
        } else {
          pieces_[it->second].count += odd ? -1 : 1;
        }
      }
    }
    for (Piece& p : pieces_)
      if (p.count < 0) {
        p.corners = flipped(p.corners);
        p.count = -p.count;
        p.turned = !p.turned;
      }
    std::erase_if(pieces_, [](const Piece& p) { return p.count == 0; });
    return true;
  }

  /// Cost of an exact step for these triangles against one for coordinates as files usually have them:
  /// products of long numbers cost by the square of their bits, from the highest of any coordinate to the
  /// lowest.
  double length_of_numbers(const std::vector<Contact>& contacts) const {
    int high = std::numeric_limits<int>::min(), low = std::numeric_limits<int>::max();
    for (const auto& [s, t] : contacts)
      for (const Index side : {s, t})
        for (const Index v : triangles_[side])
          for (const double x : vertices_[v]) {
            if (x == 0) continue;
            int exponent = 0;
            const auto digits =
                static_cast<std::uint64_t>(std::ldexp(std::abs(std::frexp(x, &exponent)), 53));
            high = std::max(high, exponent);
            low = std::min(low, exponent - 53 + std::countr_zero(digits));
          }
    const double bits = high > low ? high - low : 1;
    return std::max(1.0, bits * bits / (usual_bits * usual_bits));
  }

  /// Seen along the axis in which the triangle is widest.
  Plan widest_plan(Index t) const {
    const Triangle& c = triangles_[t];
    const Vec3 n = (vertices_[c[1]] - vertices_[c[0]]).cross(vertices_[c[2]] - vertices_[c[0]]).cwiseAbs();
    const int axis = n.x() > n.y() ? (n.x() > n.z() ? 0 : 2) : (n.y() > n.z() ? 1 : 2);
    return {(axis + 1) % 3, (axis + 2) % 3};
  }

  Exact::Triangle_3 exact(Index t) {
    const Triangle& c = triangles_[t];
    return {points_.at(c[0]), points_.at(c[1]), points_.at(c[2])};
  }

  /// Uses of the edge a→b in their order round it; exact.
  std::vector<FanLeaf<EdgeUse>> round_edge(Index ia, Index ib, std::span<const EdgeUse> uses) {
    const Point a = points_.at(ia), b = points_.at(ib);
    const auto apex = [&](const EdgeUse& u) -> const Point& {
      return points_.at(pieces_[u.half_edge / 3].corners[(u.half_edge % 3 + 2) % 3]);
    };
    return sort_round_line<EdgeUse>(
        uses,
        [&](const EdgeUse& x, const EdgeUse& y) {
          return static_cast<int>(CGAL::orientation(a, b, apex(x), apex(y)));
        },
        [&](const EdgeUse& x, const EdgeUse& y) {
          return CGAL::coplanar_orientation(a, b, apex(x), apex(y)) == CGAL::POSITIVE;
        });
  }

  /// Patches of pieces joined across plain edges, and the differences of winding between them round the
  /// others.
  bool connect() {
    std::vector<Triangle> corners;
    Index count = 0;
    for (const Piece& p : pieces_) {
      corners.push_back(p.corners);
      for (const Index v : p.corners) count = std::max(count, v + 1);
    }
    DisjointSets sets(pieces_.size());
    struct Crowd {
      Index a;
      std::vector<EdgeUse> uses;
    };
    std::vector<Crowd> crowds;
    bool balanced = true;
    for_each_edge(corners, count, [&](Index v, std::span<const EdgeUse> uses) {
      int sum = 0;
      for (const EdgeUse& u : uses) sum += (u.forward ? 1 : -1) * pieces_[u.half_edge / 3].count;
      if (sum != 0) balanced = false;
      if (uses.size() == 2)
        sets.unite(uses[0].half_edge / 3, uses[1].half_edge / 3);
      else
        crowds.push_back({v, {uses.begin(), uses.end()}});
    });
    if (!balanced) return false;
    links_.resize(std::move(sets).number(patch_));
    for (const Crowd& c : crowds) {
      const auto ring = round_edge(c.a, c.uses[0].other, c.uses);
      for (std::size_t i = 0; i < ring.size(); ++i) {
        const EdgeUse &x = ring[i].use, &y = ring[(i + 1) % ring.size()].use;
        const Index p = x.half_edge / 3, q = y.half_edge / 3;
        // A forward piece fronts the wedge after it, a backward one the wedge before it.
        const int after = x.forward ? 0 : pieces_[p].count;  // winding there, over that at the front of p
        const int before = y.forward ? pieces_[q].count : 0;
        links_[patch_[p]].push_back({patch_[q], after - before});
        links_[patch_[q]].push_back({patch_[p], before - after});
      }
    }
    return true;
  }

  /// For each connected part the winding in front of its piece with most plan area, then everywhere.
  bool spread() {
    const std::size_t n = links_.size();
    std::vector<Index> part(n, none), order;
    std::vector<int> relative(n, 0);
    std::vector<std::vector<Index>> members;
    for (Index seed = 0; seed < n; ++seed) {
      if (part[seed] != none) continue;
      const auto number = static_cast<Index>(members.size());
      members.push_back({seed});
      part[seed] = number;
      for (std::size_t i = 0; i < members[number].size(); ++i)
        for (const Link& l : links_[members[number][i]]) {
          const int value = relative[members[number][i]] + l.difference;
          if (part[l.patch] == none) {
            part[l.patch] = number;
            relative[l.patch] = value;
            members[number].push_back(l.patch);
          } else if (relative[l.patch] != value) {
            return false;
          }
        }
    }
    const std::vector<Vec3> places = points_.rounded();
    std::vector<Index> widest(members.size(), none);
    std::vector<double> width(members.size(), 0);
    for (Index i = 0; i < pieces_.size(); ++i) {
      const Triangle& c = pieces_[i].corners;
      const Vec3 u = places[c[1]] - places[c[0]], v = places[c[2]] - places[c[0]];
      const double area = std::abs(u.x() * v.y() - u.y() * v.x());
      const Index m = part[patch_[i]];
      if (area > width[m]) {
        width[m] = area;
        widest[m] = i;
      }
    }
    const std::vector<int> start = windings_in_front(places, widest);
    front_.resize(n);
    for (Index p = 0; p < n; ++p) {
      const Index seed = widest[part[p]];
      // Too small to be seen by a double: as good as nothing.
      front_[p] = seed == none ? 1 : start[part[p]] + relative[p] - relative[patch_[seed]];
    }
    return true;
  }

  std::vector<int> windings_in_front(const std::vector<Vec3>& places, const std::vector<Index>& seeds) const {
    std::vector<VerticalLine> lines;
    std::vector<int> sign;
    for (const Index s : seeds) {
      Vec3 at = Vec3::Zero();
      int up = 0;
      if (s != none) {
        const Triangle& c = pieces_[s].corners;
        at = places[c[0]] + ((places[c[1]] - places[c[0]]) + (places[c[2]] - places[c[0]])) / 3;
        const auto corner = [&](std::size_t k) { return vertices_[triangles_[pieces_[s].parent][k]]; };
        up = plan_orientation(corner(0), corner(1), corner(2)) * (pieces_[s].turned ? -1 : 1);
      }
      lines.push_back({at, at});
      sign.push_back(up);
    }
    std::vector<int> above(seeds.size(), 0), level(seeds.size(), 0);
    const auto corners = [&](Index t) {
      const Triangle& c = triangles_[t];
      return std::array<Vec3, 3>{vertices_[c[0]], vertices_[c[1]], vertices_[c[2]]};
    };
    for_each_crossing(vertices_, triangles_, lines, [&](Index l, Index t, int up) {
      if (seeds[l] == none) return;
      const Index own = pieces_[seeds[l]].parent;
      const int higher = t == own ? 0 : compare_heights(corners(t), corners(own), lines[l]);
      if (higher > 0) above[l] += up;
      if (higher == 0) level[l] += up;
    });
    std::vector<int> out(seeds.size());
    for (std::size_t i = 0; i < seeds.size(); ++i) out[i] = sign[i] > 0 ? above[i] : above[i] + level[i];
    return out;
  }

  struct Link {
    Index patch;
    int difference;
  };
  const std::vector<Vec3>& vertices_;
  const std::vector<Triangle>& triangles_;
  Points points_;
  bool dense_ = false;
  std::vector<Piece> pieces_;
  std::vector<Index> patch_;              // per piece
  std::vector<std::vector<Link>> links_;  // per patch
  std::vector<int> front_;                // per patch
};

}  // namespace

std::optional<TriangleSoup> outer_boundary(const std::vector<Vec3>& vertices,
                                           const std::vector<Triangle>& triangles,
                                           const std::vector<Contact>& contacts, std::size_t& work) {
  return Arrangement(vertices, triangles, contacts, work).boundary();
}

}  // namespace pourwright::uniting

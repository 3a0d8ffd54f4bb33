// SPDX-License-Identifier: GPL-3.0-or-later
// Parting gaps narrower than the limit, between bodies whose faces run side by side: where they are, and the
// material that closes them.
#include "geometry/union/gaps.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/point_in_polygon.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include <CGAL/Box_intersection_d/Box_with_info_d.h>
#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/box_intersection_d.h>

namespace pourwright::uniting {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Sheet = CGAL::Constrained_Delaunay_triangulation_2<Kernel, CGAL::Default, CGAL::Exact_predicates_tag>;
using Point2 = Kernel::Point_2;

/// Faces look at each other when their normals are within about 30° of opposite.
constexpr double facing = -0.87;
/// How far plates sink into the faces, as a share of the gap: more than rounding, less than matters.
constexpr double sink = 0.01;
/// Beside a crease sharper than 60° a bar reaches no farther than this times the sum of the normals.
constexpr double blade = 2;
/// Beyond this many pairs of triangles uniting plates exactly would take too long.
constexpr std::size_t most_pairs = 20'000;
/// Pairs of level faces that only rounding keeps apart. Their plates are laid in one go.
constexpr std::size_t most_touching = 400;
/// Beyond this many pairs of near boxes the faces lie too dense to look at each other one by one: seconds.
constexpr std::size_t most_looks = 10'000'000;

class PlateMaker {
 public:
  PlateMaker(const Surface& s, double gap, std::size_t few, bool within)
      : s_(s), gap_(gap), size_(s.box.size().norm()), few_(few), within_(within) {}

  GapPlates run() {
    find_pairs();
    if (out_.too_many || (pairs_.empty() && touching_.empty())) return std::move(out_);
    find_patches();
    std::set<std::pair<Index, Index>> done;
    for (const auto& [a, b] : pairs_) done.insert(std::minmax(patch_[a], patch_[b]));
    out_.curved = done.size() > few_;
    if (out_.curved) {
      out_.places = done.size();
      return std::move(out_);
    }
    std::set<std::pair<Index, Index>> nearly;
    for (const auto& [a, b] : touching_) nearly.insert(std::minmax(patch_[a], patch_[b]));
    if (nearly.size() <= most_touching) done.insert(nearly.begin(), nearly.end());
    for (const auto& [a, b] : done) plate(a, b);
    bridge_creases();
    return std::move(out_);
  }

 private:
  const Vec3& at(Index t, std::size_t k) const { return s_.vertices[s_.triangles[t][k]]; }
  /// Rounding, to single precision at the worst: less than plates sink in, and less than matters.
  double touch() const { return std::max(1e-9 * size_, 2e-3 * gap_); }
  Vec3 normal(Index t) const { return (at(t, 1) - at(t, 0)).cross(at(t, 2) - at(t, 0)).normalized(); }

  struct Enough {};

  void consider(Index a, Index b) {
    if (++looks_ > most_looks) throw Enough();
    if (s_.shell[a] > s_.shell[b]) std::swap(a, b);
    const Vec3 m = normal(a), n = normal(b);
    if (!(m.dot(n) < facing)) return;
    // Somewhere each lies in front of the other, not farther than the gap. What only rounding keeps apart is
    // told by itself: it is no gap but would leak like one.
    bool touching = true;
    const auto in_front = [&](Index of, const Vec3& dir, Index other) {
      double low = gap_ * 2, high = -gap_;
      for (std::size_t k = 0; k < 3; ++k) {
        const double d = (at(other, k) - at(of, 0)).dot(dir);
        low = std::min(low, d);
        high = std::max(high, d);
      }
      touching &= high <= touch();
      return low <= gap_ && high > 0;
    };
    const bool one = in_front(a, m, b), two = in_front(b, n, a);
    if (touching ? !one && !two : !one || !two || s_.shell[a] == s_.shell[b]) return;
    (touching ? touching_ : pairs_).emplace_back(a, b);
    if (pairs_.size() > most_pairs) throw Enough();
  }

  void find_pairs() {
    try {
      look_at_near_boxes();
    } catch (const Enough&) {  // the only way out of the library's sweep
      out_.too_many = true;
      out_.places = std::max<std::size_t>(1, pairs_.size());
    }
    std::sort(pairs_.begin(), pairs_.end());
    if (touching_.size() > most_pairs) touching_.clear();
  }

  void look_at_near_boxes() {
    using Boxed = CGAL::Box_intersection_d::Box_with_info_d<double, 3, Index>;
    std::vector<std::vector<Boxed>> boxes(s_.census.shells);
    std::vector<Box> whole(s_.census.shells);
    for (Index t = 0; t < s_.triangles.size(); ++t) {
      Box box;
      for (std::size_t k = 0; k < 3; ++k) box.add(at(t, k));
      const Vec3 l = box.low.array() - gap_ / 2, h = box.high.array() + gap_ / 2;
      boxes[s_.shell[t]].emplace_back(CGAL::Bbox_3(l.x(), l.y(), l.z(), h.x(), h.y(), h.z()), t);
      whole[s_.shell[t]].add(l);
      whole[s_.shell[t]].add(h);
    }
    const auto meet = [&](const Boxed& a, const Boxed& b) { consider(a.info(), b.info()); };
    if (s_.census.shells > 32 || within_) {
      std::vector<Boxed> all;
      for (auto& list : boxes) all.insert(all.end(), list.begin(), list.end());
      CGAL::box_self_intersection_d(all.begin(), all.end(), meet);
    } else {
      const auto apart = [](const Box& a, const Box& b) {
        return (a.low.array() > b.high.array()).any() || (b.low.array() > a.high.array()).any();
      };
      for (std::size_t i = 0; i < boxes.size(); ++i)
        for (std::size_t j = i + 1; j < boxes.size(); ++j) {
          if (apart(whole[i], whole[j])) continue;
          // Only what lies within reach of the other body can matter.
          const auto near_box = [&](const std::vector<Boxed>& list, const Box& box) {
            std::vector<Boxed> some;
            for (const Boxed& b : list) {
              bool off = false;
              for (int k = 0; k < 3; ++k) off |= b.min_coord(k) > box.high[k] || b.max_coord(k) < box.low[k];
              if (!off) some.push_back(b);
            }
            return some;
          };
          auto a = near_box(boxes[i], whole[j]), b = near_box(boxes[j], whole[i]);
          CGAL::box_intersection_d(a.begin(), a.end(), b.begin(), b.end(), meet);
        }
    }
  }

  /// Level pieces of the faces that take part: triangles that share an edge and a plane.
  void find_patches() {
    std::vector<bool> takes_part(s_.triangles.size());
    for (const auto* list : {&pairs_, &touching_})
      for (const auto& [a, b] : *list) takes_part[a] = takes_part[b] = true;
    std::map<std::pair<Index, Index>, Index> from;  // directed edge to its triangle
    std::vector<Index> listed;
    for (Index t = 0; t < s_.triangles.size(); ++t) {
      if (!takes_part[t]) continue;
      listed.push_back(t);
      for (std::size_t k = 0; k < 3; ++k)
        from.emplace(std::pair(s_.triangles[t][k], s_.triangles[t][(k + 1) % 3]), t);
    }
    // Large faces first: their planes are the surest.
    const auto twice_area = [&](Index t) { return (at(t, 1) - at(t, 0)).cross(at(t, 2) - at(t, 0)).norm(); };
    std::vector<std::pair<double, Index>> by_size;
    for (const Index t : listed) by_size.emplace_back(-twice_area(t), t);
    std::sort(by_size.begin(), by_size.end());
    patch_.assign(s_.triangles.size(), none);
    for (const auto& [area, seed] : by_size) {
      if (patch_[seed] != none) continue;
      const auto id = static_cast<Index>(members_.size());
      members_.emplace_back();
      const Vec3 n = normal(seed), o = at(seed, 0);
      std::vector<Index> open{seed};
      patch_[seed] = id;
      while (!open.empty()) {
        const Index t = open.back();
        open.pop_back();
        members_[id].push_back(t);
        for (std::size_t k = 0; k < 3; ++k) {
          const auto it = from.find({s_.triangles[t][(k + 1) % 3], s_.triangles[t][k]});
          if (it == from.end()) continue;
          const Index u = it->second;
          if (patch_[u] != none) continue;
          bool level = true;
          for (std::size_t i = 0; i < 3; ++i) level &= std::abs((at(u, i) - o).dot(n)) < touch();
          if (level) {
            patch_[u] = id;
            open.push_back(u);
          }
        }
      }
    }
    for (const Index t : listed)
      for (std::size_t k = 0; k < 3; ++k) {
        const Index a = s_.triangles[t][k], b = s_.triangles[t][(k + 1) % 3];
        const auto it = from.find({b, a});
        if (it != from.end() && t < it->second && patch_[t] != patch_[it->second])
          creases_.emplace_back(t, it->second, a, b);
      }
    height_.assign(members_.size(), 0);
  }

  /// Along the normal of a patch, from its plane to that of the other.
  void plate(Index first, Index second) {
    const Vec3 n = normal(members_[first][0]), m = normal(members_[second][0]);
    const Vec3 o = at(members_[first][0], 0), q = at(members_[second][0], 0);
    int axis = 0;
    n.cwiseAbs().maxCoeff(&axis);
    const bool along_axis = std::abs(n[axis]) == 1;
    Vec3 u = Vec3::Zero(), v;
    if (along_axis) {
      u[(axis + 1) % 3] = 1;
      v = n.cross(u);
    } else {
      u = n.unitOrthogonal();
      v = n.cross(u);
    }
    // Corners of the two faces that are one but for rounding become one.
    std::map<std::array<std::int64_t, 2>, Point2> known;
    const auto flat = [&](const Vec3& p) {
      const Point2 f((p - o).dot(u), (p - o).dot(v));
      const double cell = touch() / 10;
      const auto i = static_cast<std::int64_t>(std::floor(f.x() / cell)),
                 j = static_cast<std::int64_t>(std::floor(f.y() / cell));
      for (std::int64_t a = i - 1; a <= i + 1; ++a)
        for (std::int64_t b = j - 1; b <= j + 1; ++b)
          if (const auto it = known.find({a, b}); it != known.end()) return it->second;
      known.emplace(std::array{i, j}, f);
      return f;
    };
    const auto lifted = [&](const Point2& p, double h) { return Vec3(o + p.x() * u + p.y() * v + h * n); };
    const auto height = [&](const Point2& p) { return (q - lifted(p, 0)).dot(m) / n.dot(m); };

    Sheet sheet;
    const auto outline = [&](Index id) {
      std::map<std::pair<Index, Index>, int> edges;
      for (const Index t : members_[id])
        for (std::size_t k = 0; k < 3; ++k) {
          const Index a = s_.triangles[t][k], b = s_.triangles[t][(k + 1) % 3];
          edges[std::minmax(a, b)] += a < b ? 1 : -1;
        }
      std::vector<std::pair<Point2, Point2>> out;
      for (const auto& [e, balance] : edges)
        if (balance != 0) out.emplace_back(flat(s_.vertices[e.first]), flat(s_.vertices[e.second]));
      return out;
    };
    const auto one = outline(first), two = outline(second);
    Box reach;
    for (const auto* list : {&one, &two})
      for (const auto& [a, b] : *list) {
        reach.add({a.x(), a.y(), 0});
        reach.add({b.x(), b.y(), 0});
        if (a != b) sheet.insert_constraint(a, b);
      }
    // Where the faces lean towards each other only the part below the gap counts.
    const double du = -m.dot(u) / m.dot(n), dv = -m.dot(v) / m.dot(n), lean = std::hypot(du, dv);
    if (lean > 1e-9)
      for (const double h : {0.0, gap_}) {
        const double c = (h - height(Point2(0, 0))) / (lean * lean), far = reach.size().norm() + 1;
        const Vec3 middle = reach.centre();
        // The point of the line next to the middle of the outlines.
        const double along = (-dv * middle.x() + du * middle.y()) / lean;
        const Point2 foot(c * du - along * dv / lean, c * dv + along * du / lean);
        if (std::hypot(foot.x() - middle.x(), foot.y() - middle.y()) > far) continue;
        sheet.insert_constraint(Point2(foot.x() - far * dv / lean, foot.y() + far * du / lean),
                                Point2(foot.x() + far * dv / lean, foot.y() - far * du / lean));
      }

    const auto inside = [](const std::vector<std::pair<Point2, Point2>>& edges, double x, double y) {
      PointInPolygon point(x, y);
      for (const auto& [a, b] : edges) point.edge(a.x(), a.y(), b.x(), b.y());
      return point.inside();
    };
    std::vector<Sheet::Face_handle> kept;
    std::map<Sheet::Face_handle, bool> is_kept;
    for (const auto f : sheet.finite_face_handles()) {
      double x = 0, y = 0;
      for (int k = 0; k < 3; ++k) {
        x += f->vertex(k)->point().x() / 3;
        y += f->vertex(k)->point().y() / 3;
      }
      const double h = height(Point2(x, y));
      if (h < -touch() || h > gap_ || !inside(one, x, y) || !inside(two, x, y)) continue;
      // Slivers count: left out they would be slits.
      const double area =
          CGAL::to_double(CGAL::area(f->vertex(0)->point(), f->vertex(1)->point(), f->vertex(2)->point()));
      kept.push_back(f);
      is_kept[f] = true;
      out_.volume += area * std::max(h, 0.0);
      out_.widest = std::max(out_.widest, h);
      height_[first] = std::max(height_[first], h);
      height_[second] = std::max(height_[second], h);
    }
    if (kept.empty()) return;
    ++out_.places;
    // Askew, a wall of the plate would lie in the plane of a body's but for rounding. A hair outside it does
    // not, and nothing of the gap is left beside it.
    std::map<Sheet::Vertex_handle, Kernel::Vector_2> outward;
    if (!along_axis)
      for (const auto f : kept)
        for (int k = 0; k < 3; ++k) {
          if (is_kept.contains(f->neighbor(k))) continue;
          const auto d = f->vertex(Sheet::ccw(k)), e = f->vertex(Sheet::cw(k));
          const auto along = e->point() - d->point();
          const double length = std::sqrt(along.squared_length());
          const Kernel::Vector_2 out(along.y() / length, -along.x() / length);
          for (const auto w : {d, e}) {
            auto& sum = outward.try_emplace(w, 0, 0).first->second;
            sum = sum + out;
          }
        }
    const auto outset = [&](Sheet::Vertex_handle w) {
      const auto it = outward.find(w);
      if (it == outward.end() || !(it->second.squared_length() > 0.01)) return w->point();
      return w->point() + it->second * (5e-4 * gap_ / it->second.squared_length());
    };
    std::map<Sheet::Vertex_handle, std::array<Index, 2>> number;
    const auto corner = [&](Sheet::Vertex_handle w, std::size_t top) {
      const auto [it, fresh] = number.try_emplace(w);
      if (fresh) {
        const Point2 p = outset(w);
        it->second[0] = add(lifted(p, -sink * gap_));
        it->second[1] = add(lifted(p, std::clamp(height(p), 0.0, gap_) + sink * gap_));
      }
      return it->second[top];
    };
    for (const auto f : kept) {
      const auto a = f->vertex(0), b = f->vertex(1), c = f->vertex(2);
      out_.plates.triangles.push_back({corner(a, 1), corner(b, 1), corner(c, 1)});
      out_.plates.triangles.push_back({corner(c, 0), corner(b, 0), corner(a, 0)});
      for (int k = 0; k < 3; ++k) {
        if (is_kept.contains(f->neighbor(k))) continue;
        const auto d = f->vertex(Sheet::ccw(k)), e = f->vertex(Sheet::cw(k));
        out_.plates.triangles.push_back({corner(d, 0), corner(e, 0), corner(e, 1)});
        out_.plates.triangles.push_back({corner(d, 0), corner(e, 1), corner(d, 1)});
      }
    }
  }

  Index add(const Vec3& p) {
    out_.plates.vertices.push_back(p);
    return static_cast<Index>(out_.plates.vertices.size() - 1);
  }

  /// Plates stand square on their faces, so beside a convex crease two of them leave a wedge open, thin but a
  /// way out. A bar along the crease fills it.
  void bridge_creases() {
    for (const auto& [t, u, a, b] : creases_) {
      const double h = std::max(height_[patch_[t]], height_[patch_[u]]);
      if (!(h > 0)) continue;
      const Vec3 p = s_.vertices[a], q = s_.vertices[b], n = normal(t), m = normal(u);
      const Vec3 d = (q - p).normalized();
      if (n.cross(m).dot(d) < -1e-6) continue;  // hollow: the plates overlap
      const double s = sink * gap_, tall = h + s;
      // Past the ends and past both normals by as much as plates sink.
      const Vec3 past_n = d.cross(n), past_m = d.cross(m);
      const Vec3 root = -s * (n + m).normalized();
      // To where the far sides of the two gaps cross, or a channel stays there when other bodies' ends meet
      // it. Of blades that point runs away.
      const Vec3 across = tall * std::min(1 / (1 + n.dot(m)), blade) * (n + m);
      const std::array<Vec3, 4> section{root, Vec3(tall * n - s * past_n), across,
                                        Vec3(tall * m + s * past_m)};
      std::array<Index, 4> low, high;
      for (std::size_t k = 0; k < 4; ++k) {
        low[k] = add(p - s * d + section[k]);
        high[k] = add(q + s * d + section[k]);
      }
      auto& out = out_.plates.triangles;
      for (std::size_t k = 0; k < 4; ++k) {
        const std::size_t l = (k + 1) % 4;
        out.push_back({low[k], low[l], high[l]});
        out.push_back({low[k], high[l], high[k]});
      }
      out.push_back({low[0], low[2], low[1]});
      out.push_back({low[0], low[3], low[2]});
      out.push_back({high[0], high[1], high[2]});
      out.push_back({high[0], high[2], high[3]});
    }
  }

  const Surface& s_;
  double gap_, size_;
  std::size_t few_;
  bool within_;
  std::size_t looks_ = 0;
  std::vector<std::pair<Index, Index>> pairs_;                   // triangles, that of the earlier shell first
  std::vector<std::pair<Index, Index>> touching_;                // the same, apart by rounding only
  std::vector<Index> patch_;                                     // per triangle
  std::vector<std::vector<Index>> members_;                      // per patch
  std::vector<double> height_;                                   // per patch, of its tallest plate
  std::vector<std::tuple<Index, Index, Index, Index>> creases_;  // two triangles and the edge of the first
  GapPlates out_;
};

}  // namespace

GapPlates plates_for_gaps(const Surface& surface, double gap, std::size_t few, bool within) {
  if ((surface.census.shells < 2 && !within) || !(gap > 0)) return {};
  return PlateMaker(surface, gap, few, within).run();
}

}  // namespace pourwright::uniting

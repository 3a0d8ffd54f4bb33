// SPDX-License-Identifier: GPL-3.0-or-later
// One direction of pull. Which wall is undercut is decided triangle by triangle; how deep it lies, in plan.
#include "geometry/mesh/plan_tree.hpp"
#include "geometry/mesh/ray_scene.hpp"
#include "geometry/mesh/sums.hpp"
#include "geometry/release/wall.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>

namespace pourwright::release {
namespace {

constexpr double to_degrees = 180 / std::numbers::pi;
/// Crumbs of the surface, and slivers whose direction is only rounding, say nothing about draft.
constexpr double ignored_share = 1e-4;

/// Shares of the size of the piece. Heights closer than this are one: products of plan coordinates round to
/// some 1e-15 of the size, single precision in the file to 6e-8.
constexpr double same_height = 1e-6;
/// Beside a lip, not on it: farther than rounding, nearer than anything that is drawn.
constexpr double beside_lip = 2e-5;
/// Rays start so far off the lip, and so far behind what they only grazed.
constexpr double ray_step = 1e-4;
/// Wall within 1.1° of the ray runs beside it.
constexpr double grazing = 0.02;
/// A ray that grazes more often runs along a wall of facets.
constexpr int most_grazed = 64;
/// So many points are asked first when a component has four times as many triangles.
constexpr std::size_t few_first = 256;
/// Nothing stretches a thousandfold.
constexpr double captive_stretch = 1e3;

/// A lip: where the overhang ends and the way out begins.
struct Lip {
  Vec3 a, b;
  bool at_mouth = false;
  Index body = 0;
  Vec2 away = Vec2::Zero();  ///< in plan, from the overhang into the way out
  double overhang_below =
      -std::numeric_limits<double>::infinity();  ///< what lies under that cannot leave here
};

class PullFinder {
 public:
  PullFinder(const Wall& wall, const RayScene& scene, const Mouth& mouth, const Vec3& d)
      : wall_(wall), scene_(scene), mouth_(mouth), d_(d), e1_(d.unitOrthogonal()), e2_(d.cross(e1_)) {}

  Pull run(Length hold) {
    Pull p;
    p.direction = d_;
    draft(p);
    mark();
    gather();
    std::vector<Index> overhang;
    for (Index t = 0; t < under_.size(); ++t)
      if (under_[t]) overhang.push_back(t);
    if (overhang.empty()) return p;
    open_lips(overhang);
    arrange();
    places(overhang, in_millimetres(hold), p);
    return p;
  }

 private:
  Vec2 plan(const Vec3& p) const { return {p.dot(e1_), p.dot(e2_)}; }
  const Vec3& corner(Index t, int k) const {
    return wall_.vertices[wall_.triangles[t][static_cast<std::size_t>(k)]];
  }

  /// Least draft by area, from a histogram in hundredths of a degree.
  void draft(Pull& p) {
    constexpr std::size_t bins = 18'001;
    std::vector<double> area(bins, 0.0), least(bins, 90.0);
    std::vector<Index> who(bins, none);
    double total = 0;
    for (Index t = 0; t < wall_.triangles.size(); ++t) {
      if (mouth_.is_open[t] || wall_.doubt[t] > ignored_doubt) continue;
      const double degrees = -to_degrees * std::asin(std::clamp(wall_.normal[t].dot(d_), -1.0, 1.0));
      const auto bin = static_cast<std::size_t>((degrees + 90) * 100);
      area[bin] += wall_.area[t];
      total += wall_.area[t];
      if (who[bin] == none || degrees < least[bin]) {
        least[bin] = degrees;
        who[bin] = t;
      }
    }
    double below = 0;
    for (std::size_t b = 0; b < bins; ++b) {
      below += area[b];
      if (who[b] == none || below <= ignored_share * total) continue;
      // What rounding leaves of a wall along the pull is no draft.
      p.min_draft_degrees = std::abs(least[b]) < 1e-9 ? 0.0 : least[b];
      p.min_draft_at = (corner(who[b], 0) + corner(who[b], 1) + corner(who[b], 2)) / 3;
      return;
    }
  }

  void mark() {
    under_.resize(wall_.triangles.size());
    for (std::size_t t = 0; t < under_.size(); ++t)
      under_[t] =
          !mouth_.is_open[t] &&
          wall_.normal[t].dot(d_) > std::sin(std::min(std::numbers::pi / 2, level_radians + wall_.doubt[t]));
  }

  /// Edges between undercut and other wall. Where the surface is hollow along the edge, the mold's overhang
  /// ends there; where it is ridged, the piece does.
  void gather() {
    std::vector<Lip> ridges;
    for (Index t = 0; t < under_.size(); ++t) {
      if (!under_[t]) continue;
      for (int k = 0; k < 3; ++k) {
        const HalfEdge o = wall_.opposite[3 * t + static_cast<Index>(k)];
        const Index other = o == none ? none : o / 3;
        if (other != none && under_[other]) continue;
        const bool at_mouth = other == none || mouth_.is_open[other];
        const Vec3 &a = corner(t, k), &b = corner(t, (k + 1) % 3);
        const bool hollow =
            at_mouth || wall_.normal[t].dot(corner(other, static_cast<int>(o % 3 + 2) % 3) - a) > 0;
        (hollow ? lips_ : ridges)
            .push_back({a, b, at_mouth, wall_.body[t], away_from(a, b, corner(t, (k + 2) % 3))});
      }
    }
    if (lips_.empty()) lips_ = std::move(ridges);
  }

  Vec2 away_from(const Vec3& a, const Vec3& b, const Vec3& overhang) const {
    const Vec2 along = plan(b) - plan(a), in = plan(overhang) - plan(a);
    const Vec2 across(-along.y(), along.x());
    const double length = across.norm();
    if (!(length > 0)) return Vec2::Zero();
    return across * ((across.dot(in) > 0 ? -1 : 1) / length);
  }

  /// Keeps the lips that no other overhang covers. All of them when each covers another, which only a surface
  /// that passes through itself can do.
  void open_lips(const std::vector<Index>& overhang) {
    std::vector<Rectangle> boxes;
    boxes.reserve(overhang.size());
    for (const Index t : overhang) {
      Rectangle r;
      for (int k = 0; k < 3; ++k) r.add(plan(corner(t, k)));
      boxes.push_back(r);
    }
    const PlanTree tree(std::move(boxes));
    const double above = same_height * wall_.size;
    std::vector<Lip> open;
    for (Lip lip : lips_) {
      const Vec3 middle = (lip.a + lip.b) / 2;
      // On the lip, rounding might put it under its own overhang.
      const Vec2 p = plan(middle) + beside_lip * wall_.size * lip.away;
      const double height = middle.dot(d_);
      const bool covered = tree.any_at(p, [&](Index i) {
        const auto h = height_at(overhang[i], p);
        if (h && *h < height - above) lip.overhang_below = std::max(lip.overhang_below, *h + above);
        return h && *h > height + above;
      });
      if (!covered) open.push_back(lip);
    }
    if (!open.empty()) lips_ = std::move(open);
  }

  /// How high triangle t hangs over the point p of the plan.
  std::optional<double> height_at(Index t, const Vec2& p) const {
    const Vec2 a = plan(corner(t, 0)), b = plan(corner(t, 1)), c = plan(corner(t, 2));
    const auto cross = [](const Vec2& u, const Vec2& v) { return u.x() * v.y() - u.y() * v.x(); };
    const double whole = cross(b - a, c - a);
    if (!(whole > 0)) return std::nullopt;
    const double u = cross(b - p, c - p) / whole, v = cross(c - p, a - p) / whole, w = 1 - u - v;
    if (u < 0 || v < 0 || w < 0) return std::nullopt;
    return u * corner(t, 0).dot(d_) + v * corner(t, 1).dot(d_) + w * corner(t, 2).dot(d_);
  }

  /// The lips of one body, `first` and the next in lips_.
  struct WaysOut {
    Index first = 0;
    PlanTree tree;
  };

  void arrange() {
    std::stable_sort(lips_.begin(), lips_.end(), [](const Lip& a, const Lip& b) { return a.body < b.body; });
    for (std::size_t first = 0, last = 0; first < lips_.size(); first = last) {
      std::vector<Rectangle> boxes;
      std::vector<double> from;
      for (; last < lips_.size() && lips_[last].body == lips_[first].body; ++last) {
        Rectangle r;
        r.add(plan(lips_[last].a));
        r.add(plan(lips_[last].b));
        boxes.push_back(r);
        from.push_back(lips_[last].overhang_below);
      }
      ways_.emplace(lips_[first].body,
                    WaysOut{static_cast<Index>(first), PlanTree(std::move(boxes), std::move(from))});
    }
  }

  struct Deepest {
    double squared = -1;
    Vec3 at = Vec3::Zero();
    Index lip = none;
    Index last = none;  ///< the lip that was nearest to the last place asked for
  };

  /// Undercut wall that hangs together, with the distance in plan from its deepest point to the nearest open
  /// lip.
  void places(const std::vector<Index>& overhang, double hold, Pull& p) {
    std::vector<bool> seen(under_.size());
    std::vector<Index> asked(wall_.vertices.size(), none);  // for which start
    std::vector<Index> component;
    Sum total;
    for (const Index start : overhang) {
      if (seen[start]) continue;
      component.assign(1, start);
      seen[start] = true;
      Sum area;
      for (std::size_t i = 0; i < component.size(); ++i) {
        const Index t = component[i];
        area.add(wall_.area[t]);
        for (Index k = 0; k < 3; ++k) {
          const HalfEdge o = wall_.opposite[3 * t + k];
          if (o == none || !under_[o / 3] || seen[o / 3]) continue;
          seen[o / 3] = true;
          component.push_back(o / 3);
        }
      }
      const Deepest deepest = deepest_of(component, asked);
      if (deepest.lip != none && deepest.squared < hold * hold) continue;
      total.add(area.value());
      p.places.push_back(deepest.lip == none ? captive(area.value(), start) : place(area.value(), deepest));
    }
    p.undercut = square_millimetres(total.value());
    std::stable_sort(p.places.begin(), p.places.end(),
                     [](const Undercut& a, const Undercut& b) { return a.depth > b.depth; });
    if (!p.places.empty()) p.depth = p.places[0].depth;
  }

  /// The first of the deepest points among corners and middles of the triangles. A few of them, spread over
  /// the whole, are asked before, so that most of the others are known to be less deep at the first lip near
  /// by.
  Deepest deepest_of(const std::vector<Index>& component, std::vector<Index>& asked) const {
    Deepest deepest;
    const auto ways = ways_.find(wall_.body[component[0]]);
    if (ways == ways_.end()) return deepest;
    if (component.size() > 4 * few_first) {
      Deepest sample;
      for (std::size_t i = 0; i < few_first; ++i)
        ask(ways->second, corner(component[i * component.size() / few_first], 0), sample);
      if (sample.lip != none) deepest.squared = std::nextafter(sample.squared, -1.0);
    }
    for (const Index t : component) {
      for (const Index v : wall_.triangles[t]) {
        if (asked[v] == component[0]) continue;
        asked[v] = component[0];
        ask(ways->second, wall_.vertices[v], deepest);
      }
      ask(ways->second, (corner(t, 0) + corner(t, 1) + corner(t, 2)) / 3, deepest);
    }
    return deepest;
  }

  void ask(const WaysOut& ways, const Vec3& x, Deepest& deepest) const {
    const Vec2 p = plan(x);
    const double height = x.dot(d_);
    if (deepest.last != none && height > lips_[deepest.last].overhang_below &&
        squared(p, lips_[deepest.last]) < deepest.squared)
      return;
    const auto [i, distance] = ways.tree.nearest(
        p, std::numeric_limits<double>::infinity(),
        [&](Index k) { return squared(p, lips_[ways.first + k]); }, height, deepest.squared);
    if (i == none) return;
    deepest.last = ways.first + i;
    if (distance > deepest.squared) deepest = {distance, x, deepest.last, deepest.last};
  }

  double squared(const Vec2& p, const Lip& l) const {
    const Vec2 a = plan(l.a), ab = plan(l.b) - a;
    const double length = ab.squaredNorm();
    const double s = length > 0 ? std::clamp((p - a).dot(ab) / length, 0.0, 1.0) : 0.0;
    return (p - a - s * ab).squaredNorm();
  }

  /// Wall from which nothing leads out: a closed mold, or a surface that passes through itself.
  Undercut captive(double area, Index t) const {
    return {square_millimetres(area), millimetres(wall_.size), corner(t, 0), corner(t, 0), captive_stretch};
  }

  Undercut place(double area, const Deepest& deepest) const {
    const Lip& lip = lips_[deepest.lip];
    const Vec2 p = plan(deepest.at), a = plan(lip.a), ab = plan(lip.b) - a;
    const double length = ab.squaredNorm();
    const double s = length > 0 ? std::clamp((p - a).dot(ab) / length, 0.0, 1.0) : 0.0;
    Undercut u;
    u.area = square_millimetres(area);
    u.depth = millimetres(std::sqrt(deepest.squared));
    u.at = deepest.at;
    u.lip = lip.a + s * (lip.b - lip.a);
    const Vec2 back = a + s * ab - p;
    const double clear = back.squaredNorm() > 0 ? clear_from(u.lip, lip, back.normalized()) : 0;
    u.stretch = clear > 0 ? in_millimetres(u.depth) / (clear / 2) : captive_stretch;
    return u;
  }

  /// How far it is from a lip across the piece to the wall on the other side, level.
  double clear_from(const Vec3& at, const Lip& lip, const Vec2& away) const {
    const double step = ray_step * wall_.size;
    const Vec3 to = away.x() * e1_ + away.y() * e2_;
    // A little along the lip too: from its end the ray would run in the face that bounds it.
    const Vec3 along = (lip.a + lip.b) / 2 - at;
    const Vec3 inward = along.norm() > step ? Vec3(step / along.norm() * along) : along;
    const Vec3 from = at + inward + step * to + (lip.at_mouth ? -step : step) * d_;
    double gone = 0;
    for (int i = 0; i < most_grazed; ++i) {
      const auto hit = scene_.first_exit(from + gone * to, to);
      if (!hit) return 0;
      gone += hit->distance + step;
      if (wall_.normal[hit->triangle].dot(to) > grazing) return gone;
    }
    return 0;
  }

  const Wall& wall_;
  const RayScene& scene_;
  const Mouth& mouth_;
  Vec3 d_, e1_, e2_;
  std::vector<bool> under_;
  std::vector<Lip> lips_;
  std::map<Index, WaysOut> ways_;  ///< by body
};

}  // namespace

Pull pull_along(const Wall& wall, const RayScene& scene, const Mouth& mouth, const Vec3& direction,
                Length hold) {
  Pull p = PullFinder(wall, scene, mouth, direction).run(hold);
  Sum all;
  for (std::size_t t = 0; t < wall.triangles.size(); ++t)
    if (!mouth.is_open[t]) all.add(wall.area[t]);
  p.share = all.value() > 0 ? std::min(1.0, in_square_millimetres(p.undercut) / all.value()) : 0.0;
  return p;
}

}  // namespace pourwright::release

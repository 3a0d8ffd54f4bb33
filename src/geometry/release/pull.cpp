// SPDX-License-Identifier: GPL-3.0-or-later
// One direction of pull. Which wall is undercut is decided triangle by triangle; how deep it lies, in plan.
#include "geometry/mesh/sums.hpp"
#include "geometry/release/plan_tree.hpp"
#include "geometry/release/wall.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace pourwright::release {
namespace {

constexpr double to_degrees = 180 / std::numbers::pi;
/// Crumbs of the surface, and slivers whose direction is only rounding, say nothing about draft.
constexpr double ignored_share = 1e-4;

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
  PullFinder(const Wall& wall, const Mouth& mouth, const Vec3& d)
      : wall_(wall), mouth_(mouth), d_(d), e1_(d.unitOrthogonal()), e2_(d.cross(e1_)) {}

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
    const double above = 1e-6 * wall_.size;
    std::vector<Lip> open;
    for (Lip lip : lips_) {
      const Vec3 middle = (lip.a + lip.b) / 2;
      // Beside the lip, not on it: rounding must not put it under its own overhang.
      const Vec2 p = plan(middle) + 2e-5 * wall_.size * lip.away;
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

  struct Deepest {
    double squared = -1;
    Vec3 at = Vec3::Zero();
    Index lip = none;
  };

  /// Undercut wall that hangs together, with the distance in plan from its deepest point to the nearest open
  /// lip.
  void places(const std::vector<Index>& overhang, double hold, Pull& p) {
    std::vector<Rectangle> boxes;
    boxes.reserve(lips_.size());
    for (const Lip& l : lips_) {
      Rectangle r;
      r.add(plan(l.a));
      r.add(plan(l.b));
      boxes.push_back(r);
    }
    const PlanTree tree(std::move(boxes));
    std::vector<bool> seen(under_.size());
    std::vector<Index> asked(wall_.vertices.size(), none);  // for which start
    std::vector<Index> component;
    Sum total;
    for (const Index start : overhang) {
      if (seen[start]) continue;
      component.assign(1, start);
      seen[start] = true;
      Sum area;
      Deepest deepest;
      for (std::size_t i = 0; i < component.size(); ++i) {
        const Index t = component[i];
        area.add(wall_.area[t]);
        look(tree, t, start, asked, deepest);
        for (Index k = 0; k < 3; ++k) {
          const HalfEdge o = wall_.opposite[3 * t + k];
          if (o == none || !under_[o / 3] || seen[o / 3]) continue;
          seen[o / 3] = true;
          component.push_back(o / 3);
        }
      }
      if (deepest.lip != none && deepest.squared < hold * hold) continue;
      total.add(area.value());
      p.places.push_back(deepest.lip == none ? captive(area.value(), start) : place(area.value(), deepest));
    }
    p.undercut = square_millimetres(total.value());
    std::stable_sort(p.places.begin(), p.places.end(),
                     [](const Undercut& a, const Undercut& b) { return a.depth > b.depth; });
    if (!p.places.empty()) p.depth = p.places[0].depth;
  }

  double squared(const Vec2& p, const Lip& l) const {
    const Vec2 a = plan(l.a), ab = plan(l.b) - a;
    const double length = ab.squaredNorm();
    const double s = length > 0 ? std::clamp((p - a).dot(ab) / length, 0.0, 1.0) : 0.0;
    return (p - a - s * ab).squaredNorm();
  }

  void look(const PlanTree& tree, Index t, Index start, std::vector<Index>& asked, Deepest& deepest) const {
    const Index body = wall_.body[t];
    const auto ask = [&](const Vec3& x) {
      const Vec2 p = plan(x);
      const double height = x.dot(d_);
      const auto [lip, distance] = tree.nearest(p, std::numeric_limits<double>::infinity(), [&](Index i) {
        return height > lips_[i].overhang_below && lips_[i].body == body
                   ? squared(p, lips_[i])
                   : std::numeric_limits<double>::infinity();
      });
      if (lip != none && distance > deepest.squared) deepest = {distance, x, lip};
    };
    for (const Index v : wall_.triangles[t]) {
      if (asked[v] == start) continue;
      asked[v] = start;
      ask(wall_.vertices[v]);
    }
    ask((corner(t, 0) + corner(t, 1) + corner(t, 2)) / 3);
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
    const double clear = back.squaredNorm() > 0 ? clear_from(u.lip, lip.at_mouth, back.normalized()) : 0;
    u.stretch = clear > 0 ? in_millimetres(u.depth) / (clear / 2) : captive_stretch;
    return u;
  }

  /// How far it is from a lip across the piece to the wall on the other side, level. O(n): asked for once a
  /// place.
  double clear_from(const Vec3& lip, bool at_mouth, const Vec2& away) const {
    const double step = 1e-4 * wall_.size;
    const Vec3 to = away.x() * e1_ + away.y() * e2_;
    const Vec3 from = lip + step * to + (at_mouth ? -step : step) * d_;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t t = 0; t < wall_.triangles.size(); ++t) {
      // Rays leave the piece where the wall faces their way; along a wall beside it none does.
      const double facing = wall_.normal[t].dot(to);
      if (!(facing > 0.02)) continue;
      const auto i = static_cast<Index>(t);
      const double far = wall_.normal[t].dot(corner(i, 0) - from) / facing;
      if (far < 0 || far >= least) continue;
      const Vec3 x = from + far * to;
      bool inside = true;
      for (int k = 0; k < 3 && inside; ++k) {
        const Vec3 &a = corner(i, k), &b = corner(i, (k + 1) % 3);
        inside = (b - a).cross(x - a).dot(wall_.normal[t]) >= -1e-7 * wall_.size * wall_.size;
      }
      if (inside) least = far;
    }
    return std::isfinite(least) ? least + step : 0.0;
  }

  const Wall& wall_;
  const Mouth& mouth_;
  Vec3 d_, e1_, e2_;
  std::vector<bool> under_;
  std::vector<Lip> lips_;
};

}  // namespace

Pull pull_along(const Wall& wall, const Mouth& mouth, const Vec3& direction, Length hold) {
  Pull p = PullFinder(wall, mouth, direction).run(hold);
  Sum all;
  for (std::size_t t = 0; t < wall.triangles.size(); ++t)
    if (!mouth.is_open[t]) all.add(wall.area[t]);
  p.share = all.value() > 0 ? std::min(1.0, in_square_millimetres(p.undercut) / all.value()) : 0.0;
  return p;
}

}  // namespace pourwright::release

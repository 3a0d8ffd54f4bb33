// SPDX-License-Identifier: GPL-3.0-or-later
// Creases that end at a hole are paired by how well they point at each other (an assignment over few ends)
// and continued across as cubic curves, which part the hole's border.
#include "geometry/repair/creases.hpp"

#include <cmath>

namespace pourwright::mending {
namespace {

constexpr double sharp_cosine = 0.82;  // 35°
constexpr double along_cosine =
    0.94;                            // 20°: a crease that goes on along the border rather than into the hole
constexpr double aim_cosine = 0.42;  // 65°: how far two ends may point past each other
constexpr std::size_t most_ends = 24;

struct End {
  std::size_t at;  // position on the border
  Vec3 into;       // unit direction in which the crease runs into the hole
  double cosine;   // between the two faces that meet in it
  bool ridge;      // they bend away from the outside
};

struct Pair {
  std::size_t a, b;  // ends
  double cost;
};

class Creases {
 public:
  Creases(const Workpiece& w, const Fans& fans, const BorderLine& line)
      : w_(w), fans_(fans), line_(line), n_(line.vertices.size()) {}

  Parts run() {
    Parts out;
    out.list.push_back(whole());
    find_ends();
    if (ends_.size() < 2 || ends_.size() > most_ends) return out;
    for (const Pair& p : matching()) cut(out, ends_[p.a], ends_[p.b]);
    return out;
  }

 private:
  const Vec3& point(std::size_t i) const { return w_.vertices[line_.vertices[i % n_]]; }

  Parts::Part whole() const {
    Parts::Part part;
    for (Index i = 0; i < n_; ++i) part.corners.push_back(i);
    part.half_edges = line_.half_edges;
    return part;
  }

  /// The sharpest edge that ends at each point of the border.
  void find_ends() {
    for (std::size_t i = 0; i < n_; ++i) {
      const Index v = line_.vertices[i];
      const auto fan = fans_.at(v);
      End best{i, Vec3::Zero(), sharp_cosine, false};
      for (const Index t : fan)
        for (const Index u : fan) {
          if (t == u) continue;
          const Index far = shared(t, u, v);
          if (far == none) continue;
          const Vec3 nt = w_.normal(t).normalized(), nu = w_.normal(u).normalized();
          const double c = nt.dot(nu);
          if (!(c < best.cosine)) continue;
          const Vec3 into = (point(i) - w_.vertices[far]).normalized();
          // t runs v → far, so seen from outside it lies left of that way.
          best = {i, into, c, nt.cross(nu).dot(into) < 0};
        }
      if (best.cosine < sharp_cosine) ends_.push_back(follow_border(best));
    }
    std::stable_sort(ends_.begin(), ends_.end(), [](const End& a, const End& b) { return a.at < b.at; });
    // Two ends that came to one point are a crease that runs along the border all the way: nothing to cut.
    for (std::size_t i = 1; i < ends_.size();)
      if (ends_[i - 1].at == ends_[i].at)
        ends_.erase(ends_.begin() + static_cast<std::ptrdiff_t>(i) - 1,
                    ends_.begin() + static_cast<std::ptrdiff_t>(i) + 1);
      else
        ++i;
  }

  /// The far end of an edge from v that t runs away from v along and u towards it; none when they share no
  /// such edge.
  Index shared(Index t, Index u, Index v) const {
    const auto after = [&](Index tri) {
      const Triangle& c = w_.triangles[tri];
      return c[0] == v ? c[1] : c[1] == v ? c[2] : c[0];
    };
    const auto before = [&](Index tri) {
      const Triangle& c = w_.triangles[tri];
      return c[0] == v ? c[2] : c[1] == v ? c[0] : c[1];
    };
    return after(t) == before(u) ? after(t) : none;
  }

  /// Where the border itself runs on in the crease's direction, one of its two sides is still there.
  End follow_border(End e) const {
    for (const std::size_t step : {std::size_t{1}, n_ - 1}) {
      End moved = e;
      std::size_t steps = 0;
      while (steps < n_) {
        const Vec3 on = (point(moved.at + step) - point(moved.at)).normalized();
        if (!(on.dot(moved.into) > along_cosine)) break;
        moved.at = (moved.at + step) % n_;
        moved.into = on;
        ++steps;
      }
      if (steps > 0) return moved;
    }
    return e;
  }

  std::optional<double> cost(const End& a, const End& b) const {
    const std::size_t apart = (b.at + n_ - a.at) % n_;
    if (a.ridge != b.ridge || apart < 2 || apart > n_ - 2) return std::nullopt;
    const Vec3 across = (point(b.at) - point(a.at)).normalized();
    const double ca = a.into.dot(across), cb = -b.into.dot(across);
    if (!(ca > aim_cosine && cb > aim_cosine)) return std::nullopt;
    return 2 - ca - cb + std::abs(a.cosine - b.cosine);
  }

  /// The best pairs first, as long as they do not cross.
  std::vector<Pair> matching() const {
    std::vector<Pair> all, out;
    for (std::size_t a = 0; a < ends_.size(); ++a)
      for (std::size_t b = a + 1; b < ends_.size(); ++b)
        if (const auto c = cost(ends_[a], ends_[b])) all.push_back({a, b, *c});
    std::stable_sort(all.begin(), all.end(), [](const Pair& x, const Pair& y) { return x.cost < y.cost; });
    for (const Pair& p : all) {
      const auto clash = [&](const Pair& q) {
        const auto within = [&](std::size_t e) {
          return ends_[e].at > ends_[q.a].at && ends_[e].at < ends_[q.b].at;
        };
        return p.a == q.a || p.a == q.b || p.b == q.a || p.b == q.b || within(p.a) != within(p.b);
      };
      if (std::none_of(out.begin(), out.end(), clash)) out.push_back(p);
    }
    return out;
  }

  /// Cuts the part that both ends lie on.
  void cut(Parts& parts, const End& a, const End& b) const {
    for (std::size_t k = 0; k < parts.list.size(); ++k) {
      const std::vector<Index> corners = parts.list[k].corners;
      const std::vector<HalfEdge> edges = parts.list[k].half_edges;
      const auto find = [&](std::size_t at) {
        return static_cast<std::size_t>(std::find(corners.begin(), corners.end(), static_cast<Index>(at)) -
                                        corners.begin());
      };
      const std::size_t i = find(a.at), j = find(b.at), m = corners.size();
      if (i == m || j == m) continue;
      const std::vector<Index> between = curve(parts, a, b);
      const auto stretch = [&](std::size_t from, std::size_t to) {
        Parts::Part part;
        for (std::size_t c = from; c != to; c = (c + 1) % m) {
          part.corners.push_back(corners[c]);
          part.half_edges.push_back(edges[c]);
        }
        part.corners.push_back(corners[to]);
        return part;
      };
      Parts::Part one = stretch(i, j), other = stretch(j, i);
      one.corners.insert(one.corners.end(), between.rbegin(), between.rend());
      other.corners.insert(other.corners.end(), between.begin(), between.end());
      one.half_edges.resize(one.corners.size(), none);
      other.half_edges.resize(other.corners.size(), none);
      parts.list[k] = std::move(one);
      parts.list.push_back(std::move(other));
      return;
    }
  }

  /// New points from a to b.
  std::vector<Index> curve(Parts& parts, const End& a, const End& b) const {
    const Vec3 p = point(a.at), q = point(b.at);
    const double length = (q - p).norm();
    double mean = 0;
    for (std::size_t i = 0; i < n_; ++i) mean += (point(i + 1) - point(i)).norm() / static_cast<double>(n_);
    const int pieces = static_cast<int>(std::clamp(std::round(length / mean), 1.0, 64.0));
    std::vector<Index> out;
    for (int i = 1; i < pieces; ++i) {
      const double s = static_cast<double>(i) / pieces, r = 1 - s;
      const Vec3 straight = p + s * (q - p);
      // Hermite's cubic with tangents as long as the line across.
      const Vec3 on = r * r * (1 + 2 * s) * p + s * s * (1 + 2 * r) * q +
                      length * (s * r * r * a.into + s * s * r * b.into);
      parts.sag = std::max(parts.sag, (on - straight).norm());
      out.push_back(static_cast<Index>(n_ + parts.added.size()));
      parts.added.push_back(on);
    }
    return out;
  }

  const Workpiece& w_;
  const Fans& fans_;
  const BorderLine& line_;
  const std::size_t n_;
  std::vector<End> ends_;
};

}  // namespace

Parts continue_creases(const Workpiece& w, const Fans& fans, const BorderLine& line) {
  return Creases(w, fans, line).run();
}

bool sharp_between(const Workpiece& w, Index t, Index u) {
  return !(w.normal(t).normalized().dot(w.normal(u).normalized()) >= sharp_cosine);
}

}  // namespace pourwright::mending

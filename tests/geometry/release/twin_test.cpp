// SPDX-License-Identifier: GPL-3.0-or-later
// The depth of undercuts by looking at every lip for every point, O(n²), and at every overhang for every lip:
// docs/algorithms/release.md written down once more, without trees and without a frame in plan.
#include "geometry/release/pieces.hpp"

#include <array>
#include <limits>
#include <map>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pieces;

namespace {

class Twin {
 public:
  Twin(const TriangleSoup& s, const Vec3& pull, double opening_height) : s_(s), d_(pull) {
    Vec3 low = s.vertices[0], high = low;
    for (const Vec3& p : s.vertices) {
      low = low.cwiseMin(p);
      high = high.cwiseMax(p);
    }
    size_ = (high - low).norm();
    for (Index t = 0; t < s.triangles.size(); ++t) {
      const bool open = normal(t).dot(d_) > 0.9999 && at(t, 0).dot(d_) > opening_height - 1e-4 * size_;
      open_.push_back(open);
      under_.push_back(!open && normal(t).dot(d_) > std::sin(0.05 * pi / 180));
    }
    for (Index t = 0; t < s.triangles.size(); ++t)
      for (std::size_t k = 0; k < 3; ++k) edges_[{s.triangles[t][k], s.triangles[t][(k + 1) % 3]}] = t;
    bodies();
    find_lips();
  }

  /// Depth and area of each place that holds, the deepest first; depth 0 for a place without a way out.
  std::vector<std::pair<double, double>> places() {
    std::vector<std::pair<double, double>> out;
    std::vector<bool> seen(under_.size());
    for (Index start = 0; start < under_.size(); ++start) {
      if (!under_[start] || seen[start]) continue;
      std::vector<Index> all{start};
      seen[start] = true;
      double area = 0, deepest = -1;
      for (std::size_t i = 0; i < all.size(); ++i) {
        const Index t = all[i];
        area += (at(t, 1) - at(t, 0)).cross(at(t, 2) - at(t, 0)).norm() / 2;
        for (const Vec3& x : {at(t, 0), at(t, 1), at(t, 2), Vec3((at(t, 0) + at(t, 1) + at(t, 2)) / 3)})
          deepest = std::max(deepest, depth(x, body_[t]));
        for (int k = 0; k < 3; ++k) {
          const Index n = beyond(t, k);
          if (!under_[n] || seen[n]) continue;
          seen[n] = true;
          all.push_back(n);
        }
      }
      if (deepest >= 0 && deepest < 0.05) continue;
      out.emplace_back(std::max(deepest, 0.0), area);
    }
    std::sort(out.rbegin(), out.rend());
    return out;
  }

 private:
  struct Lip {
    Vec3 a, b;
    Index body;
    double from;  ///< the highest overhang below it
    bool covered;
  };

  const Vec3& at(Index t, int k) const {
    return s_.vertices[s_.triangles[t][static_cast<std::size_t>(k % 3)]];
  }
  Vec3 normal(Index t) const { return (at(t, 1) - at(t, 0)).cross(at(t, 2) - at(t, 0)).normalized(); }
  Vec3 level(const Vec3& v) const { return v - v.dot(d_) * d_; }
  Index beyond(Index t, int k) const {
    const Triangle& c = s_.triangles[t];
    return edges_.at({c[static_cast<std::size_t>((k + 1) % 3)], c[static_cast<std::size_t>(k)]});
  }

  void bodies() {
    body_.resize(under_.size());
    for (Index t = 0; t < body_.size(); ++t) body_[t] = t;
    for (bool changed = true; changed;) {
      changed = false;
      for (Index t = 0; t < body_.size(); ++t)
        for (int k = 0; k < 3; ++k)
          if (const Index n = beyond(t, k); body_[n] < body_[t]) {
            body_[t] = body_[n];
            changed = true;
          }
    }
  }

  void find_lips() {
    std::vector<Lip> hollow, ridged;
    for (Index t = 0; t < under_.size(); ++t)
      for (int k = 0; k < 3 && under_[t]; ++k) {
        const Index n = beyond(t, k);
        if (under_[n]) continue;
        const Vec3 a = at(t, k), b = at(t, k + 1);
        int third = 0;
        while ((at(n, third) - a).norm() == 0 || (at(n, third) - b).norm() == 0) ++third;
        const bool is_hollow = open_[n] || normal(t).dot(at(n, third) - a) > 0;
        // Beside the lip, away from its own overhang.
        Vec3 away = level(b - a).cross(d_);
        if (away.dot(level(at(t, k + 2) - a)) > 0) away = -away;
        (is_hollow ? hollow : ridged).push_back(lip(a, b, body_[t], away.normalized()));
      }
    const std::vector<Lip>& all = hollow.empty() ? ridged : hollow;
    for (const Lip& l : all)
      if (!l.covered) lips_.push_back(l);
    if (lips_.empty())
      for (Lip l : all) {
        l.from = -std::numeric_limits<double>::infinity();
        lips_.push_back(l);
      }
  }

  Lip lip(const Vec3& a, const Vec3& b, Index body, const Vec3& away) const {
    const Vec3 p = (a + b) / 2 + 2e-5 * size_ * away;
    const double height = ((a + b) / 2).dot(d_), slack = 1e-6 * size_;
    Lip lip{a, b, body, -std::numeric_limits<double>::infinity(), false};
    for (Index t = 0; t < under_.size(); ++t) {
      if (!under_[t]) continue;
      // Where the line through p along the pull meets the triangle.
      const double h = p.dot(d_) + normal(t).dot(at(t, 0) - p) / normal(t).dot(d_);
      const Vec3 x = p + (h - p.dot(d_)) * d_;
      bool inside = true;
      for (int k = 0; k < 3; ++k)
        inside = inside && (at(t, k + 1) - at(t, k)).cross(x - at(t, k)).dot(normal(t)) >= 0;
      if (!inside) continue;
      lip.covered = lip.covered || h > height + slack;
      if (h < height - slack) lip.from = std::max(lip.from, h + slack);
    }
    return lip;
  }

  double depth(const Vec3& x, Index body) const {
    double least = std::numeric_limits<double>::infinity();
    for (const Lip& l : lips_) {
      if (l.body != body || !(x.dot(d_) > l.from)) continue;
      const Vec3 a = level(l.a - x), along = level(l.b - l.a);
      const double length = along.squaredNorm();
      const double s = length > 0 ? std::clamp(-a.dot(along) / length, 0.0, 1.0) : 0.0;
      least = std::min(least, (a + s * along).norm());
    }
    return std::isfinite(least) ? least : -1;
  }

  const TriangleSoup& s_;
  Vec3 d_;
  double size_ = 0;
  std::vector<bool> open_, under_;
  std::vector<Index> body_;
  std::map<std::array<Index, 2>, Index> edges_;
  std::vector<Lip> lips_;
};

void compare(const TriangleSoup& s, const Vec3& pull, double opening_height) {
  ReleaseOptions o;
  o.search = o.part = false;
  o.out = pull;
  o.levels = {millimetres(opening_height)};
  const Release r = release_of(s, o);
  const auto twin = Twin(s, pull, opening_height).places();
  REQUIRE(r.pull.places.size() == twin.size());
  std::vector<std::pair<double, double>> ours;
  for (const Undercut& u : r.pull.places)
    ours.emplace_back(
        u.stretch > 999 && in_millimetres(u.depth) > 0 && u.at == u.lip ? 0.0 : in_millimetres(u.depth),
        mm2(u.area));
  std::sort(ours.rbegin(), ours.rend());
  for (std::size_t i = 0; i < twin.size(); ++i) {
    CAPTURE(i);
    CHECK(ours[i].first == doctest::Approx(twin[i].first).epsilon(1e-9));
    CHECK(ours[i].second == doctest::Approx(twin[i].second).epsilon(1e-9));
  }
}

}  // namespace

TEST_CASE("undercuts of turned bodies with ledges, and several of them, are those of the long way round") {
  std::mt19937 random(29);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0; };
  for (int i = 0; i < 24; ++i) {
    CAPTURE(i);
    std::vector<TriangleSoup> parts;
    for (int part = 0; part < 1 + i % 3; ++part) {
      std::vector<Station> profile{{0, 0}};
      double z = 0;
      for (int k = 0; k < 5; ++k) profile.push_back({4 + 12 * unit(), z += 2 + 5 * unit()});
      for (Station& p : profile) p.z *= 30 / z;
      profile.push_back({0, 30});
      const double x = 40 * part;
      parts.push_back(
          moved(revolve(profile, 9 + i % 5), [&](const Vec3& p) { return Vec3(p + Vec3(x, 0, 0)); }));
    }
    const Eigen::Quaterniond q =
        Eigen::Quaterniond(unit() + 0.1, unit() - 0.5, unit() - 0.5, unit() - 0.5).normalized();
    const TriangleSoup s = moved(joined(parts), [&](const Vec3& p) { return Vec3(q * p); });
    compare(s, q * Vec3::UnitZ(), 30);
  }
}

TEST_CASE("undercuts of a bumpy ring, lying and leaning, are those of the long way round") {
  const auto ring = [](std::uint32_t major, std::uint32_t minor, double bump) {
    TriangleSoup s;
    for (std::uint32_t i = 0; i < major; ++i)
      for (std::uint32_t j = 0; j < minor; ++j) {
        const double u = 2 * pi * i / major, v = 2 * pi * j / minor;
        const double r =
            20 + bump * (1.5 * std::sin(7 * u) * std::cos(3 * v) + 0.6 * std::sin(23 * u + 11 * v));
        const double x = 60 + r * std::cos(v);
        s.vertices.emplace_back(x * std::cos(u), x * std::sin(u), r * std::sin(v));
      }
    for (std::uint32_t i = 0; i < major; ++i)
      for (std::uint32_t j = 0; j < minor; ++j) {
        const std::uint32_t i1 = (i + 1) % major, j1 = (j + 1) % minor;
        s.triangles.push_back({i * minor + j, i1 * minor + j, i1 * minor + j1});
        s.triangles.push_back({i * minor + j, i1 * minor + j1, i * minor + j1});
      }
    return s;
  };
  for (const double bump : {1.0, 3.0})
    for (const Vec3& pull : {Vec3(0, 0, 1), Vec3(0.3, -0.2, 0.9), Vec3(1, 0.1, 0.05)})
      compare(ring(64, 32, bump), pull.normalized(), 1000);
}

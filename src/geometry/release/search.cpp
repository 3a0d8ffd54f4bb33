// SPDX-License-Identifier: GPL-3.0-or-later
// The best direction of pull. What a direction leaves undercut depends on the normals alone, so triangles
// that face the same way are one entry of a table; then candidates, then steps downhill from the best of
// them.
#include "geometry/release/wall.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <tuple>

namespace pourwright::release {
namespace {

constexpr double degree = std::numbers::pi / 180;
constexpr std::size_t most_entries = 8'000;

struct Entry {
  Vec3 normal;
  double area;
};

/// Wall by where it faces, the largest first.
std::vector<Entry> table(const Wall& wall, const Mouth& mouth, double& slack) {
  for (const double cell : {1e-4, 4e-3, 2e-2, 5e-2}) {
    std::map<std::tuple<long, long, long>, Vec3> cells;
    slack = cell == 1e-4 ? 0 : cell;
    for (std::size_t t = 0; t < wall.triangles.size() && cells.size() <= most_entries; ++t) {
      if (mouth.is_open[t] || !(wall.area[t] > 0)) continue;
      const Vec3& n = wall.normal[t];
      const auto at = [&](int k) { return std::lround(n[k] / cell); };
      cells.try_emplace({at(0), at(1), at(2)}, Vec3(Vec3::Zero())).first->second += wall.area[t] * n;
    }
    if (cells.size() > most_entries && cell < 5e-2) continue;
    std::vector<Entry> out;
    out.reserve(cells.size());
    for (const auto& [key, sum] : cells)
      if (sum.norm() > 0) out.push_back({sum.normalized(), sum.norm()});
    std::stable_sort(out.begin(), out.end(), [](const Entry& a, const Entry& b) { return a.area > b.area; });
    return out;
  }
  return {};
}

/// Less is better: undercut area, then how much of it shows along the pull, then the draft that is wanting.
struct Score {
  double area = 0, seen = 0, want = 0;
};

class Search {
 public:
  Search(const Wall& wall, const Mouth& mouth, const Vec3& out) : out_(out) {
    entries_ = table(wall, mouth, slack_);
    for (const Entry& e : entries_) total_ += e.area;
  }

  Vec3 run() const {
    if (entries_.empty()) return out_;
    const Score standing = score(out_);
    std::vector<std::pair<Score, Vec3>> tries;
    for (const Vec3& d : candidates()) tries.emplace_back(score(d), d);
    std::stable_sort(tries.begin(), tries.end(),
                     [&](const auto& a, const auto& b) { return better(a.first, b.first); });
    if (tries.size() > 8) tries.resize(8);
    Vec3 best = out_;
    Score least = standing;
    for (const auto& [s, d] : tries) {
      const auto [there, at] = downhill(s, d);
      if (better(there, least)) {
        least = there;
        best = at;
      }
    }
    // Another direction must be worth the trouble.
    const bool less_undercut = least.area < standing.area - 1e-4 * total_;
    const bool more_draft =
        least.area <= standing.area && least.want < standing.want - std::sin(0.5 * degree);
    return less_undercut || more_draft ? best : out_;
  }

 private:
  Score score(const Vec3& d) const {
    const double limit = std::sin(level_radians) + slack_;
    Score s;
    double steepest = -1;
    for (const Entry& e : entries_) {
      const double facing = e.normal.dot(d);
      if (e.area > 1e-5 * total_) steepest = std::max(steepest, facing);
      if (facing <= limit) continue;
      s.area += e.area;
      s.seen += e.area * facing;
    }
    s.want = steepest;
    return s;
  }

  bool better(const Score& a, const Score& b) const {
    const double same = 1e-9 * total_;
    if (std::abs(a.area - b.area) > same) return a.area < b.area;
    if (std::abs(a.seen - b.seen) > same) return a.seen < b.seen;
    return a.want < b.want - 1e-12;
  }

  bool allowed(const Vec3& d) const { return d.dot(out_) >= 0.5 - 1e-12; }

  /// An even cover of the cone of 60°, and the directions along two of the largest faces at once: where a
  /// cavity has walls without draft nothing else will do.
  std::vector<Vec3> candidates() const {
    std::vector<Vec3> out{out_};
    const Vec3 e1 = out_.unitOrthogonal(), e2 = out_.cross(e1);
    constexpr int count = 1'200;
    for (int i = 0; i < count; ++i) {
      const double z = 1 - 0.5 * (i + 0.5) / count, r = std::sqrt(1 - z * z);
      const double turn = i * std::numbers::pi * (3 - std::sqrt(5.0));
      out.push_back(z * out_ + r * (std::cos(turn) * e1 + std::sin(turn) * e2));
    }
    const std::size_t large = std::min<std::size_t>(entries_.size(), 24);
    for (std::size_t i = 0; i < large; ++i)
      for (std::size_t j = i + 1; j < large; ++j) {
        const Vec3 along = entries_[i].normal.cross(entries_[j].normal);
        if (along.norm() < 1e-3) continue;
        const Vec3 d = along.normalized();
        for (const double sign : {1.0, -1.0})
          if (allowed(sign * d)) out.push_back(sign * d);
      }
    return out;
  }

  std::pair<Score, Vec3> downhill(Score s, Vec3 d) const {
    for (double step = 2 * degree; step > 0.01 * degree; step /= 2) {
      for (bool moved = true; moved;) {
        moved = false;
        const Vec3 e1 = d.unitOrthogonal(), e2 = d.cross(e1);
        for (int k = 0; k < 6; ++k) {
          const double turn = k * std::numbers::pi / 3;
          const Vec3 there = (d + std::tan(step) * (std::cos(turn) * e1 + std::sin(turn) * e2)).normalized();
          if (!allowed(there)) continue;
          const Score now = score(there);
          if (!better(now, s)) continue;
          s = now;
          d = there;
          moved = true;
          break;
        }
      }
    }
    return {s, d};
  }

  Vec3 out_;
  std::vector<Entry> entries_;
  double total_ = 0, slack_ = 0;
};

}  // namespace

Vec3 search_pull(const Wall& wall, const Mouth& mouth, const Vec3& out) {
  return Search(wall, mouth, out).run();
}

}  // namespace pourwright::release

// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/cavity/span_grid.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace pourwright {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

struct Crossing {
  Index column;
  int sign;
  double z;
};

/// Columns first: there are few crossings in each. Where two surfaces touch at one height, the one that ends
/// the material comes first: no void between them.
void sort_by_column(std::vector<Crossing>& crossings, std::size_t columns) {
  std::vector<Index> end(columns + 1, 0);
  for (const Crossing& c : crossings) ++end[c.column + 1];
  std::partial_sum(end.begin(), end.end(), end.begin());
  std::vector<Crossing> sorted(crossings.size());
  std::vector<Index> next = end;
  for (const Crossing& c : crossings) sorted[next[c.column]++] = c;
  for (std::size_t c = 0; c < columns; ++c)
    std::sort(sorted.begin() + end[c], sorted.begin() + end[c + 1], [](const Crossing& a, const Crossing& b) {
      return std::tuple(a.z, a.sign) < std::tuple(b.z, b.sign);
    });
  crossings = std::move(sorted);
}

}  // namespace

SpanGrid::SpanGrid(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, const Box& box,
                   bool open, int columns, double least_gap)
    : open_(open) {
  const Vec3 size = box.size();
  pitch_ = std::max(std::max(size.x(), size.y()) / columns, 1e-9);
  // A ring of empty columns round the mesh, and a shift that no model's own grid shares.
  nx_ = static_cast<int>(std::ceil(size.x() / pitch_)) + 3;
  ny_ = static_cast<int>(std::ceil(size.y() / pitch_)) + 3;
  x0_ = box.low.x() - (1 + (std::sqrt(5.0) - 2)) * pitch_;
  y0_ = box.low.y() - (1 + (std::sqrt(2.0) - 1)) * pitch_;
  bottom_ = box.low.z();
  top_ = box.high.z();
  collect(vertices, triangles, least_gap);
  join();
}

/// Every column that the triangle crosses, with the sign of its facing and the height. The columns stand in
/// rows, so those under its box are known without looking for them. A column well inside or outside all three
/// edges is told by sums whose error is bounded; the others by the exact rule.
template <class Visit>
void SpanGrid::cross(const Vec3& a, const Vec3& b, const Vec3& c, Visit&& visit) const {
  const double x_low = std::min({a.x(), b.x(), c.x()}), x_high = std::max({a.x(), b.x(), c.x()});
  const double y_low = std::min({a.y(), b.y(), c.y()}), y_high = std::max({a.y(), b.y(), c.y()});
  // A column more on either side, lest rounding leaves one out.
  const auto first = [&](double v, double zero) {
    return std::max(0, static_cast<int>(std::floor((v - zero) / pitch_ - 0.5)));
  };
  const auto last = [&](double v, double zero, int n) {
    return std::min(n - 1, static_cast<int>(std::ceil((v - zero) / pitch_ - 0.5)));
  };
  const int i0 = first(x_low, x0_), i1 = last(x_high, x0_, nx_), j0 = first(y_low, y0_),
            j1 = last(y_high, y0_, ny_);
  if (i0 > i1 || j0 > j1) return;
  const int sign = plan_orientation(a, b, c);
  if (sign == 0) return;
  const Vec3 n = (b - a).cross(c - a);
  const double margin = 1e-290 + 1e-15 * (x_high - x_low + 4 * pitch_) * (y_high - y_low + 4 * pitch_);
  const auto side = [](const Vec3& p, const Vec3& q, double x, double y) {
    return (q.x() - p.x()) * (y - p.y()) - (q.y() - p.y()) * (x - p.x());
  };
  for (int j = j0; j <= j1; ++j)
    for (int i = i0; i <= i1; ++i) {
      const Vec3 at = place(i, j);
      const double least =
          sign * (sign > 0 ? std::min({side(a, b, at.x(), at.y()), side(b, c, at.x(), at.y()),
                                       side(c, a, at.x(), at.y())})
                           : std::max({side(a, b, at.x(), at.y()), side(b, c, at.x(), at.y()),
                                       side(c, a, at.x(), at.y())}));
      if (least < -margin) continue;
      if (!(least > margin) && !crosses(a, b, c, sign, {at, at})) continue;
      visit(static_cast<Index>(column(i, j)), sign,
            a.z() - (n.x() * (at.x() - a.x()) + n.y() * (at.y() - a.y())) / n.z());
    }
}

void SpanGrid::collect(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                       double least_gap) {
  const std::size_t columns = static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_);
  std::vector<Crossing> crossings;
  for (const Triangle& t : triangles)
    cross(vertices[t[0]], vertices[t[1]], vertices[t[2]], [&](Index c, int sign, double z) {
      crossings.push_back({c, sign, z});
    });
  sort_by_column(crossings, columns);
  first_.assign(columns + 1, 0);
  std::size_t k = 0;
  for (Index c = 0; c < columns; ++c) {
    first_[c] = static_cast<Index>(spans_.size());
    const std::size_t begin = k;
    while (k < crossings.size() && crossings[k].column == c) ++k;
    const std::span<const Crossing> hits(crossings.data() + begin, k - begin);
    int depth = 0;
    bool clean = !open_;
    for (const Crossing& h : hits) {
      depth -= h.sign;  // a face that looks down starts material
      clean &= depth >= 0;
    }
    clean &= depth == 0;
    const auto add = [&](double low, double high) {
      if (high - low <= least_gap && std::isfinite(high - low)) return;
      spans_.push_back({low, high});
      column_of_.push_back(c);
    };
    if (clean) {
      double low = -infinite;
      depth = 0;
      for (const Crossing& h : hits) {
        if (depth == 0 && h.sign < 0) add(low, h.z);
        depth -= h.sign;
        if (depth == 0) low = h.z;
      }
      add(low, infinite);
    } else {
      // Signs only: void from a face that looks up to the next that looks down.
      for (std::size_t h = 0; h < hits.size(); ++h) {
        if (hits[h].sign < 0) continue;
        const bool last = h + 1 == hits.size();
        if (last || hits[h + 1].sign < 0) add(hits[h].z, last ? infinite : hits[h + 1].z);
      }
      if (hits.empty()) add(-infinite, infinite);
    }
  }
  first_.back() = static_cast<Index>(spans_.size());
}

void SpanGrid::join() {
  const auto n = static_cast<Index>(spans_.size());
  DisjointSets sets(n);
  std::vector<char> done(n), out(n);  // `out` by set root
  // What begins below everything is outside, one set from the start.
  std::vector<std::pair<double, Index>> order;
  Index outside_of_all = none;
  for (Index s = 0; s < n; ++s)
    if (spans_[s].low > -infinite) {
      order.emplace_back(spans_[s].low, s);
    } else {
      done[s] = true;
      if (outside_of_all == none) outside_of_all = s;
      sets.unite(outside_of_all, s);
    }
  if (outside_of_all != none) out[outside_of_all] = true;
  std::sort(order.begin(), order.end());
  // Members of a set that is a pool: a ring of spans through its root.
  std::vector<Index> next(n);
  std::iota(next.begin(), next.end(), Index{0});
  pool_of_.assign(n, none);
  const auto close = [&](Index root, double brim) {
    GridPool p;
    p.brim = brim;
    p.floor = infinite;
    double depth = 0;
    Index s = root;
    do {
      p.floor = std::min(p.floor, spans_[s].low);
      depth += std::min(spans_[s].high, brim) - spans_[s].low;
      s = next[s];
    } while (s != root);
    p.volume = depth * pitch_ * pitch_;
    if (p.volume > 0) {
      do {
        pool_of_[s] = static_cast<Index>(pools_.size());
        s = next[s];
      } while (s != root);
      pools_.push_back(p);
    }
  };
  for (const auto& [low, s] : order) {
    done[s] = true;
    Index mine = s;
    const auto c = column_of_[s];
    const int i = static_cast<int>(c % static_cast<Index>(nx_)),
              j = static_cast<int>(c / static_cast<Index>(nx_));
    const int step[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    for (const auto& d : step) {
      const int x = i + d[0], y = j + d[1];
      if (x < 0 || y < 0 || x >= nx_ || y >= ny_) continue;
      for (Index t = first_[column(x, y)]; t < first_[column(x, y) + 1]; ++t) {
        if (!done[t] || spans_[t].high <= spans_[s].low) continue;
        const Index a = sets.find(mine), b = sets.find(t);
        if (a == b) continue;
        const bool outside = out[a] || out[b];
        if (outside) {
          if (!out[a]) close(a, spans_[s].low);
          if (!out[b]) close(b, spans_[s].low);
        }
        sets.unite(a, b);
        mine = sets.find(a);
        const Index gone = mine == a ? b : a;
        out[mine] = outside;
        if (!outside) std::swap(next[mine], next[gone]);
      }
    }
  }
}

std::optional<GridPool> SpanGrid::pool_at(const Vec3& p) const {
  const int i = static_cast<int>((p.x() - x0_) / pitch_), j = static_cast<int>((p.y() - y0_) / pitch_);
  std::optional<GridPool> best;
  // The point may stand in a column whose own line passes beside a wall; its neighbours serve as well.
  for (int dx = -1; dx <= 1; ++dx)
    for (int dy = -1; dy <= 1; ++dy) {
      const int x = i + dx, y = j + dy;
      if (x < 0 || y < 0 || x >= nx_ || y >= ny_) continue;
      for (Index s = first_[column(x, y)]; s < first_[column(x, y) + 1]; ++s) {
        if (pool_of_[s] == none || spans_[s].low > p.z() + 2 * pitch_ || spans_[s].high < p.z() - 2 * pitch_)
          continue;
        const GridPool& pool = pools_[pool_of_[s]];
        if (!best || pool.volume > best->volume) best = pool;
      }
    }
  return best;
}

std::vector<EnclosedRegion> SpanGrid::enclosed(int levels) const {
  // Sections level by level: void cells not connected to the rim of the grid, joined with the sections below
  // through the spans they share.
  struct Section {
    double z, area;
    Vec3 at;
  };
  const std::size_t cells = static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_);
  std::vector<Section> sections;
  std::vector<std::pair<Index, Index>> links;
  std::vector<Index> label(cells), below(cells, none), span_here(cells), span_below(cells, none), stack;
  const double dz = (top_ - bottom_) / levels;
  for (int k = 0; k < levels; ++k) {
    const double z = bottom_ + (k + 0.5) * dz;
    for (std::size_t c = 0; c < cells; ++c) {
      span_here[c] = none;
      for (Index s = first_[c]; s < first_[c + 1]; ++s)
        if (spans_[s].low < z && z < spans_[s].high) span_here[c] = s;
      label[c] = none;
    }
    constexpr Index outer = none - 1;
    const auto flood = [&](std::size_t seed, Index name) {
      std::size_t count = 0;
      double sx = 0, sy = 0;
      stack.assign(1, static_cast<Index>(seed));
      label[seed] = name;
      while (!stack.empty()) {
        const Index c = stack.back();
        stack.pop_back();
        const int i = static_cast<int>(c % static_cast<Index>(nx_)),
                  j = static_cast<int>(c / static_cast<Index>(nx_));
        ++count;
        sx += place(i, j).x();
        sy += place(i, j).y();
        const auto visit = [&](int x, int y) {
          if (x < 0 || y < 0 || x >= nx_ || y >= ny_) return;
          const std::size_t d = column(x, y);
          if (span_here[d] == none || label[d] != none) return;
          label[d] = name;
          stack.push_back(static_cast<Index>(d));
        };
        visit(i + 1, j);
        visit(i - 1, j);
        visit(i, j + 1);
        visit(i, j - 1);
      }
      const auto m = static_cast<double>(count);
      return Section{z, m * pitch_ * pitch_, Vec3(sx / m, sy / m, z)};
    };
    if (span_here[0] != none) flood(0, outer);
    for (std::size_t c = 0; c < cells; ++c)
      if (span_here[c] != none && label[c] == none) {
        const auto name = static_cast<Index>(sections.size());
        sections.push_back(flood(c, name));
      }
    for (std::size_t c = 0; c < cells; ++c) {
      const bool here = label[c] != none && label[c] != outer, under = below[c] != none && below[c] != outer;
      if (here && under && span_here[c] == span_below[c]) links.emplace_back(label[c], below[c]);
    }
    std::swap(label, below);
    std::swap(span_here, span_below);
  }
  DisjointSets sets(sections.size());
  for (const auto& [a, b] : links) sets.unite(a, b);
  std::vector<Index> region(sections.size(), none);
  std::vector<EnclosedRegion> out;
  std::vector<double> widest_z;
  for (Index s = 0; s < sections.size(); ++s) {
    const Index r = sets.find(s);
    if (region[r] == none) {
      region[r] = static_cast<Index>(out.size());
      out.push_back(
          {sections[s].z, sections[s].z, 0, 0, infinite, 0, Vec3::Zero(), sections[s].area, sections[s].at});
      widest_z.push_back(0);
    }
    EnclosedRegion& e = out[region[r]];
    e.low = std::min(e.low, sections[s].z - dz / 2);
    e.high = std::max(e.high, sections[s].z + dz / 2);
    e.volume += sections[s].area * dz;
    if (sections[s].area > e.widest) {
      e.widest = sections[s].area;
      widest_z[region[r]] = sections[s].z;
    }
  }
  for (Index s = 0; s < sections.size(); ++s) {
    const Index r = region[sets.find(s)];
    if (sections[s].z < widest_z[r] && sections[s].area < out[r].throat) {
      out[r].throat = sections[s].area;
      out[r].throat_z = sections[s].z;
      out[r].throat_at = sections[s].at;
    }
  }
  return out;
}

}  // namespace pourwright

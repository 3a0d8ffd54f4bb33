// SPDX-License-Identifier: GPL-3.0-or-later
// Void as spans of columns, joined from the bottom up. Which triangles a column crosses is decided by exact
// signs; nothing is known of edges or links, so that its errors are not those of the join tree.
#include "geometry/cavity/span_grid.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/spread_sort.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <span>

namespace pourwright {
namespace {

/// However many layers, this many columns stay: with fewer the ring round the mesh would be most of the grid.
constexpr double fewest_columns = 16;
constexpr double infinite = std::numeric_limits<double>::infinity();

/// Where a column meets the surface; `sign` is positive where that looks up.
struct Crossing {
  double z;
  Index column;
  int sign;
};

/// Where two surfaces touch at one height, the one that ends the material comes first: no void between them.
bool comes_first(const Crossing& a, const Crossing& b) {
  return a.z < b.z || (a.z == b.z && a.sign < b.sign);
}

/// Of every triangle seen from above, whichever way it faces.
double plan_area(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles) {
  double sum = 0;
  for (const Triangle& t : triangles) {
    const Vec3 u = vertices[t[1]] - vertices[t[0]], v = vertices[t[2]] - vertices[t[0]];
    sum += std::abs(u.x() * v.y() - u.y() * v.x());
  }
  return sum / 2;
}

/// By column, each column's from the bottom up; `end[c]` is where those of column c end. There are few in
/// each.
std::vector<Crossing> sort_by_column(std::span<const Crossing> crossings, std::size_t columns,
                                     std::vector<Index>& end) {
  end.assign(columns + 1, 0);
  for (const Crossing& c : crossings) ++end[c.column + 1];
  std::partial_sum(end.begin(), end.end(), end.begin());
  std::vector<Crossing> sorted(crossings.size());
  for (const Crossing& c : crossings) sorted[end[c.column]++] = c;
  Index begin = 0;
  for (std::size_t c = 0; c < columns; ++c) {
    if (end[c] - begin == 2) {
      if (comes_first(sorted[begin + 1], sorted[begin])) std::swap(sorted[begin], sorted[begin + 1]);
    } else if (end[c] - begin > 2) {
      std::sort(sorted.begin() + begin, sorted.begin() + end[c], comes_first);
    }
    begin = end[c];
  }
  return sorted;
}

}  // namespace

SpanGrid::SpanGrid(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles, const Box& box,
                   bool open, int columns, double least_gap, double most_crossings)
    : open_(open) {
  const Vec3 size = box.size();
  const double longer = std::max(size.x(), size.y());
  pitch_ = std::max(longer / columns, std::numeric_limits<double>::min());
  // A column for every pitch² of plan area crosses the surface once.
  const double least = std::sqrt(plan_area(vertices, triangles) / most_crossings);
  coarsened_ = pitch_ < least;
  if (coarsened_) pitch_ = std::min(least, longer / fewest_columns);
  // A ring of empty columns round the mesh, and a shift that no model's own grid shares.
  nx_ = static_cast<int>(std::ceil(size.x() / pitch_)) + 3;
  ny_ = static_cast<int>(std::ceil(size.y() / pitch_)) + 3;
  x0_ = box.low.x() - (1 + (std::sqrt(5.0) - 2)) * pitch_;
  y0_ = box.low.y() - (1 + (std::sqrt(2.0) - 1)) * pitch_;
  slack_ = 1e-9 + 1e-15 * std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff()) / pitch_;
  bottom_ = box.low.z();
  top_ = box.high.z();
  collect(vertices, triangles, least_gap);
  join();
}

/// Where the triangles cross the columns. The columns stand in rows, so those under a triangle's box are
/// known without looking for them. A column well inside or outside all three edges is told by sums whose
/// error is bounded; the others by the exact rule.
class SpanGrid::Crossings {
 public:
  explicit Crossings(const SpanGrid& grid)
      : nx_(grid.nx_), ny_(grid.ny_), pitch_(grid.pitch_), x0_(grid.x0_), y0_(grid.y0_), slack_(grid.slack_) {
    for (int i = 0; i < nx_; ++i) x_.push_back(grid.place(i, 0).x());
    for (int j = 0; j < ny_; ++j) y_.push_back(grid.place(0, j).y());
    list_.resize(x_.size() * y_.size());
  }

  // Corners by value: what is written while they are in use cannot be taken for them.
  void add(const Vec3 a, const Vec3 b, const Vec3 c) {
    const double x_low = std::min({a.x(), b.x(), c.x()}), x_high = std::max({a.x(), b.x(), c.x()});
    const double y_low = std::min({a.y(), b.y(), c.y()}), y_high = std::max({a.y(), b.y(), c.y()});
    const int i0 = first(x_low, x0_), i1 = last(x_high, x0_, nx_), j0 = first(y_low, y0_),
              j1 = last(y_high, y0_, ny_);
    if (i0 > i1 || j0 > j1) return;
    const int sign = plan_orientation(a, b, c);
    if (sign == 0) return;
    const Vec3 n = (b - a).cross(c - a);
    const double margin = 1e-290 + 1e-15 * (x_high - x_low + 4 * pitch_) * (y_high - y_low + 4 * pitch_);
    // Round the triangle with its inside on the left.
    const Vec3 q = sign > 0 ? b : c, r = sign > 0 ? c : b;
    const double aq_x = q.x() - a.x(), aq_y = q.y() - a.y(), qr_x = r.x() - q.x(), qr_y = r.y() - q.y(),
                 ra_x = a.x() - r.x(), ra_y = a.y() - r.y();
    const auto wide = static_cast<std::size_t>(i1 - i0 + 1);
    const double* const xs = x_.data();
    for (int j = j0; j <= j1; ++j) {
      const double y = y_[static_cast<std::size_t>(j)];
      const double aq = aq_x * (y - a.y()), qr = qr_x * (y - q.y()), ra = ra_x * (y - r.y());
      if (list_.size() - size_ < wide) list_.resize(list_.size() + list_.size() / 2 + wide);
      Crossing* to = list_.data() + size_;
      for (int i = i0; i <= i1; ++i) {
        const double x = xs[i];
        const double least =
            std::min(std::min(aq - aq_y * (x - a.x()), qr - qr_y * (x - q.x())), ra - ra_y * (x - r.x()));
        bool inside = least > 0;
        if (std::abs(least) <= margin) {
          const Vec3 at(x, y, 0);
          inside = crosses(a, b, c, sign, {at, at});
        }
        // Written in any case and kept or not: which it will be cannot be foreseen.
        *to = {a.z() - (n.x() * (x - a.x()) + n.y() * (y - a.y())) / n.z(), static_cast<Index>(j * nx_ + i),
               sign};
        to += inside ? 1 : 0;
      }
      size_ = static_cast<std::size_t>(to - list_.data());
    }
  }

  std::span<const Crossing> all() const { return {list_.data(), size_}; }

 private:
  // Widened by what rounding may hide.
  int first(double v, double zero) const {
    return static_cast<int>(std::max((v - zero) / pitch_ + 0.5 - slack_, 0.0));
  }
  int last(double v, double zero, int n) const {
    return static_cast<int>(std::min((v - zero) / pitch_ - 0.5 + slack_, n - 1.0));
  }

  int nx_, ny_;
  double pitch_, x0_, y0_, slack_;
  std::vector<double> x_, y_;   // of columns and rows
  std::vector<Crossing> list_;  // the first `size_` count
  std::size_t size_ = 0;
};

void SpanGrid::collect(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                       double least_gap) {
  const std::size_t columns = static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_);
  Crossings crossings(*this);
  for (const Triangle& t : triangles) crossings.add(vertices[t[0]], vertices[t[1]], vertices[t[2]]);
  std::vector<Index> end;
  const std::vector<Crossing> all = sort_by_column(crossings.all(), columns, end);
  columns_.resize(columns + 1);
  spans_.reserve(all.size() / 2 + 1);
  for (Index c = 0; c < columns; ++c) {
    columns_[c] = {-infinite, static_cast<Index>(spans_.size())};
    const Index begin = c == 0 ? 0 : end[c - 1];
    const std::span<const Crossing> hits(all.data() + begin, end[c] - begin);
    int depth = 0;
    bool clean = !open_;
    for (const Crossing& h : hits) {
      depth -= h.sign;  // a face that looks down starts material
      clean &= depth >= 0;
    }
    clean &= depth == 0;
    const auto add = [&](double low, double high) {
      if (low == -infinite)
        columns_[c].bottomless_to = high;
      else if (!(high - low <= least_gap))
        spans_.push_back({low, high});
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
  columns_.back().first = static_cast<Index>(spans_.size());
}

void SpanGrid::join() {
  const auto n = static_cast<Index>(spans_.size());
  DisjointSets sets(n);
  std::vector<char> out(n);  // by set root: joined to a span without a bottom
  std::vector<std::pair<double, Index>> order(n);
  std::vector<Index> column_of(n);
  for (Index c = 0; c + 1 < columns_.size(); ++c)
    for (Index s = columns_[c].first; s < columns_[c + 1].first; ++s) {
      order[s] = {spans_[s].low, s};
      column_of[s] = c;
    }
  sort_spread(order, bottom_, top_);
  // Members of a set that is a pool: a ring of spans through its root.
  std::vector<Index> next(n);
  std::iota(next.begin(), next.end(), Index{0});
  pool_of_.assign(n, none);
  const auto close = [&](Index root, double brim) {
    GridPool p;
    p.brim = brim;
    double depth = 0;
    Index s = root, lowest = root;
    do {
      if (spans_[s].low < spans_[lowest].low) lowest = s;
      depth += std::min(spans_[s].high, brim) - spans_[s].low;
      s = next[s];
    } while (s != root);
    p.floor = spans_[lowest].low;
    p.at = place(static_cast<int>(column_of[lowest] % static_cast<Index>(nx_)),
                 static_cast<int>(column_of[lowest] / static_cast<Index>(nx_)));
    p.at.z() = p.floor;
    p.volume = depth * pitch_ * pitch_;
    if (p.volume > 0) {
      do {
        pool_of_[s] = static_cast<Index>(pools_.size());
        s = next[s];
      } while (s != root);
      pools_.push_back(p);
    }
  };
  const auto width = static_cast<Index>(nx_);
  const Column* const columns = columns_.data();
  const Span* const spans = spans_.data();
  for (const auto& [low, s] : order) {
    Index mine = s;
    bool mine_out = false;
    const Index c = column_of[s];
    // The ring of empty columns holds no span, so every span has four neighbours.
    for (const Index beside : {c + 1, c - 1, c + width, c - width}) {
      if (columns[beside].bottomless_to > low && !mine_out) {
        close(mine, low);
        mine_out = true;
      }
      // Spans of a column lie one above the other: one at most is open at this height, the last that has
      // begun.
      const Index begin = columns[beside].first, end = columns[beside + 1].first;
      const Span* const above = std::upper_bound(spans + begin, spans + end, low,
                                                 [](double z, const Span& o) { return z < o.low; });
      if (above != spans + begin) {
        const auto t = static_cast<Index>(above - spans - 1);
        const Span other = spans[t];
        if (other.high <= low || (other.low == low && t > s)) continue;
        const Index other_set = sets.find(t);
        if (mine == other_set) continue;
        const bool outside = mine_out || out[other_set] != 0;
        if (outside) {
          if (!mine_out) close(mine, low);
          if (!out[other_set]) close(other_set, low);
        } else {
          std::swap(next[mine], next[other_set]);
        }
        sets.unite(mine, other_set);
        mine = std::min(mine, other_set);  // the root of a set is its smallest member
        mine_out = outside;
      }
    }
    out[mine] = mine_out;
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
      for (Index s = columns_[column(x, y)].first; s < columns_[column(x, y) + 1].first; ++s) {
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
      // Spans without a bottom are numbered after the others.
      span_here[c] = z < columns_[c].bottomless_to ? static_cast<Index>(spans_.size() + c) : none;
      for (Index s = columns_[c].first; s < columns_[c + 1].first; ++s)
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

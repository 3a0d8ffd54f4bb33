// SPDX-License-Identifier: GPL-3.0-or-later
// Trial holes: parts of the known surface are left out, closed like the real holes, and compared with what
// was there. The same places are taken every time.
#include "geometry/repair/trials.hpp"

#include "geometry/repair/closings.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace pourwright::mending {
namespace {

constexpr std::size_t fewest = 4;         // triangles in a trial hole
constexpr std::size_t candidates = 2000;  // places looked at

void sort_unique(std::vector<Index>& v) {
  std::sort(v.begin(), v.end());
  v.erase(std::unique(v.begin(), v.end()), v.end());
}

bool has(const std::vector<Index>& sorted, Index i) {
  return std::binary_search(sorted.begin(), sorted.end(), i);
}

}  // namespace

TrialHoles::TrialHoles(const Workpiece& w, std::size_t first_fill)
    : w_(w), first_fill_(first_fill), fans_(w.vertices.size(), w.triangles) {}

/// What of the surface hangs together within `radius` of the seed.
std::vector<Index> TrialHoles::patch_round(Index seed, double radius) const {
  const Vec3 at = w_.middle(seed);
  std::vector<Index> open{seed}, patch;
  std::vector<Index> seen{seed};
  while (!open.empty()) {
    std::vector<Index> next;
    for (const Index t : open) {
      patch.push_back(t);
      const Triangle& c = w_.triangles[t];
      for (std::size_t k = 0; k < 3; ++k)
        for (const Index u : fans_.at(c[k])) {
          const Triangle& d = w_.triangles[u];
          const Index b = c[(k + 1) % 3];
          if (u != t && (d[0] == b || d[1] == b || d[2] == b) && (w_.middle(u) - at).norm() <= radius)
            next.push_back(u);
        }
    }
    sort_unique(next);
    open.clear();
    std::set_difference(next.begin(), next.end(), seen.begin(), seen.end(), std::back_inserter(open));
    const auto old = static_cast<std::ptrdiff_t>(seen.size());
    seen.insert(seen.end(), open.begin(), open.end());
    std::inplace_merge(seen.begin(), seen.begin() + old, seen.end());
  }
  std::sort(patch.begin(), patch.end());
  return patch;
}

/// Nothing where the hole would have no simple border.
std::optional<double> TrialHoles::error_of(const std::vector<Index>& patch) const {
  std::vector<Index> inside;  // vertices of the patch
  for (const Index t : patch) inside.insert(inside.end(), w_.triangles[t].begin(), w_.triangles[t].end());
  sort_unique(inside);
  // The closing looks a few rows far.
  std::vector<Index> round, row = inside;
  constexpr int rows = 7;
  for (int k = 0; k < rows; ++k) {
    std::vector<Index> wider;
    for (const Index v : row)
      for (const Index t : fans_.at(v))
        if (!has(patch, t)) wider.push_back(t);
    round.insert(round.end(), wider.begin(), wider.end());
    row.clear();
    for (const Index t : wider) row.insert(row.end(), w_.triangles[t].begin(), w_.triangles[t].end());
    sort_unique(row);
  }
  sort_unique(round);
  Workpiece part;
  part.size = w_.size;
  std::map<Index, Index> number;
  std::vector<Index> global;
  for (const Index t : round) {
    Triangle c = w_.triangles[t];
    for (Index& v : c) {
      const auto [it, added] = number.try_emplace(v, static_cast<Index>(global.size()));
      if (added) {
        global.push_back(v);
        part.vertices.push_back(w_.vertices[v]);
      }
      v = it->second;
    }
    part.triangles.push_back(c);
  }
  const Fans fans(part.vertices.size(), part.triangles);
  const Vec3 origin = w_.middle(patch[0]);
  double six = 0;
  for (const Index t : patch) {
    const Triangle& c = w_.triangles[t];
    six += (w_.vertices[c[0]] - origin).dot((w_.vertices[c[1]] - origin).cross(w_.vertices[c[2]] - origin));
  }
  double error = -six / 6;
  for (const BorderLine& line : border_lines(part)) {
    const auto of_patch = std::count_if(line.vertices.begin(), line.vertices.end(),
                                        [&](Index v) { return has(inside, global[v]); });
    if (of_patch == 0) continue;  // where the part was cut out
    if (of_patch < static_cast<std::ptrdiff_t>(line.vertices.size())) return std::nullopt;
    std::vector<Vec3> loop;
    for (const Index v : line.vertices) loop.push_back(part.vertices[v]);
    error += volume_under(loop, origin, close_hole(part, fans, line).chosen);
  }
  return std::abs(error);
}

std::vector<double> TrialHoles::errors(double radius, std::size_t most) const {
  std::vector<Index> places;
  for (std::size_t k = 0; k < std::min(candidates, first_fill_); ++k)
    places.push_back(static_cast<Index>(k * first_fill_ / std::min(candidates, first_fill_)));
  // Each as far as can be from all before.
  std::vector<double> near(places.size(), std::numeric_limits<double>::infinity());
  std::vector<double> out;
  std::size_t next = 0;
  for (std::size_t tries = 0; tries < std::min(2 * most, places.size()) && out.size() < most; ++tries) {
    const Index seed = places[next];
    const std::vector<Index> patch = patch_round(seed, radius);
    const auto closings = patch.end() - std::lower_bound(patch.begin(), patch.end(), first_fill_);
    if (patch.size() >= fewest && 2 * patch.size() < w_.triangles.size() &&
        4 * static_cast<std::size_t>(closings) < patch.size())
      if (const auto e = error_of(patch)) out.push_back(*e);
    const Vec3 at = w_.middle(seed);
    for (std::size_t k = 0; k < places.size(); ++k)
      near[k] = std::min(near[k], (w_.middle(places[k]) - at).squaredNorm());
    next = static_cast<std::size_t>(std::max_element(near.begin(), near.end()) - near.begin());
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace pourwright::mending

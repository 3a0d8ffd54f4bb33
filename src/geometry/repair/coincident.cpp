// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/repair/workpiece.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright::mending {
namespace {

Triangle sorted(Triangle t) {
  std::sort(t.begin(), t.end());
  return t;
}

/// Collinear corners: the height over the longest side is below what doubles of this size can tell.
bool has_no_area(const Workpiece& w, std::size_t t) {
  const Triangle& c = w.triangles[t];
  const Vec3 &p = w.vertices[c[0]], &q = w.vertices[c[1]], &r = w.vertices[c[2]];
  const double longest = std::max({(q - p).squaredNorm(), (r - p).squaredNorm(), (r - q).squaredNorm()});
  return w.normal(t).norm() <= 1e-12 * longest;
}

}  // namespace

void drop_coincident(Workpiece& w) {
  std::vector<bool> drop(w.triangles.size());
  std::size_t flat = 0, doubled = 0;
  Vec3 flat_at = Vec3::Zero(), doubled_at = Vec3::Zero();
  for (std::size_t t = 0; t < w.triangles.size(); ++t)
    if (has_no_area(w, t)) {
      drop[t] = true;
      if (flat++ == 0) flat_at = w.vertices[w.triangles[t][0]];
    }
  std::vector<std::pair<Triangle, Index>> keyed(w.triangles.size());
  for (std::size_t t = 0; t < keyed.size(); ++t) keyed[t] = {sorted(w.triangles[t]), static_cast<Index>(t)};
  std::sort(keyed.begin(), keyed.end());
  for (std::size_t i = 1; i < keyed.size(); ++i)
    if (keyed[i].first == keyed[i - 1].first && !drop[keyed[i].second]) {
      drop[keyed[i].second] = true;
      if (doubled++ == 0) doubled_at = w.middle(keyed[i].second);
    }
  keyed = {};
  if (flat + doubled == 0) return;
  w.keep_triangles([&](std::size_t t) { return !drop[t]; });
  if (doubled > 0) {
    RepairStep& s = w.step(Mending::doubled_faces);
    s.count += doubled;
    s.at = doubled_at;
  }
  if (flat > 0) {
    RepairStep& s = w.step(Mending::flat_faces);
    s.count += flat;
    s.at = flat_at;
  }
}

std::size_t drop_copies(std::vector<Triangle>& triangles) {
  std::vector<std::pair<Triangle, Index>> keyed;
  keyed.reserve(triangles.size());
  for (Triangle t : triangles) {
    std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());  // the way it faces stays
    keyed.emplace_back(t, static_cast<Index>(keyed.size()));
  }
  std::sort(keyed.begin(), keyed.end());
  std::vector<Index> copies;
  std::vector<std::pair<Index, Index>> there, back;  // the edges of the copies
  for (std::size_t i = 1; i < keyed.size(); ++i)
    if (keyed[i].first == keyed[i - 1].first) {
      const Triangle& t = keyed[i].first;
      copies.push_back(keyed[i].second);
      for (std::size_t k = 0; k < 3; ++k) {
        there.emplace_back(t[k], t[(k + 1) % 3]);
        back.emplace_back(t[(k + 1) % 3], t[k]);
      }
    }
  std::sort(there.begin(), there.end());
  std::sort(back.begin(), back.end());
  if (copies.empty() || there != back) return 0;
  std::vector<bool> drop(triangles.size());
  for (const Index t : copies) drop[t] = true;
  std::size_t kept = 0;
  for (std::size_t t = 0; t < triangles.size(); ++t)
    if (!drop[t]) triangles[kept++] = triangles[t];
  triangles.resize(kept);
  return copies.size();
}

}  // namespace pourwright::mending

// SPDX-License-Identifier: GPL-3.0-or-later
// Triangles that are there more than once, and triangles without area. Of a face that two bodies share both
// copies go, for there is material on either side; of a face that was written twice one copy stays. The edges
// round it tell which it is: whatever closes more of their length is done, so that no body loses a face to
// its neighbour.
#include "geometry/repair/workpiece.hpp"

#include <algorithm>
#include <numeric>

namespace pourwright::mending {
namespace {

/// The height over the longest side, as a share of it, below which doubles cannot tell which way a triangle
/// faces: each coordinate of the cross product is a difference of products with a relative error of some 2⁻⁵²
/// each, and a margin of a few thousand covers coordinates that are as much larger than the triangle.
constexpr double least_height = 1e-12;

bool has_no_area(const Workpiece& w, std::size_t t) {
  const Triangle& c = w.triangles[t];
  const Vec3 &p = w.vertices[c[0]], &q = w.vertices[c[1]], &r = w.vertices[c[2]];
  const double longest = std::max({(q - p).squaredNorm(), (r - p).squaredNorm(), (r - q).squaredNorm()});
  return w.normal(t).norm() <= least_height * longest;
}

/// Starts with its smallest corner; the way it faces stays.
Triangle rotated(Triangle t) {
  std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());
  return t;
}
Triangle turned_over(const Triangle& t) {
  return {t[0], t[2], t[1]};
}

/// Triangles with the same three corners, whichever way they face.
struct Twins {
  std::vector<Index> all;
  std::size_t over = 0;  // how many face the other way than the rest

  bool opposed() const { return over > 0 && over < all.size(); }
};

std::vector<Twins> find_twins(const Workpiece& w, const std::vector<bool>& gone) {
  struct Keyed {
    Triangle key;
    bool over;
    Index t;
  };
  std::vector<Keyed> keyed;
  for (Index t = 0; t < w.triangles.size(); ++t) {
    if (gone[t]) continue;
    const Triangle c = rotated(w.triangles[t]);
    const bool over = c[1] > c[2];
    keyed.push_back({over ? turned_over(c) : c, over, t});
  }
  std::sort(keyed.begin(), keyed.end(),
            [](const Keyed& a, const Keyed& b) { return std::tie(a.key, a.t) < std::tie(b.key, b.t); });
  std::vector<Twins> out;
  for (std::size_t i = 0; i < keyed.size();) {
    std::size_t j = i + 1;
    while (j < keyed.size() && keyed[j].key == keyed[i].key) ++j;
    if (j - i > 1) {
      Twins& twins = out.emplace_back();
      for (std::size_t k = i; k < j; ++k) {
        twins.all.push_back(keyed[k].t);
        twins.over += keyed[k].over;
      }
    }
    i = j;
  }
  return out;
}

/// An edge at which two more triangles meet twins speaks for a shared face as loudly as this length at which
/// one does speaks against it: beside a face written twice a second triangle would need a reason of its own,
/// while beside a shared one any of the two may just be missing.
constexpr double for_shared = 3;

/// How many of each twins stay. Twins that hang together are decided together: along the edges where they
/// meet other triangles, an odd number of those needs one of the twins, an even number needs none of them, or
/// both. They are none when most of the twins face each other, as the faces of bodies that touch do, and both
/// when one body covers another.
std::vector<std::size_t> how_many_stay(const Workpiece& w, const std::vector<Twins>& twins) {
  std::vector<Index> twin_of(w.triangles.size(), none);
  for (Index i = 0; i < twins.size(); ++i)
    for (const Index t : twins[i].all) twin_of[t] = i;
  DisjointSets sets(twins.size());
  std::vector<double> shared(twins.size()),
      opposed(twins.size());  // length and area in favour, less those against
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() < 3) return;
    Index first = none;
    bool several = false;
    std::size_t others = 0;
    for (const EdgeUse& u : uses) {
      const Index i = twin_of[u.half_edge / 3];
      if (i == none) {
        ++others;
        continue;
      }
      if (first == none) first = i;
      several |= i != first;
      sets.unite(first, i);
    }
    if (first == none || several || others == 0) return;
    const double length = (w.vertices[v] - w.vertices[uses[0].other]).norm();
    shared[first] += uses.size() % 2 == 0 ? for_shared * length : -length;
  });
  for (Index i = 0; i < twins.size(); ++i) {
    const double area = w.normal(twins[i].all[0]).norm();
    opposed[i] = twins[i].opposed() ? area : -area;
  }
  std::vector<double> all_shared(twins.size()), all_opposed(twins.size());
  for (Index i = 0; i < twins.size(); ++i) {
    all_shared[sets.find(i)] += shared[i];
    all_opposed[sets.find(i)] += opposed[i];
  }
  std::vector<std::size_t> stay(twins.size(), 1);
  for (Index i = 0; i < twins.size(); ++i)
    if (const Index set = sets.find(i); all_shared[set] > 0)
      stay[i] = all_opposed[set] >= 0 ? twins[i].all.size() % 2 : twins[i].all.size();
  return stay;
}

}  // namespace

void drop_coincident(Workpiece& w) {
  std::vector<bool> drop(w.triangles.size());
  for (std::size_t t = 0; t < w.triangles.size(); ++t)
    if (has_no_area(w, t)) {
      drop[t] = true;
      RepairStep& s = w.step("flat-faces");
      if (s.count++ == 0) s.at = w.vertices[w.triangles[t][0]];
    }
  const std::vector<Twins> twins = find_twins(w, drop);
  const std::vector<std::size_t> stay = how_many_stay(w, twins);
  for (std::size_t i = 0; i < twins.size(); ++i) {
    const std::vector<Index>& all = twins[i].all;
    if (stay[i] == all.size()) continue;
    RepairStep& s = w.step(stay[i] == 1 ? "doubled-faces" : "shared-faces");
    if (s.count == 0) s.at = w.middle(all[0]);
    s.count += all.size() - stay[i];
    for (std::size_t k = stay[i]; k < all.size(); ++k) drop[all[k]] = true;
  }
  w.keep_triangles([&](std::size_t t) { return !drop[t]; });
}

std::size_t drop_copies(std::vector<Triangle>& triangles) {
  std::vector<std::pair<Triangle, Index>> keyed;
  keyed.reserve(triangles.size());
  for (const Triangle& t : triangles) keyed.emplace_back(rotated(t), static_cast<Index>(keyed.size()));
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

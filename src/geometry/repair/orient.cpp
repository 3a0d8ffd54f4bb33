// SPDX-License-Identifier: GPL-3.0-or-later
// How triangles meet round edges, and which way they face.
#include "geometry/mesh/predicates.hpp"
#include "geometry/repair/workpiece.hpp"

#include <cmath>

namespace pourwright::mending {
namespace {

/// Angle of a triangle round the edge a→b, from −π to π, against an arbitrary start.
std::vector<std::pair<double, EdgeUse>> round(const Workpiece& w, const Vec3& a, const Vec3& b,
                                              std::span<const EdgeUse> uses) {
  const Vec3 axis = (b - a).normalized(), e1 = axis.unitOrthogonal(), e2 = axis.cross(e1);
  std::vector<std::pair<double, EdgeUse>> out;
  for (const EdgeUse& u : uses) {
    const Vec3 d = w.vertices[w.from(previous(u.half_edge))] - a;
    out.emplace_back(std::atan2(d.dot(e2), d.dot(e1)), u);
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& x, const auto& y) { return x.first < y.first; });
  return out;
}

void join(std::vector<HalfEdge>& opposite, HalfEdge a, HalfEdge b) {
  opposite[a] = b;
  opposite[b] = a;
}

/// Forward uses bound void on the side of growing angle: each takes the next backward one. What finds no
/// partner stays open; of several possible pairings the one that leaves the sharpest wedge alone.
void pair_round(const Workpiece& w, const Vec3& a, const Vec3& b, std::span<const EdgeUse> uses,
                std::vector<HalfEdge>& opposite) {
  const auto leaves = round(w, a, b, uses);
  const std::size_t n = leaves.size();
  std::vector<bool> taken(n);
  // Nearest first round the edge, as brackets close: repeatedly join a forward use with the backward one
  // after it.
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < n; ++i) {
      if (taken[i] || !leaves[i].second.forward) continue;
      std::size_t j = (i + 1) % n;
      while (j != i && taken[j]) j = (j + 1) % n;
      if (j == i || leaves[j].second.forward) continue;
      taken[i] = taken[j] = true;
      join(opposite, leaves[i].second.half_edge, leaves[j].second.half_edge);
      again = true;
    }
  }
}

}  // namespace

std::vector<HalfEdge> pair_up(const Workpiece& w) {
  std::vector<HalfEdge> opposite(3 * w.triangles.size(), none);
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2 && uses[0].forward != uses[1].forward)
      join(opposite, uses[0].half_edge, uses[1].half_edge);
    else if (uses.size() > 2)
      pair_round(w, w.vertices[v], w.vertices[uses[0].other], uses, opposite);
  });
  return opposite;
}

namespace {

/// Components whose faces were turned at random: those that lie inside the box of the rest are taken for
/// voids, for a closed body inside another would add nothing. Those that turn out not to lie in material are
/// turned later.
void settle(Workpiece& w, const std::vector<std::vector<Index>>& tossed) {
  std::vector<Index> owner(w.triangles.size(), none);
  for (Index i = 0; i < tossed.size(); ++i)
    for (const Index t : tossed[i]) owner[t] = i;
  Box rest;
  std::vector<Box> box(tossed.size());
  for (std::size_t t = 0; t < w.triangles.size(); ++t)
    for (const Index v : w.triangles[t]) {
      if (owner[t] == none)
        rest.add(w.vertices[v]);
      else
        box[owner[t]].add(w.vertices[v]);
    }
  const auto holds = [](const Box& outer, const Box& inner) {
    return !outer.empty() && (outer.low.array() < inner.low.array()).all() &&
           (outer.high.array() > inner.high.array()).all();
  };
  for (std::size_t i = 0; i < tossed.size(); ++i) {
    bool inside = holds(rest, box[i]);
    for (std::size_t k = 0; k < tossed.size(); ++k) inside = inside || (k != i && holds(box[k], box[i]));
    double six = 0;
    for (const Index t : tossed[i]) six += (w.vertices[w.triangles[t][0]] - box[i].centre()).dot(w.normal(t));
    if (inside == (six > 0))
      for (const Index t : tossed[i]) std::swap(w.triangles[t][1], w.triangles[t][2]);
  }
}

}  // namespace

void orient(Workpiece& w) {
  constexpr double unsure = 0.3;  // of the area against the majority
  std::vector<std::vector<Index>> tossed;
  struct Link {
    Index other;
    bool agrees;  // the two run in opposite directions along the edge, as neighbours that face one way do
  };
  // Per triangle, its neighbours: across plain edges, and round crowded edges of an even number between which
  // material and void take turns.
  std::vector<std::vector<Link>> crowded;
  std::vector<Index> crowded_at(w.triangles.size(), none);
  std::vector<std::array<Link, 3>> plain(w.triangles.size(),
                                         {Link{none, true}, Link{none, true}, Link{none, true}});
  const auto link = [&](const EdgeUse& x, const EdgeUse& y) {
    for (const auto& [t, o] :
         {std::pair(x.half_edge / 3, y.half_edge / 3), std::pair(y.half_edge / 3, x.half_edge / 3)}) {
      if (crowded_at[t] == none) {
        crowded_at[t] = static_cast<Index>(crowded.size());
        crowded.emplace_back();
      }
      crowded[crowded_at[t]].push_back({o, x.forward != y.forward});
    }
  };
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2) {
      const HalfEdge g = uses[0].half_edge, h = uses[1].half_edge;
      const bool agrees = uses[0].forward != uses[1].forward;
      plain[g / 3][g % 3] = {h / 3, agrees};
      plain[h / 3][h % 3] = {g / 3, agrees};
    } else if (uses.size() > 2 && uses.size() % 2 == 0) {
      const auto leaves = round(w, w.vertices[v], w.vertices[uses[0].other], uses);
      for (std::size_t i = 0; i < leaves.size(); ++i)
        link(leaves[i].second, leaves[(i + 1) % leaves.size()].second);
    }
  });

  std::vector<signed char> flip(w.triangles.size(), -1);  // −1 not reached yet
  std::vector<Index> reached;
  std::size_t flipped = 0;
  Vec3 at = Vec3::Zero();
  for (Index seed = 0; seed < w.triangles.size(); ++seed) {
    if (flip[seed] >= 0) continue;
    reached.assign(1, seed);
    flip[seed] = 0;
    double kept = 0, turned = 0;
    const auto reach = [&](Index from, const Link& l) {
      if (l.other == none || flip[l.other] >= 0) return;
      flip[l.other] = static_cast<signed char>(l.agrees ? flip[from] : 1 - flip[from]);
      reached.push_back(l.other);
    };
    // Plain edges first: only they leave no doubt.
    for (std::size_t i = 0, c = 0; i < reached.size() || c < reached.size();) {
      if (i < reached.size()) {
        const Index t = reached[i++];
        (flip[t] ? turned : kept) += w.normal(t).norm();
        for (const Link& l : plain[t]) reach(t, l);
      } else if (const Index t = reached[c++]; crowded_at[t] != none) {
        for (const Link& l : crowded[crowded_at[t]]) reach(t, l);
      }
    }
    const signed char minority = turned <= kept ? 1 : 0;
    if (std::min(kept, turned) > unsure * (kept + turned)) tossed.push_back(reached);
    for (const Index t : reached) {
      if (flip[t] != minority) continue;
      std::swap(w.triangles[t][1], w.triangles[t][2]);
      if (flipped++ == 0) at = w.middle(t);
    }
  }
  if (flipped == 0) return;
  RepairStep& s = w.step(Mending::flipped_faces);
  if (s.count == 0) s.at = at;
  s.count += flipped;
  if (!tossed.empty() && tossed.front().size() < w.triangles.size()) settle(w, tossed);
}

}  // namespace pourwright::mending

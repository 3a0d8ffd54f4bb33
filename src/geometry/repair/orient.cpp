// SPDX-License-Identifier: GPL-3.0-or-later
// How triangles meet round edges, and which way they face.
#include "geometry/mesh/edge_fan.hpp"
#include "geometry/repair/workpiece.hpp"

#include <algorithm>
#include <array>

namespace pourwright::mending {
namespace {

/// The triangles at the edge from vertex v in rising angle round it. Of those that lie on each other the ones
/// before the void come first: two bodies that touch leave a void of no width between them.
std::vector<EdgeUse> round(const Workpiece& w, Index v, std::span<const EdgeUse> uses) {
  auto leaves = fan_round_edge(w.vertices, w.triangles, v, uses);
  std::stable_sort(leaves.begin(), leaves.end(), [](const auto& x, const auto& y) {
    return x.sector != y.sector ? x.sector < y.sector : x.use.forward && !y.use.forward;
  });
  std::vector<EdgeUse> out;
  for (const auto& l : leaves) out.push_back(l.use);
  return out;
}

void join(std::vector<HalfEdge>& opposite, HalfEdge a, HalfEdge b) {
  opposite[a] = b;
  opposite[b] = a;
}

/// Forward uses bound void on the side of growing angle: each takes the next backward one. What finds no
/// partner stays open; of several possible pairings the one that leaves the sharpest wedge alone.
void pair_round(const Workpiece& w, Index v, std::span<const EdgeUse> uses, std::vector<HalfEdge>& opposite) {
  const std::vector<EdgeUse> leaves = round(w, v, uses);
  const std::size_t n = leaves.size();
  std::vector<bool> taken(n);
  // Nearest first round the edge, as brackets close: repeatedly join a forward use with the backward one
  // after it.
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < n; ++i) {
      if (taken[i] || !leaves[i].forward) continue;
      std::size_t j = (i + 1) % n;
      while (j != i && taken[j]) j = (j + 1) % n;
      if (j == i || leaves[j].forward) continue;
      taken[i] = taken[j] = true;
      join(opposite, leaves[i].half_edge, leaves[j].half_edge);
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
      pair_round(w, v, uses, opposite);
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

/// Numbers 0 … the largest.
std::size_t how_many(const std::vector<Index>& numbers) {
  return numbers.empty() ? 0 : *std::max_element(numbers.begin(), numbers.end()) + std::size_t{1};
}

/// Of two triangles or two patches, whether they face the same way as they are.
struct Link {
  Index other;
  bool agrees;
};
/// Walks every connected part from its first member on and says which members would have to turn to agree
/// with it. `part_of` numbers the parts.
template <class Links>
std::vector<bool> agree(const Links& links, std::vector<Index>& part_of) {
  std::vector<bool> turn(links.size());
  part_of.assign(links.size(), none);
  Index parts = 0;
  std::vector<Index> open;
  for (Index seed = 0; seed < links.size(); ++seed) {
    if (part_of[seed] != none) continue;
    part_of[seed] = parts;
    open.assign(1, seed);
    for (std::size_t i = 0; i < open.size(); ++i)
      for (const Link& l : links[open[i]]) {
        if (l.other == none || part_of[l.other] != none) continue;
        part_of[l.other] = parts;
        turn[l.other] = l.agrees == turn[open[i]];
        open.push_back(l.other);
      }
    ++parts;
  }
  return turn;
}

/// Triangles are linked across the edges that two of them share; of each patch the smaller area turns.
std::vector<bool> agree_across_edges(const Workpiece& w, std::vector<Index>& patch_of) {
  constexpr Link border{none, true};
  std::vector<std::array<Link, 3>> links(w.triangles.size(), {border, border, border});
  for_each_edge(w.triangles, w.vertices.size(), [&](Index, std::span<const EdgeUse> uses) {
    if (uses.size() != 2) return;
    const HalfEdge g = uses[0].half_edge, h = uses[1].half_edge;
    const bool agrees = uses[0].forward != uses[1].forward;
    links[g / 3][g % 3] = {h / 3, agrees};
    links[h / 3][h % 3] = {g / 3, agrees};
  });
  std::vector<bool> turn = agree(links, patch_of);
  std::vector<double> more(how_many(patch_of));  // area to turn, less the area to keep
  for (std::size_t t = 0; t < turn.size(); ++t)
    more[patch_of[t]] += turn[t] ? w.normal(t).norm() : -w.normal(t).norm();
  for (std::size_t t = 0; t < turn.size(); ++t) turn[t] = turn[t] != (more[patch_of[t]] > 0);
  return turn;
}

/// The edges in which an even number of triangles meet, as they would face once `turn` is done.
template <class Visit>
void for_each_crowded(const Workpiece& w, const std::vector<bool>& turn, Visit&& visit) {
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() < 4 || uses.size() % 2 == 1) return;
    std::vector<EdgeUse> now(uses.begin(), uses.end());
    for (EdgeUse& u : now) u.forward = u.forward != turn[u.half_edge / 3];
    visit(v, now);
  });
}

/// As many uses of one direction as of the other. `other_way`: those of this patch counted the other way.
bool balanced(const std::vector<EdgeUse>& uses, const std::vector<Index>& patch_of, Index other_way = none) {
  std::ptrdiff_t sum = 0;
  for (const EdgeUse& u : uses) sum += u.forward != (patch_of[u.half_edge / 3] == other_way) ? 1 : -1;
  return sum == 0;
}

/// Patches, each of one mind, are linked at crowded edges. First where they balance as they are: those agree.
/// Then at the others: when one patch alone would have to turn for a balance, it does; else neighbours round
/// the edge agree, for material and void take turns. Changes `turn` and `patch_of` to the parts that hang
/// together so.
void agree_round_edges(const Workpiece& w, std::vector<bool>& turn, std::vector<Index>& patch_of) {
  for (const bool as_they_are : {true, false}) {
    std::vector<std::vector<Link>> links(how_many(patch_of));
    const auto link = [&](Index p, Index q, bool agrees) {
      if (p == q) return;
      links[p].push_back({q, agrees});
      links[q].push_back({p, agrees});
    };
    for_each_crowded(w, turn, [&](Index v, const std::vector<EdgeUse>& uses) {
      if (balanced(uses, patch_of) != as_they_are) return;
      std::vector<Index> those;  // patches that alone would have to turn
      if (!as_they_are)
        for (const EdgeUse& u : uses)
          if (const Index p = patch_of[u.half_edge / 3]; balanced(uses, patch_of, p)) those.push_back(p);
      std::sort(those.begin(), those.end());
      those.erase(std::unique(those.begin(), those.end()), those.end());
      const bool plain = as_they_are || those.size() == 1;
      const std::vector<EdgeUse> order = plain ? uses : round(w, v, uses);
      for (std::size_t i = 0; i < order.size(); ++i) {
        const EdgeUse &x = order[i], &y = order[(i + 1) % order.size()];
        const Index p = patch_of[x.half_edge / 3], q = patch_of[y.half_edge / 3];
        const bool one_turns = those.size() == 1 && (p == those[0]) != (q == those[0]);
        link(p, q, plain ? !one_turns : x.forward != y.forward);
      }
    });
    std::vector<Index> part_of;
    const std::vector<bool> turn_patch = agree(links, part_of);
    for (std::size_t t = 0; t < turn.size(); ++t) {
      turn[t] = turn[t] != turn_patch[patch_of[t]];
      patch_of[t] = part_of[patch_of[t]];
    }
  }
}

/// Share of a part's area that faces the other way beyond which its faces count as turned at random: the
/// majority says nothing of the inside then. Damage that a program does leaves most faces right; without any
/// order it is a half, and a part of fewer than some ten faces strays from that by a fifth.
constexpr double at_random = 0.3;

}  // namespace

void orient(Workpiece& w) {
  std::vector<Index> part_of;
  std::vector<bool> turn = agree_across_edges(w, part_of);
  agree_round_edges(w, turn, part_of);
  const std::size_t parts = how_many(part_of);
  std::vector<double> kept(parts), turned(parts);
  for (std::size_t t = 0; t < turn.size(); ++t) (turn[t] ? turned : kept)[part_of[t]] += w.normal(t).norm();
  std::vector<std::vector<Index>> members(parts);
  std::size_t flipped = 0;
  Vec3 at = Vec3::Zero();
  for (Index t = 0; t < turn.size(); ++t) {
    const Index p = part_of[t];
    if (std::min(kept[p], turned[p]) > at_random * (kept[p] + turned[p])) members[p].push_back(t);
    if (turn[t] != (turned[p] <= kept[p])) continue;
    std::swap(w.triangles[t][1], w.triangles[t][2]);
    if (flipped++ == 0) at = w.middle(t);
  }
  if (flipped == 0) return;
  RepairStep& s = w.step(Mending::flipped_faces);
  if (s.count == 0) s.at = at;
  s.count += flipped;
  std::erase_if(members, [](const auto& m) { return m.empty(); });
  if (!members.empty() && members.front().size() < w.triangles.size()) settle(w, members);
}

}  // namespace pourwright::mending

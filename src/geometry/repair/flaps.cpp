// SPDX-License-Identifier: GPL-3.0-or-later
// Sheets that hang on a body. At an edge where three triangles meet one of three patches is too many: the one
// without which more edge length closes than opens, and the surface runs on evenly. Where that does not tell
// two sheets apart the volume between them is in doubt.
#include "geometry/repair/parts.hpp"

#include <array>
#include <cmath>
#include <map>

namespace pourwright::mending {
namespace {

struct PatchEdge {
  double length = 0;
  std::size_t degree = 0;
  std::vector<std::pair<Index, std::size_t>> uses;  // patch, how often
  std::vector<EdgeUse> sides;
  Index from = 0;
};

/// Along the edges where three triangles meet: how evenly the surface runs on without the patch, from −1
/// (folded back) to 1 (flat), as a mean over their length.
std::vector<double> evenness(const Workpiece& w, const std::vector<PatchEdge>& edges,
                             const std::vector<Index>& patch_of, std::size_t count) {
  std::vector<double> sum(count), length(count);
  for (const PatchEdge& e : edges) {
    if (e.sides.size() != 3) continue;
    const Vec3 a = w.vertices[e.from], along = (w.vertices[e.sides[0].other] - a).normalized();
    std::array<Vec3, 3> into;
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 d = w.vertices[w.from(previous(e.sides[k].half_edge))] - a;
      into[k] = (d - d.dot(along) * along).normalized();
    }
    for (std::size_t k = 0; k < 3; ++k) {
      const double even = -into[(k + 1) % 3].dot(into[(k + 2) % 3]);
      if (!std::isfinite(even)) continue;
      sum[patch_of[e.sides[k].half_edge / 3]] += e.length * even;
      length[patch_of[e.sides[k].half_edge / 3]] += e.length;
    }
  }
  for (std::size_t p = 0; p < count; ++p) sum[p] = length[p] > 0 ? sum[p] / length[p] : -1;
  return sum;
}

/// Lengths are compared to this share of the whole surface's size, below which sums of them are rounding.
constexpr double least_gain = 1e-9;
/// A patch may go when it is a scrap of the whole area, or when it is a sheet rather than a pocket and not
/// the most of the surface. A half sphere's openness is a half, and that of a pocket as deep as it is wide, a
/// fifth.
constexpr double scrap_of_all = 1e-3, sheet_openness = 0.3, most_of_all = 0.5;
/// Steps of evenness within which two patches are alike in that and the smaller goes: a tenth is 26° at a
/// straight edge.
constexpr double grades = 10;

/// Patches without which more edge length closes than opens; each round the smallest first, none beside
/// another.
std::vector<bool> choose_flaps(const std::vector<PatchEdge>& edges, const std::vector<Part>& patches,
                               const std::vector<bool>& gone, const std::vector<double>& even, double all) {
  std::vector<double> gain(patches.size());
  std::vector<bool> crowded(patches.size());
  for (const PatchEdge& e : edges)
    for (const auto& [p, n] : e.uses) {
      const bool odd = e.degree % 2 == 1, stays_odd = (e.degree - n) % 2 == 1;
      if (odd && !stays_odd) gain[p] += e.length;
      if (!odd && stays_odd) gain[p] -= e.length;
      crowded[p] = crowded[p] || (e.degree > 2 && odd && !stays_odd);
    }
  std::vector<Index> order;
  for (Index p = 0; p < patches.size(); ++p)
    if (!gone[p] && crowded[p] && gain[p] > least_gain * std::sqrt(all) &&
        (patches[p].area < scrap_of_all * all ||
         (patches[p].openness() > sheet_openness && patches[p].area < most_of_all * all)))
      order.push_back(p);
  // First those without which the surface runs on evenly; the smaller of two that are alike in that.
  const auto grade = [&](Index p) { return std::floor(grades * even[p] + 0.5); };
  std::stable_sort(order.begin(), order.end(), [&](Index a, Index b) {
    return grade(a) != grade(b) ? grade(a) > grade(b) : patches[a].area < patches[b].area;
  });
  std::vector<Index> rank(patches.size(), none);
  for (std::size_t i = 0; i < order.size(); ++i) rank[order[i]] = static_cast<Index>(i);
  std::vector<bool> chosen(patches.size());
  for (const Index p : order) chosen[p] = true;
  for (const PatchEdge& e : edges) {
    Index first = none;
    for (const auto& [p, n] : e.uses)
      if (rank[p] != none && (first == none || rank[p] < rank[first])) first = p;
    for (const auto& [p, n] : e.uses)
      if (p != first) chosen[p] = false;
  }
  return chosen;
}

/// How much more evenly the surface runs on without one sheet than without its rival for that to tell which
/// is which: 60° against a straight wall.
constexpr double plainly = 0.5;
/// Two sheets have one outline when they run side by side along these shares of the one's and of the other's
/// crowded edges.
constexpr double own_outline = 0.9, other_outline = 0.6;
/// Rounds in which sheets are taken off sheets: as deep as bodies are glued in a row.
constexpr int most_rounds = 8;

/// The patch beside which a patch runs along most of its crowded edges, and whether both run along them the
/// same way.
struct Rivals {
  Index other = none;
  bool same_way = true;
};
std::vector<Rivals> rivals_of(const std::vector<PatchEdge>& edges, const std::vector<Index>& patch_of,
                              const std::vector<Part>& patches, double area) {
  const std::size_t count = patches.size();
  struct Beside {
    double length = 0, same_way = 0;
  };
  std::vector<std::map<Index, Beside>> beside(count);
  std::vector<double> all(count);
  for (const PatchEdge& e : edges) {
    if (e.sides.size() != 3) continue;
    const auto patch = [&](std::size_t k) { return patch_of[e.sides[k].half_edge / 3]; };
    const bool apart = patch(0) != patch(1) && patch(1) != patch(2) && patch(2) != patch(0);
    for (const EdgeUse& s : e.sides) {
      const Index p = patch_of[s.half_edge / 3];
      all[p] += e.length;
      if (!apart) continue;
      for (const EdgeUse& o : e.sides) {
        if (&o == &s) continue;
        Beside& b = beside[p][patch_of[o.half_edge / 3]];
        b.length += e.length;
        if (o.forward == s.forward) b.same_way += e.length;
      }
    }
  }
  // Two run along the whole of it: the sheet that could go instead, and the rest of the body. The smaller
  // share of the other's own crowded edges marks the rest.
  std::vector<Rivals> out(count);
  for (Index p = 0; p < count; ++p) {
    double best = 0;
    for (const auto& [q, b] : beside[p]) {
      if (q == p || b.length < own_outline * all[p]) continue;
      const double share = b.length / std::max(all[q], 1e-300);
      if (share > best && share > other_outline && patches[q].area < most_of_all * area) {
        best = share;
        out[p] = {q, b.same_way >= 0.5 * b.length};
      }
    }
  }
  return out;
}

/// Volume between two sheets with one outline.
double between(const Workpiece& w, const std::vector<Index>& patch_of, Index p, Index q, const Vec3& at,
               bool same_way) {
  double six = 0;
  for (std::size_t t = 0; t < w.triangles.size(); ++t) {
    if (patch_of[t] != p && patch_of[t] != q) continue;
    const double v = (w.vertices[w.triangles[t][0]] - at).dot(w.normal(t));
    six += patch_of[t] == p ? v : same_way ? -v : v;
  }
  return std::abs(six) / 6;
}

/// A cone over a border in several pieces, to the middle of all of them, cuts off up to half of what lies
/// between.
constexpr double cone_margin = 2;

/// What the patches would enclose at most, their borders closed by a cone to its middle.
std::vector<double> volumes_if_closed(const Workpiece& w, const std::vector<PatchEdge>& edges,
                                      const std::vector<Index>& patch_of, std::size_t count) {
  std::vector<Vec3> middle(count, Vec3::Zero());
  std::vector<double> length(count), six(count);
  for (const PatchEdge& e : edges)
    for (const EdgeUse& u : e.sides) {
      const Index p = patch_of[u.half_edge / 3];
      middle[p] += e.length * (w.vertices[e.from] + w.vertices[u.other]) / 2;
      length[p] += e.length;
    }
  for (std::size_t t = 0; t < w.triangles.size(); ++t) {
    const Index p = patch_of[t];
    if (length[p] > 0) six[p] += (w.vertices[w.triangles[t][0]] - middle[p] / length[p]).dot(w.normal(t));
  }
  for (double& v : six) v = cone_margin * std::abs(v) / 6;
  return six;
}

}  // namespace

void drop_flaps(Workpiece& w) {
  DisjointSets sets(w.triangles.size());
  bool any = false;
  for_each_edge(w.triangles, w.vertices.size(), [&](Index, std::span<const EdgeUse> uses) {
    if (uses.size() == 2) sets.unite(uses[0].half_edge / 3, uses[1].half_edge / 3);
    any |= uses.size() > 2;
  });
  if (!any) return;
  std::vector<Index> patch_of;
  const std::size_t count = std::move(sets).number(patch_of);
  const std::vector<Part> patches = survey(w, patch_of, count);
  double all = 0;
  for (const Part& p : patches) all += p.area;
  std::vector<PatchEdge> edges;
  for_each_edge(w.triangles, w.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2) return;
    PatchEdge e{
        (w.vertices[v] - w.vertices[uses[0].other]).norm(), uses.size(), {}, {uses.begin(), uses.end()}, v};
    for (const EdgeUse& u : uses) {
      const Index p = patch_of[u.half_edge / 3];
      const auto known =
          std::find_if(e.uses.begin(), e.uses.end(), [p](const auto& x) { return x.first == p; });
      if (known == e.uses.end())
        e.uses.emplace_back(p, 1);
      else
        ++known->second;
    }
    edges.push_back(std::move(e));
  });
  std::vector<bool> gone(count);
  const std::vector<double> even = evenness(w, edges, patch_of, count);
  const std::vector<Rivals> rivals = rivals_of(edges, patch_of, patches, all);
  const std::vector<double> volumes = volumes_if_closed(w, edges, patch_of, count);
  RepairStep* step = nullptr;
  for (int round = 0; round < most_rounds; ++round) {
    const std::vector<bool> chosen = choose_flaps(edges, patches, gone, even, all);
    bool changed = false;
    for (Index p = 0; p < count; ++p) {
      if (!chosen[p]) continue;
      changed = gone[p] = true;
      step = &w.step("inner-sheets");
      if (step->count == 0) step->at = patches[p].box.centre();
      step->count += patches[p].triangles;
      // Where it is not plain which of two sheets belongs to the body, either may; and without a rival the
      // patch itself.
      const Rivals& r = rivals[p];
      if (r.other == none)
        step->doubt += cubic_millimetres(volumes[p]);
      else if (!gone[r.other] && even[p] - even[r.other] < plainly)
        step->doubt +=
            cubic_millimetres(between(w, patch_of, p, r.other, patches[p].box.centre(), r.same_way));
    }
    if (!changed) break;
    for (PatchEdge& e : edges)
      std::erase_if(e.uses, [&](const auto& u) {
        if (chosen[u.first]) e.degree -= u.second;
        return chosen[u.first];
      });
  }
  if (step != nullptr) w.keep_triangles([&](std::size_t t) { return !gone[patch_of[t]]; });
}

}  // namespace pourwright::mending

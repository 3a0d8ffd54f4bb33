// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/union.hpp>

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/nearest.hpp"
#include "geometry/mesh/point_tree.hpp"
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/mesh/vertex_welder.hpp"
#include "geometry/mesh/vertical_lines.hpp"
#include "geometry/union/arrangement.hpp"
#include "geometry/union/gaps.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

using uniting::Contact;

constexpr std::size_t most_contacts = 1'000'000;
/// Places where contacts cross each other, for all rounds together. A surface that passes through itself in
/// bundles has them by the million, and their coordinates, made of made ones, grow long.
constexpr std::size_t most_work = 80'000;

constexpr int plain_rounds = 2, most_rounds = 6;

bool has_no_area(const std::vector<Vec3>& v, const Triangle& t) {
  const Vec3 &p = v[t[0]], &q = v[t[1]], &r = v[t[2]];
  for (int k = 0; k < 3; ++k)
    if (orient2d(p[k], p[(k + 1) % 3], q[k], q[(k + 1) % 3], r[k], r[(k + 1) % 3]) != 0) return false;
  return true;
}

double signed_volume(const std::vector<Vec3>& vertices, std::span<const Triangle> triangles,
                     const Vec3& centre) {
  double six = 0;
  for (const Triangle& t : triangles) {
    const Vec3 p = vertices[t[0]] - centre;
    six += p.dot((vertices[t[1]] - vertices[t[0]]).cross(vertices[t[2]] - vertices[t[0]]));
  }
  return six / 6;
}

/// Shells by number, their volumes, and which of them are in contact with another.
struct Shells {
  std::vector<std::vector<Index>> triangles;
  std::vector<double> volume;
  std::vector<bool> touched;

  Shells(const Surface& s, const std::vector<Contact>& contacts)
      : triangles(s.census.shells), volume(s.census.shells), touched(s.census.shells) {
    for (Index t = 0; t < s.triangles.size(); ++t) triangles[s.shell[t]].push_back(t);
    for (std::size_t i = 0; i < triangles.size(); ++i) {
      std::vector<Triangle> part;
      Box box;
      for (const Index t : triangles[i]) {
        part.push_back(s.triangles[t]);
        for (const Index v : part.back()) box.add(s.vertices[v]);
      }
      volume[i] = signed_volume(s.vertices, part, box.centre());
    }
    for (const auto& [a, b] : contacts)
      if (s.shell[a] != s.shell[b]) touched[s.shell[a]] = touched[s.shell[b]] = true;
  }
};

/// How often the material of other shells wraps some vertices of each of `asked`, as a share of those
/// vertices.
std::vector<double> wrapped_share(const Surface& s, const Shells& shells, const std::vector<Index>& asked) {
  constexpr std::size_t samples = 32;
  std::vector<VerticalLine> lines;
  std::vector<Index> owner;
  for (const Index i : asked) {
    const auto& list = shells.triangles[i];
    for (std::size_t k = 0; k < std::min(samples, list.size()); ++k) {
      const Triangle& t = s.triangles[list[k * list.size() / std::min(samples, list.size())]];
      const Vec3 middle = (s.vertices[t[0]] + s.vertices[t[1]] + s.vertices[t[2]]) / 3;
      lines.push_back({middle, middle});
      owner.push_back(i);
    }
  }
  std::vector<int> winding(lines.size(), 0);
  for_each_crossing(s.vertices, s.triangles, lines, [&](Index l, Index t, int sign) {
    const Index other = s.shell[t];
    if (other == owner[l]) return;
    const Triangle& c = s.triangles[t];
    if (above_plane(s.vertices[c[0]], s.vertices[c[1]], s.vertices[c[2]], sign, lines[l].at) < 0)
      winding[l] += shells.volume[other] > 0 ? sign : 0;  // voids do not wrap
  });
  std::vector<double> share(shells.volume.size(), 0), count(shells.volume.size(), 0);
  for (std::size_t l = 0; l < lines.size(); ++l) {
    count[owner[l]] += 1;
    share[owner[l]] += winding[l] > 0 ? 1 : 0;
  }
  for (const Index i : asked) share[i] /= std::max(1.0, count[i]);
  return share;
}

/// Shells that enclose negative volume are voids when they lie inside a body, else bodies that face the wrong
/// way.
std::size_t turn_inverted(Surface& s, const std::vector<Contact>& contacts) {
  const auto turn = [&](Index t) { std::swap(s.triangles[t][1], s.triangles[t][2]); };
  Shells shells(s, contacts);
  double sum = 0;
  for (const double v : shells.volume) sum += v;
  std::size_t turned = 0;
  if (sum < 0) {  // the whole file is inside out
    for (Index t = 0; t < s.triangles.size(); ++t) turn(t);
    for (double& v : shells.volume) v = -v;
    turned = shells.volume.size();
  }
  std::vector<Index> inward;
  for (Index i = 0; i < shells.volume.size(); ++i)
    if (shells.volume[i] < 0) inward.push_back(i);
  if (inward.empty()) return turned;
  const std::vector<double> share = wrapped_share(s, shells, inward);
  for (const Index i : inward) {
    if (share[i] >= 0.9) continue;
    for (const Index t : shells.triangles[i]) turn(t);
    ++turned;
  }
  return turned;
}

/// Shells that cut a larger one of nearly the same volume and box: a second scan or an export laid over the
/// first.
std::vector<bool> near_copies(const Surface& s, const std::vector<Contact>& contacts) {
  constexpr double alike = 0.03;
  std::vector<bool> copy(s.census.shells);
  if (s.census.shells < 2) return copy;
  const Shells shells(s, contacts);
  std::vector<Box> box(s.census.shells);
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    for (const Index v : s.triangles[t]) box[s.shell[t]].add(s.vertices[v]);
  std::vector<std::pair<Index, Index>> pairs;
  for (const auto& [a, b] : contacts)
    if (s.shell[a] != s.shell[b]) pairs.push_back(std::minmax(s.shell[a], s.shell[b]));
  std::sort(pairs.begin(), pairs.end());
  pairs.erase(std::unique(pairs.begin(), pairs.end()), pairs.end());
  for (const auto& [a, b] : pairs) {
    if (copy[a] || copy[b]) continue;
    const double size = alike * box[a].size().norm();
    if ((box[a].low - box[b].low).norm() < size && (box[a].high - box[b].high).norm() < size &&
        std::abs(shells.volume[a] - shells.volume[b]) <= alike * std::abs(shells.volume[a]))
      copy[shells.volume[a] < shells.volume[b] ? a : b] = true;
  }
  return copy;
}

TriangleSoup without(const Surface& s, const std::vector<bool>& shells) {
  TriangleSoup out{s.vertices, {}};
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    if (!shells[s.shell[t]]) out.triangles.push_back(s.triangles[t]);
  weld_in_place(out.vertices, out.triangles);
  return out;
}

/// Rounding may have closed a sliver: triangles that lost a corner go, and pairs that have come to lie back
/// to back.
TriangleSoup tidy(TriangleSoup soup) {
  weld_in_place(soup.vertices, soup.triangles);
  std::erase_if(soup.triangles,
                [](const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
  struct Keyed {
    Triangle key;
    Index at;
    bool odd;
  };
  std::vector<Keyed> keyed;
  keyed.reserve(soup.triangles.size());
  for (Index i = 0; i < soup.triangles.size(); ++i) {
    Triangle t = soup.triangles[i];
    bool odd = false;
    for (const auto& [a, b] : {std::pair(0, 1), std::pair(1, 2), std::pair(0, 1)})
      if (t[static_cast<std::size_t>(a)] > t[static_cast<std::size_t>(b)]) {
        std::swap(t[static_cast<std::size_t>(a)], t[static_cast<std::size_t>(b)]);
        odd = !odd;
      }
    keyed.push_back({t, i, odd});
  }
  std::sort(keyed.begin(), keyed.end(),
            [](const Keyed& a, const Keyed& b) { return std::tie(a.key, a.at) < std::tie(b.key, b.at); });
  std::vector<bool> drop(soup.triangles.size());
  for (std::size_t i = 0; i < keyed.size();) {
    std::size_t j = i;
    std::vector<Index> forward, backward;
    for (; j < keyed.size() && keyed[j].key == keyed[i].key; ++j)
      (keyed[j].odd ? backward : forward).push_back(keyed[j].at);
    for (std::size_t k = 0; k < std::min(forward.size(), backward.size()); ++k)
      drop[forward[k]] = drop[backward[k]] = true;
    i = j;
  }
  std::size_t kept = 0;
  for (std::size_t t = 0; t < soup.triangles.size(); ++t)
    if (!drop[t]) soup.triangles[kept++] = soup.triangles[t];
  soup.triangles.resize(kept);
  weld_in_place(soup.vertices, soup.triangles);
  return soup;
}

/// To a grid of a trillionth of the body, so that what rounding keeps moving past each other meets in one
/// point.
void snap(TriangleSoup& soup, const Box& box) {
  const double far =
      std::max({box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff(), box.size().norm()});
  const double step = std::exp2(std::ceil(std::log2(far)) - 40);
  for (Vec3& p : soup.vertices) p = (p / step).array().round().matrix() * step;
}

/// Nearest place on the triangles of other shells that face p, within `reach`.
struct Facing {
  Vec3 at = Vec3::Zero(), normal = Vec3::Zero();
  bool found = false;
};

/// For faces too finely divided to lay plates between them. Vertices that face another shell across less than
/// the gap are moved just into it, so that the union closes the gap. Of two shells only the later one's move.
void close_by_moving(Surface& s, double gap, United& out) {
  if (s.census.shells < 2) return;
  std::vector<Vec3> normal(s.vertices.size(), Vec3::Zero());
  std::vector<Index> shell(s.vertices.size(), none);
  for (std::size_t t = 0; t < s.triangles.size(); ++t) {
    const Triangle& c = s.triangles[t];
    const Vec3 n = (s.vertices[c[1]] - s.vertices[c[0]]).cross(s.vertices[c[2]] - s.vertices[c[0]]);
    for (const Index v : c) {
      normal[v] += n;
      shell[v] = s.shell[t];
    }
  }
  std::vector<Index> ids(s.vertices.size());
  for (Index i = 0; i < ids.size(); ++i) ids[i] = i;
  const PointTree tree(s.vertices, std::move(ids));
  std::vector<Facing> facing(s.vertices.size());
  for (std::size_t t = 0; t < s.triangles.size(); ++t) {
    const Triangle& c = s.triangles[t];
    const Vec3 &p = s.vertices[c[0]], &q = s.vertices[c[1]], &r = s.vertices[c[2]];
    const Vec3 n = (q - p).cross(r - p).normalized(), reach = Vec3::Constant(gap);
    if (!n.allFinite()) continue;
    tree.in_box(p.cwiseMin(q).cwiseMin(r) - reach, p.cwiseMax(q).cwiseMax(r) + reach, [&](Index v) {
      if (shell[v] <= s.shell[t]) return;
      const Vec3 at = nearest_on_triangle(s.vertices[v], p, q, r);
      const double d = (s.vertices[v] - at).norm();
      // In front of the triangle, and not already touching it.
      if (d > gap || (s.vertices[v] - at).dot(n) <= 0 || normal[v].dot(n) > 0.2 * normal[v].norm()) return;
      if (facing[v].found && (s.vertices[v] - facing[v].at).norm() <= d) return;
      facing[v] = {at, n, true};
    });
  }
  // Walls: faces at the vertex that do not look across the gap; parts of one direction that others lack.
  std::vector<std::vector<Vec3>> walls(s.vertices.size());
  for (const Triangle& c : s.triangles) {
    const Vec3 m =
        (s.vertices[c[1]] - s.vertices[c[0]]).cross(s.vertices[c[2]] - s.vertices[c[0]]).normalized();
    for (const Index v : c) {
      if (!facing[v].found || m.dot(facing[v].normal) < -0.87) continue;
      Vec3 part = m;
      for (const Vec3& w : walls[v]) part -= part.dot(w) * w;
      if (part.norm() > 0.5) walls[v].push_back(part.normalized());
    }
  }
  const double before = signed_volume(s.vertices, s.triangles, s.box.centre());
  for (Index v = 0; v < facing.size(); ++v) {
    if (!facing[v].found) continue;
    // Along the walls that end there, so that they stay where they are. A little beyond contact: flat faces
    // that only nearly meet would leave slivers of gap.
    const Vec3& n = facing[v].normal;
    Vec3 way = n;
    for (const Vec3& w : walls[v]) way -= way.dot(w) * w;
    if (way.dot(n) < 0.3) way = n;
    way /= way.dot(n);
    s.vertices[v] -= ((s.vertices[v] - facing[v].at).dot(n) + 0.01 * gap) * way;
    ++out.gaps;
  }
  out.gap_volume = cubic_millimetres(signed_volume(s.vertices, s.triangles, s.box.centre()) - before);
}

/// Plates between flat faces, exactly; curved ones are moved onto each other first, and what that leaves gets
/// plates too. False when gaps are left.
bool close_gaps(Surface& s, double gap, United& out) {
  constexpr std::size_t few = 16, many = 64;  // pairs of level faces; uniting curved plates takes long
  uniting::GapPlates g = uniting::plates_for_gaps(s, gap, few, true);
  if (g.too_many || g.curved) {
    const Surface before = s;
    close_by_moving(s, gap, out);
    out.widest = millimetres(gap);
    g = uniting::plates_for_gaps(s, gap, many, true);
    if (g.too_many || g.curved) {
      s = before;
      return false;
    }
  }
  out.gaps += g.places;
  out.gap_volume += cubic_millimetres(g.volume);
  out.widest = std::max(out.widest, millimetres(g.widest));
  if (g.places == 0) return true;
  TriangleSoup all{std::move(s.vertices), std::move(s.triangles)};
  const auto before = static_cast<Index>(all.vertices.size());
  all.vertices.insert(all.vertices.end(), g.plates.vertices.begin(), g.plates.vertices.end());
  for (const Triangle& t : g.plates.triangles)
    all.triangles.push_back({t[0] + before, t[1] + before, t[2] + before});
  s = make_surface(std::move(all));
  return true;
}

/// Shells that touch or cut each other.
std::size_t bodies_in(const Surface& s, const std::vector<Contact>& contacts) {
  std::vector<bool> part(s.census.shells);
  for (const auto& [a, b] : contacts) part[s.shell[a]] = part[s.shell[b]] = true;
  return static_cast<std::size_t>(std::count(part.begin(), part.end(), true));
}

Expected<United> unite_all(Surface surface, Length gap) {
  United out;
  if (!surface.census.closed() || !surface.census.oriented())
    return fail(Code::not_closed, "only closed surfaces can be united", "mend the surface first");
  if (gap > Length()) {
    const auto contacts = uniting::find_contacts(surface.vertices, surface.triangles, most_contacts);
    if (contacts) {
      out.turned = turn_inverted(surface, *contacts);
      out.contacts = contacts->size();
      out.bodies = bodies_in(surface, *contacts);
    }
    if (!close_gaps(surface, in_millimetres(gap), out))
      return fail(Code::overlaps_itself, "the gap between the bodies has too many faces to be closed exactly",
                  "join the bodies in the modelling program, or leave the gap open with --gap 0mm");
  }
  const bool counted = out.gaps > 0;
  std::size_t work = most_work;
  for (int round = 0;; ++round) {
    const bool any_flat = std::any_of(surface.triangles.begin(), surface.triangles.end(),
                                      [&](const Triangle& t) { return has_no_area(surface.vertices, t); });
    const auto contacts = uniting::find_contacts(surface.vertices, surface.triangles, most_contacts);
    if (!contacts)
      return fail(Code::overlaps_itself, "the bodies touch in too many places to be united exactly",
                  "unite them in the modelling program and export again");
    if (round == 0) {
      if (!counted) {
        out.turned = std::max(out.turned, turn_inverted(surface, *contacts));
        out.contacts = contacts->size();
        out.bodies = bodies_in(surface, *contacts);
      }
      if (!contacts->empty()) out.at = surface.vertices[surface.triangles[contacts->front().first][0]];
      out.overlap =
          cubic_millimetres(signed_volume(surface.vertices, surface.triangles, surface.box.centre()));
    }
    if (contacts->empty() && round > 0) break;
    std::vector<Contact> between = *contacts;
    std::vector<Triangle> triangles = surface.triangles;
    if (any_flat) {  // they only stitch T-junctions, and contacts do that too
      std::vector<Index> number(triangles.size(), none);
      Index kept = 0;
      for (std::size_t t = 0; t < triangles.size(); ++t)
        if (!has_no_area(surface.vertices, triangles[t])) {
          number[t] = kept;
          triangles[kept++] = triangles[t];
        }
      triangles.resize(kept);
      std::erase_if(between,
                    [&](const Contact& c) { return number[c.first] == none || number[c.second] == none; });
      for (Contact& c : between) c = {number[c.first], number[c.second]};
    }
    auto soup = uniting::outer_boundary(surface.vertices, triangles, between, work);
    if (!soup)
      return fail(Code::overlaps_itself, "the bodies could not be united exactly",
                  "unite them in the modelling program and export again");
    if (round >= plain_rounds) snap(*soup, surface.box);
    surface = make_surface(tidy(std::move(*soup)));
    if (!surface.census.closed() || !surface.census.oriented())
      return fail(Code::overlaps_itself, "the united surface did not close",
                  "unite the bodies in the modelling program and export again");
    if (round + 1 >= most_rounds || !find_self_overlap(surface.vertices, surface.triangles, true))
      break;  // what rounding has left
  }
  out.volume = cubic_millimetres(signed_volume(surface.vertices, surface.triangles, surface.box.centre()));
  out.overlap = out.overlap - out.volume;
  out.surface = std::move(surface);
  return out;
}

}  // namespace

Expected<United> unite_shells(Surface surface, Length gap) {
  if (surface.census.shells > 1 && surface.census.closed() && surface.census.oriented())
    if (const auto contacts = uniting::find_contacts(surface.vertices, surface.triangles, most_contacts)) {
      const std::vector<bool> copy = near_copies(surface, *contacts);
      if (const auto n = std::count(copy.begin(), copy.end(), true); n > 0) {
        auto alone = unite_shells(make_surface(without(surface, copy)), gap);
        if (!alone) return alone;
        const auto all = unite_all(surface, gap);
        alone->copies = static_cast<std::size_t>(n);
        alone->copies_add = (all ? all->volume : volume_by_columns(surface).high) - alone->volume;
        return alone;
      }
    }
  return unite_all(std::move(surface), gap);
}

GapFound find_gaps(const Surface& surface, Length gap) {
  const uniting::GapPlates g = uniting::plates_for_gaps(surface, in_millimetres(gap), 16, false);
  return {g.places, cubic_millimetres(g.volume), millimetres(g.widest)};
}

namespace {

/// Where bodies share an edge, the two faces of it that belong to one body: those with the material between
/// them. Faces that lie on each other bound two bodies, not one of no thickness.
void unite_across_material(const Surface& s, Index v, std::span<const EdgeUse> uses, DisjointSets& parts) {
  const Vec3 p = s.vertices[v], axis = (s.vertices[uses[0].other] - p).normalized();
  const Vec3 x = axis.unitOrthogonal(), y = axis.cross(x);
  std::vector<std::pair<double, Index>> ends, begins;  // angle at which material ends or begins, triangle
  for (const EdgeUse& u : uses) {
    const Triangle& c = s.triangles[u.half_edge / 3];
    const Vec3 w = s.vertices[c[(u.half_edge % 3 + 2) % 3]] - p;
    (u.forward ? ends : begins).emplace_back(std::atan2(w.dot(y), w.dot(x)), u.half_edge / 3);
  }
  constexpr double turn = 2 * std::numbers::pi, same = 1e-4;  // single precision makes as much on small faces
  std::vector<std::tuple<double, Index, Index>> wedges;
  for (const auto& [from, a] : begins)
    for (const auto& [to, b] : ends) {
      double wide = std::fmod(to - from + 2 * turn, turn);
      if (wide < same) wide += turn;
      wedges.emplace_back(wide, a, b);
    }
  std::sort(wedges.begin(), wedges.end());
  std::vector<Index> taken;
  const auto free = [&](Index t) { return std::find(taken.begin(), taken.end(), t) == taken.end(); };
  for (const auto& [wide, a, b] : wedges) {
    if (!free(a) || !free(b)) continue;
    taken.insert(taken.end(), {a, b});
    parts.unite(a, b);
  }
}

}  // namespace

Surface bodies_apart(Surface surface) {
  if (!surface.census.closed() || !surface.census.oriented() ||
      (surface.census.edge_manifold() && surface.census.shells < 2))
    return surface;
  DisjointSets parts(surface.triangles.size());
  for_each_edge(surface.triangles, surface.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() == 2)
      parts.unite(uses[0].half_edge / 3, uses[1].half_edge / 3);
    else
      unite_across_material(surface, v, uses, parts);
  });
  TriangleSoup out{surface.vertices, surface.triangles};
  std::map<std::pair<Index, Index>, Index> own;  // vertex and part that came later
  std::vector<Index> first(surface.vertices.size(), none);
  for (Index t = 0; t < out.triangles.size(); ++t) {
    const Index part = parts.find(t);
    for (Index& v : out.triangles[t]) {
      if (first[v] == none) first[v] = part;
      if (first[v] == part) continue;
      const auto [it, fresh] = own.try_emplace({v, part}, static_cast<Index>(out.vertices.size()));
      if (fresh) {
        const Vec3 at = out.vertices[v];
        out.vertices.push_back(at);
      }
      v = it->second;
    }
  }
  return own.empty() ? std::move(surface) : make_surface(std::move(out));
}

}  // namespace pourwright

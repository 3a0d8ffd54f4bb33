// SPDX-License-Identifier: GPL-3.0-or-later
// Overlapping shells made the boundary of one body: gaps closed, then rounds of contacts, arrangement and
// rounding until nothing touches any more. Law: what is wrapped at least once is the body; only new vertices
// are rounded.
#include <pourwright/union.hpp>

#include "geometry/mesh/nearest.hpp"
#include "geometry/mesh/point_tree.hpp"
#include "geometry/mesh/predicates.hpp"
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/mesh/vertex_welder.hpp"
#include "geometry/union/arrangement.hpp"
#include "geometry/union/gaps.hpp"
#include "geometry/union/shells.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace pourwright {
namespace {

using uniting::Contact;

constexpr std::size_t most_contacts = 1'000'000;
/// For all rounds together, in contacts as the arrangement counts them. A surface that passes through itself
/// in bundles has places where contacts cross by the million.
constexpr std::size_t most_work = 320'000;

constexpr int plain_rounds = 2, most_rounds = 6;

bool has_no_area(const std::vector<Vec3>& v, const Triangle& t) {
  const Vec3 &p = v[t[0]], &q = v[t[1]], &r = v[t[2]];
  for (int k = 0; k < 3; ++k)
    if (orient2d(p[k], p[(k + 1) % 3], q[k], q[(k + 1) % 3], r[k], r[(k + 1) % 3]) != 0) return false;
  return true;
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
  const double before = uniting::signed_volume(s.vertices, s.triangles, s.box.centre());
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
  out.gap_volume =
      cubic_millimetres(uniting::signed_volume(s.vertices, s.triangles, s.box.centre()) - before);
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

Expected<United> unite_all(Surface surface, Length gap) {
  United out;
  if (!surface.census.closed() || !surface.census.oriented())
    return fail(Code::not_closed, "only closed surfaces can be united", "mend the surface first");
  if (gap > Length()) {
    const auto contacts = uniting::find_contacts(surface.vertices, surface.triangles, most_contacts);
    if (contacts) {
      out.turned = uniting::turn_inverted(surface, *contacts);
      out.contacts = contacts->size();
      out.bodies = uniting::bodies_in(surface, *contacts);
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
        out.turned = std::max(out.turned, uniting::turn_inverted(surface, *contacts));
        out.contacts = contacts->size();
        out.bodies = uniting::bodies_in(surface, *contacts);
      }
      if (!contacts->empty()) out.at = surface.vertices[surface.triangles[contacts->front().first][0]];
      out.overlap = cubic_millimetres(
          uniting::signed_volume(surface.vertices, surface.triangles, surface.box.centre()));
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
  out.volume =
      cubic_millimetres(uniting::signed_volume(surface.vertices, surface.triangles, surface.box.centre()));
  out.overlap = out.overlap - out.volume;
  out.surface = std::move(surface);
  return out;
}

}  // namespace

Expected<United> unite_shells(Surface surface, Length gap) {
  if (surface.census.shells > 1 && surface.census.closed() && surface.census.oriented())
    if (const auto contacts = uniting::find_contacts(surface.vertices, surface.triangles, most_contacts)) {
      const std::vector<bool> copy = uniting::near_copies(surface, *contacts);
      if (const auto n = std::count(copy.begin(), copy.end(), true); n > 0) {
        auto alone = unite_shells(make_surface(uniting::without(surface, copy)), gap);
        if (!alone) return alone;
        Volume all = volume_by_columns(surface).high;
        if (n == 1)  // of many copies nearly every triangle crosses nearly every other
          if (const auto exact = unite_all(surface, gap)) all = exact->volume;
        alone->copies = static_cast<std::size_t>(n);
        alone->copies_add = all - alone->volume;
        return alone;
      }
    }
  return unite_all(std::move(surface), gap);
}

GapFound find_gaps(const Surface& surface, Length gap) {
  const uniting::GapPlates g = uniting::plates_for_gaps(surface, in_millimetres(gap), 16, false);
  return {g.places, cubic_millimetres(g.volume), millimetres(g.widest)};
}

}  // namespace pourwright

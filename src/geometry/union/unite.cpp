// SPDX-License-Identifier: GPL-3.0-or-later
// Overlapping shells made the boundary of one body: gaps closed, then rounds of contacts, arrangement and
// rounding until nothing touches any more. Law: what is wrapped at least once is the body; only new vertices
// are rounded.
#include <pourwright/union.hpp>

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

/// Plates and bars are added to the bodies. False when gaps are left.
bool close_gaps(Surface& s, double gap, United& out) {
  const uniting::GapPlates g = uniting::plates_for_gaps(s, gap, true);
  if (g.too_many) return false;
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
        const auto all = unite_all(surface, gap);
        alone->copies = static_cast<std::size_t>(n);
        alone->copies_add = (all ? all->volume : volume_by_columns(surface).high) - alone->volume;
        return alone;
      }
    }
  return unite_all(std::move(surface), gap);
}

GapFound find_gaps(const Surface& surface, Length gap) {
  const uniting::GapPlates g = uniting::plates_for_gaps(surface, in_millimetres(gap), false);
  return {g.places, cubic_millimetres(g.volume), millimetres(g.widest)};
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// How a piece leaves its mold: the opening, the pull as given, the best pull, two parts. Law: another
// direction or another opening is only named where it leaves less undercut, or as little with more draft.
#include <pourwright/release.hpp>

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/release/wall.hpp"

#include <algorithm>
#include <array>

namespace pourwright {
namespace {

using namespace release;

/// The flat sides on which the piece could stand, the largest first: as openings they are all there is.
std::vector<Vec3> flat_sides(const Wall& wall) {
  std::vector<Index> order(wall.triangles.size());
  for (Index t = 0; t < order.size(); ++t) order[t] = t;
  constexpr std::size_t most = 12;
  const std::size_t looked_at = std::min<std::size_t>(order.size(), 200);
  std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(looked_at), order.end(),
                    [&](Index a, Index b) {
                      return wall.area[a] > wall.area[b] || (wall.area[a] == wall.area[b] && a < b);
                    });
  std::vector<Vec3> out;
  for (std::size_t i = 0; i < looked_at && out.size() < most; ++i) {
    const Vec3& n = wall.normal[order[i]];
    const bool known = std::any_of(out.begin(), out.end(), [&](const Vec3& d) { return d.dot(n) > 0.9998; });
    if (n.norm() > 0.5 && !known) out.push_back(n);
  }
  return out;
}

/// Another side as the opening, when it leaves less undercut.
void try_turned(const Wall& wall, const RayScene& scene, const ReleaseOptions& options, Release& r) {
  Pull& best = r.best;
  for (const Vec3& out : flat_sides(wall)) {
    const Mouth mouth = find_mouth(wall, out, {});
    if (mouth.kind == Opening::nowhere) continue;
    const Vec3 d = search_pull(wall, mouth, out);
    Pull p = pull_along(wall, scene, mouth, d, options.hold);
    if (in_square_millimetres(p.undercut) >=
        in_square_millimetres(best.undercut) - 1e-4 * in_square_millimetres(r.wall))
      continue;
    best = std::move(p);
    r.best_is_turned = true;
  }
}

/// A pull that is given decides where the opening is when the piece has no flat top, or when nothing could be
/// pulled out of its top that way.
Mouth opening_of(const Wall& wall, const ReleaseOptions& options) {
  const Vec3 out = options.out.normalized();
  Mouth mouth = find_mouth(wall, out, options.levels);
  if (!options.pull || !options.levels.empty()) return mouth;
  const Vec3 pull = options.pull->normalized();
  if (mouth.kind != Opening::nowhere && pull.dot(out) > 0.5) return mouth;
  Mouth there = find_mouth(wall, pull, {});
  return there.kind == Opening::nowhere ? mouth : there;
}

}  // namespace

std::string_view name(Opening opening) {
  static constexpr std::array<std::string_view, 3> names{"fill-plane", "flat-top", "nowhere"};
  return names[static_cast<std::size_t>(opening)];
}

Expected<Release> find_release(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                               const ReleaseOptions& options) {
  const Wall wall = make_wall(vertices, triangles);
  double total = 0;
  for (const double a : wall.area) total += a;
  if (!(total > 0))
    return fail(Code::no_volume, "the piece has no surface, so nothing can be said of its release");
  const auto scene = RayScene::build(vertices, triangles);
  if (!scene) return scene.error();
  const Mouth mouth = opening_of(wall, options);
  const Vec3 out = mouth.normal;
  Release r;
  r.opening = mouth.kind;
  r.opening_area = square_millimetres(mouth.area);
  r.wall = square_millimetres(total - mouth.area);
  r.pull = pull_along(wall, *scene, mouth, options.pull ? options.pull->normalized() : out, options.hold);
  r.best = r.pull;
  if (options.search) {
    const Vec3 d = search_pull(wall, mouth, out);
    Pull found = pull_along(wall, *scene, mouth, d, options.hold);
    // Less area that lies deeper is no better.
    const bool less = found.undercut < r.pull.undercut && found.depth <= r.pull.depth;
    const bool steeper =
        found.undercut == r.pull.undercut && found.min_draft_degrees > r.pull.min_draft_degrees;
    if (less || steeper) r.best = std::move(found);
    if (options.may_turn && r.best.undercut > Area()) try_turned(wall, *scene, options, r);
  }
  if (options.part) r.parting = search_parting(wall, *scene, out);
  r.leaves_rigid = r.pull.places.empty();
  r.leaves_flexible = std::all_of(r.pull.places.begin(), r.pull.places.end(),
                                  [&](const Undercut& u) { return u.stretch <= options.stretch; });
  return r;
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// The meshes of a measured file → thickness, thin spots, draft and undercut, as plain values.
#include "pipeline/look.hpp"

#include <pourwright/release.hpp>
#include <pourwright/solid.hpp>
#include <pourwright/walls.hpp>

#include <algorithm>
#include <utility>

namespace pourwright {
namespace {

Vec3 vector(const Point& p) {
  return {p[0], p[1], p[2]};
}

TriangleSoup one_soup(const std::vector<TriangleSoup>& parts) {
  TriangleSoup all;
  for (const TriangleSoup& s : parts) {
    const auto base = static_cast<Index>(all.vertices.size());
    all.vertices.insert(all.vertices.end(), s.vertices.begin(), s.vertices.end());
    for (const Triangle& t : s.triangles) all.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
  }
  return all;
}

SpotRow spot_row(const ThinSpot& s) {
  SpotRow r;
  r.kind = name(s.kind);
  r.thickness = s.thickness;
  r.typical = s.typical;
  r.at = point(s.at);
  r.end = point(s.end);
  r.normal = point(s.normal);
  r.outward = point(s.outward);
  r.reach = s.reach;
  r.width = s.width;
  r.span = s.span;
  r.area = s.area;
  return r;
}

WallsRow walls_row(const Walls& w, const Inspection& how) {
  WallsRow r;
  r.of = how.of_mold ? "mold" : "piece";
  r.samples = w.samples;
  r.samples_per_mm2 = w.samples_per_mm2;
  r.min = w.min;
  r.p05 = w.p05;
  r.median = w.median;
  r.ray_min = w.ray_min;
  r.ray_median = w.ray_median;
  r.min_at = point(w.min_at);
  r.limit = how.limit;
  r.thin_area = w.thin_area;
  r.thin_share = w.thin_share;
  r.histogram_step = w.histogram.step;
  r.histogram = w.histogram.share;
  for (const ThinSpot& s : w.spots) r.spots.push_back(spot_row(s));
  return r;
}

ReleaseRow release_row(const Release& x, double stretch) {
  ReleaseRow r;
  r.pull = point(x.pull.direction);
  r.opening = name(x.opening);
  r.opening_area = x.opening_area;
  r.wall = x.wall;
  r.undercut = x.pull.undercut;
  r.share = x.pull.share;
  r.depth = x.pull.depth;
  r.min_draft_degrees = x.pull.min_draft_degrees;
  r.min_draft_at = point(x.pull.min_draft_at);
  for (const Undercut& u : x.pull.places) r.places.push_back({u.area, u.depth, point(u.at), u.stretch});
  r.best_pull = point(x.best.direction);
  r.best_undercut = x.best.undercut;
  r.best_min_draft_degrees = x.best.min_draft_degrees;
  r.best_is_turned = x.best_is_turned;
  r.leaves_rigid = x.leaves_rigid;
  r.leaves_flexible = x.leaves_flexible;
  r.stretch = stretch;
  if (x.parting) r.parting = {point(x.parting->axis), x.parting->undercut, x.parting->share};
  return r;
}

Expected<Walls> walls_of(TriangleSoup soup, const Inspection& how) {
  // The file's own proof was made, or left out and said.
  auto taken = take_closed(make_surface(std::move(soup)));
  if (!taken) return taken.error();
  WallsOptions o;
  o.limit = how.limit;
  if (how.in_short) o.samples = 1'000;
  return measure_walls(taken->body, o);
}

Expected<Release> release_of(const TriangleSoup& piece, const Measured& m, const Inspection& how) {
  ReleaseOptions o;
  o.out = vector(m.row.up);
  o.levels = m.levels;
  if (how.pull) o.pull = vector(*how.pull);
  o.may_turn = m.row.read_as == "piece";
  o.search = o.part = !how.in_short;
  o.stretch = how.stretch;
  // A scan's noise is no undercut.
  if (m.row.read_as == "scan") o.hold = millimetres(0.3);
  return find_release(piece.vertices, piece.triangles, o);
}

}  // namespace

void look(Measured& m, const Inspection& how) {
  Notes& notes = m.row.notes;
  const auto leave_out = [&](std::string why, bool warning) {
    notes.push_back({"not-inspected", std::move(why), warning});
  };
  if (how.in_short && m.row.triangles > most_for_card)
    return leave_out("walls and release of so large a mesh are left to pourwright inspect", false);
  const bool is_piece = m.row.read_as == "piece";
  TriangleSoup piece = is_piece ? m.mesh : one_soup(m.pieces);
  if (piece.triangles.empty() && !how.in_short)
    leave_out(is_piece ? "walls and release need a surface that does not cut through itself"
                       : "there is no piece to inspect: the mold holds nothing as it stands",
              true);
  if (!piece.triangles.empty())
    if (auto release = release_of(piece, m, how)) m.release = release_row(*release, how.stretch);
  if (m.release && m.release->opening == name(Opening::nowhere) && !how.in_short)
    notes.push_back(
        {"no-opening",
         "the piece has no flat top, so where it is filled is not known: everything that looks up counts "
         "as undercut; say which way the opening is with --up",
         true});
  if (how.of_mold && m.row.read_as != "mold") {
    notes.push_back(
        {"mold-not-there", "the file does not show the mold itself, so its walls are not known", true});
    return;
  }
  if (piece.triangles.empty() && !how.of_mold) return;
  auto walls = walls_of(how.of_mold ? m.mesh : std::move(piece), how);
  if (!walls) {
    if (!how.in_short) leave_out("the walls could not be measured: " + walls.error().text, true);
    return;
  }
  m.walls = walls_row(*walls, how);
  if (!how.in_short) std::move(walls->notes.begin(), walls->notes.end(), std::back_inserter(notes));
}

}  // namespace pourwright

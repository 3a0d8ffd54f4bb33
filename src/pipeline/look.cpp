// SPDX-License-Identifier: GPL-3.0-or-later
// The meshes of a measured file → thickness, thin spots, draft and undercut, as plain values.
#include "pipeline/look.hpp"

#include <pourwright/release.hpp>
#include <pourwright/solid.hpp>
#include <pourwright/walls.hpp>

#include "geometry/mesh/points.hpp"

#include <algorithm>
#include <utility>

namespace pourwright {
namespace {

TriangleSoup one_soup(const std::vector<TriangleSoup>& parts) {
  TriangleSoup all;
  for (const TriangleSoup& s : parts) {
    const auto base = static_cast<Index>(all.vertices.size());
    all.vertices.insert(all.vertices.end(), s.vertices.begin(), s.vertices.end());
    for (const Triangle& t : s.triangles) all.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
  }
  return all;
}

Expected<Walls> walls_of(TriangleSoup soup, const Inspection& how) {
  // The file's own proof was made, or left out and said.
  auto taken = take_closed(make_surface(std::move(soup)));
  if (!taken) return taken.error();
  WallsOptions o;
  o.limit = how.limit;
  if (how.in_short) o.samples = 1'000;
  auto walls = measure_walls(taken->body, o);
  if (!walls) return walls.error();
  Walls out = std::move(*walls);
  out.of = how.of_mold ? WallsOf::mold : WallsOf::piece;
  return out;
}

Expected<Release> release_of(const TriangleSoup& piece, const Measured& m, const Inspection& how) {
  ReleaseOptions o;
  o.out = vec3(m.row.up);
  o.levels = m.levels;
  if (how.pull) o.pull = vec3(*how.pull);
  o.may_turn = m.row.read_as(Reading::piece);
  o.search = o.part = !how.in_short;
  o.stretch = how.stretch;
  // A scan's noise is no undercut.
  if (m.row.read_as(Reading::scan)) o.hold = millimetres(0.3);
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
  const bool is_piece = m.row.read_as(Reading::piece);
  TriangleSoup piece = is_piece ? m.mesh : one_soup(m.pieces);
  if (piece.triangles.empty() && !how.in_short)
    leave_out(is_piece ? "walls and release need a surface that does not cut through itself"
                       : "there is no piece to inspect: the mold holds nothing as it stands",
              true);
  if (!piece.triangles.empty())
    if (auto release = release_of(piece, m, how)) m.release = std::move(*release);
  if (m.release && m.release->opening == Opening::nowhere && !how.in_short)
    notes.push_back(
        {"no-opening",
         "the piece has no flat top, so where it is filled is not known: everything that looks up counts "
         "as undercut; say which way the opening is with --up",
         true});
  if (how.of_mold && !m.row.read_as(Reading::mold)) {
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
  m.walls = std::move(*walls);
}

}  // namespace pourwright

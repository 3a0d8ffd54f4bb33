// SPDX-License-Identifier: GPL-3.0-or-later
// What the steps of a repair hand to each other.
#pragma once

#include <pourwright/repair.hpp>

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/half_edges.hpp"

namespace pourwright::mending {

struct Workpiece {
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;
  double size = 0;  ///< diagonal of the box
  std::vector<RepairStep> steps;

  Index from(HalfEdge h) const { return triangles[h / 3][h % 3]; }
  Index to(HalfEdge h) const { return from(next(h)); }
  /// Twice the area, along the normal.
  Vec3 normal(std::size_t t) const {
    const Triangle& c = triangles[t];
    return (vertices[c[1]] - vertices[c[0]]).cross(vertices[c[2]] - vertices[c[0]]);
  }
  Vec3 middle(std::size_t t) const {
    const Triangle& c = triangles[t];
    return vertices[c[0]] + ((vertices[c[1]] - vertices[c[0]]) + (vertices[c[2]] - vertices[c[0]])) / 3;
  }
  /// The step with this code, made when it is new.
  RepairStep& step(std::string_view code) {
    for (RepairStep& s : steps)
      if (s.code == code) return s;
    steps.push_back({std::string(code), 0, Vec3::Zero(), Volume(), Volume(), {}});
    return steps.back();
  }
  template <class Keep>
  void keep_triangles(Keep keep) {
    std::size_t kept = 0;
    for (std::size_t t = 0; t < triangles.size(); ++t)
      if (keep(t)) triangles[kept++] = triangles[t];
    triangles.resize(kept);
  }
};

// ---- the steps, in the order in which they run
// -------------------------------------------------------------

/// Of a face that was written twice one copy stays, of a face that two bodies share none; triangles without
/// area go.
void drop_coincident(Workpiece& w);
/// Of a closed surface: triangles that are there again, facing the same way, when without them it is closed
/// still. Returns how many went.
std::size_t drop_copies(std::vector<Triangle>& triangles);
/// Border vertices on the border edge of another triangle split it; borders that run along each other within
/// `reach` (a share of the local edge length) become one, beyond a thousandth only from an end they share.
/// True when something was closed. O(n log n) for borders that do not crowd; a bound on the work ends it
/// otherwise.
bool close_seams(Workpiece& w, double reach);
/// Sheets that hang on a closed surface: of the patches that meet where more than two triangles do, those
/// without which the surface is closed.
void drop_flaps(Workpiece& w);
/// Faces one way across every edge, by the majority of the area of each component.
void orient(Workpiece& w);
/// Components too small to be a body, and flat sheets. `single`: all but the largest.
void drop_crumbs(Workpiece& w);

/// For each half-edge the one it is joined with, none at a border. Where more than two triangles meet they
/// are paired as they lie round the edge.
std::vector<HalfEdge> pair_up(const Workpiece& w);

struct HoleReport {
  std::vector<Triangle> least, most;  ///< triangles that replace those of the chosen closings
  std::size_t first_fill = 0;         ///< where the chosen closings begin
  bool rim_kept = false;
  std::vector<Patched> patches;  ///< see Repaired
};
/// Closes borders with triangles, flat or following the surface round them.
HoleReport close_borders(Workpiece& w, const RepairOptions& options);

}  // namespace pourwright::mending

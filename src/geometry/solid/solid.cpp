// SPDX-License-Identifier: GPL-3.0-or-later
// From triangles that meet to a body with an inside. Whether a shell bounds material or a void is decided
// from the outside in: an outward shell wraps its inside once more, an inward one once less, and the wrapping
// number may never be negative. Which shell lies in which is told by the parity of crossings along a line,
// decided by exact signs.
#include <pourwright/solid.hpp>

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/half_edges.hpp"
#include "geometry/mesh/self_overlap.hpp"
#include "geometry/mesh/vertical_lines.hpp"

#include <algorithm>
#include <numeric>
#include <optional>

#include <fmt/format.h>

namespace pourwright {

struct SolidBuilder {
  static Expected<ClosedBodyResult> close(Surface s);
  static Expected<SolidResult> prove(Surface s);
  static Expected<OpenSurfaceResult> open(Surface s, const Vec3& up);
  static Expected<ProvenOpenSurfaceResult> prove_open(Surface s, const Vec3& up);
};

namespace {

std::string place(const Vec3& p) {
  return fmt::format("({:.4g}, {:.4g}, {:.4g}) mm", p.x(), p.y(), p.z());
}

std::string counted(std::size_t n, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

std::optional<Problem> topology_problem(const Census& c) {
  if (c.triangles == 0)
    return fail(Code::no_triangles, "there is no triangle in the mesh", "export the model as a mesh");
  if (!c.closed()) {
    std::string text =
        fmt::format("the surface is not closed: {}", counted(c.odd_edges, "open edge", "open edges"));
    if (c.boundary_edges > 0) text += fmt::format(", one near {}", place(c.boundary_at));
    return fail(Code::not_closed, text, "close the holes in the modelling or scan program and export again");
  }
  if (!c.oriented())
    return fail(Code::not_oriented,
                fmt::format("triangles face different ways across {}, one near {}",
                            counted(c.misoriented_edges, "edge", "edges"), place(c.misoriented_at)),
                "recalculate the outward normals in the modelling program and export again");
  return std::nullopt;
}

std::optional<Problem> shared_edge_problem(const Surface& s) {
  if (s.census.edge_manifold()) return std::nullopt;
  const MixedEdges mixed = find_mixed_edges(s.vertices, s.triangles);
  if (mixed.count == 0) return std::nullopt;
  return fail(
      Code::not_oriented,
      fmt::format("bodies that share {} face different ways there or lie one inside the other, one near {}",
                  counted(mixed.count, "edge", "edges"), place(mixed.at)),
      "recalculate the outward normals in the modelling program, or unite the bodies, and export again");
}

std::optional<Problem> overlap_problem(const std::vector<Vec3>& vertices,
                                       const std::vector<Triangle>& triangles, bool even) {
  const auto hit = find_self_overlap(vertices, triangles, even);
  if (!hit) return std::nullopt;
  return fail(
      Code::overlaps_itself,
      fmt::format("the surface cuts or touches itself near {} (triangles {} and {})", place(hit->at),
                  hit->first + 1, hit->second + 1),
      "unite the bodies (Boolean union) in the modelling program, or separate them, and export again");
}

void turn(Triangle& t) {
  std::swap(t[1], t[2]);
}

/// A point of every shell that no other shell touches: a vertex of its own, or the middle of its largest
/// triangle.
std::vector<Vec3> own_points(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                             const std::vector<Index>& shell_of, std::size_t count) {
  constexpr Index several = none - 1;
  std::vector<Index> user(vertices.size(), none), own(count, none);
  for (std::size_t t = 0; t < triangles.size(); ++t)
    for (const Index v : triangles[t])
      user[v] = user[v] == none || user[v] == shell_of[t] ? shell_of[t] : several;
  for (Index v = 0; v < user.size(); ++v)
    if (user[v] < count && own[user[v]] == none) own[user[v]] = v;
  std::vector<Vec3> points(count, Vec3::Zero());
  std::vector<double> largest(count, -1);
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    const Index i = shell_of[t];
    if (own[i] != none) continue;
    const Vec3 &p = vertices[triangles[t][0]], &q = vertices[triangles[t][1]], &r = vertices[triangles[t][2]];
    const double area = (q - p).cross(r - p).norm();
    if (area <= largest[i]) continue;
    largest[i] = area;
    points[i] = p + ((q - p) + (r - p)) / 3;
  }
  for (std::size_t i = 0; i < count; ++i)
    if (own[i] != none) points[i] = vertices[own[i]];
  return points;
}

/// Which shells lie around which: every shell sends a line up from a point of its own; it lies inside the
/// shells that line crosses an odd number of times above it.
void nest(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
          const std::vector<Index>& shell_of, std::vector<Shell>& shells) {
  const std::size_t count = shells.size();
  std::vector<VerticalLine> lines;
  for (const Vec3& p : own_points(vertices, triangles, shell_of, count)) lines.push_back({p, p});
  std::vector<std::pair<Index, Index>> crossings;  // (shell of the point, shell crossed above it)
  for_each_crossing(vertices, triangles, lines, [&](Index p, Index t, int sign) {
    const Triangle& c = triangles[t];
    if (shell_of[t] != p &&
        above_plane(vertices[c[0]], vertices[c[1]], vertices[c[2]], sign, lines[p].at) < 0)
      crossings.emplace_back(p, shell_of[t]);
  });
  std::sort(crossings.begin(), crossings.end());
  std::vector<std::vector<Index>> around(count);
  for (std::size_t i = 0; i < crossings.size();) {
    std::size_t j = i;
    while (j < crossings.size() && crossings[j] == crossings[i]) ++j;
    if ((j - i) % 2 == 1) around[crossings[i].first].push_back(crossings[i].second);
    i = j;
  }
  for (std::size_t i = 0; i < count; ++i) {
    shells[i].depth = static_cast<int>(around[i].size());
    for (const Index a : around[i])
      if (shells[i].parent == none || around[a].size() > around[shells[i].parent].size())
        shells[i].parent = a;
  }
}

/// Decides for each shell, outermost first, whether it bounds material or a void, by counting how often its
/// inside is wrapped: outward faces add one, inward faces take one away.
Expected<Notes> assign_roles(std::vector<Shell>& shells, const std::vector<double>& signed_volume) {
  Notes notes;
  std::vector<Index> order(shells.size());
  std::iota(order.begin(), order.end(), Index{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](Index a, Index b) { return shells[a].depth < shells[b].depth; });
  std::vector<int> wrapped(shells.size());
  std::vector<bool> tree_turned(shells.size());
  std::size_t turned = 0, hollow = 0, redundant = 0;
  for (const Index i : order) {
    Shell& s = shells[i];
    const bool root = s.parent == none;
    const int outside = root ? 0 : wrapped[s.parent];
    tree_turned[i] = root ? signed_volume[i] < 0 : tree_turned[s.parent];
    const int direction = (signed_volume[i] < 0) != tree_turned[i] ? -1 : 1;
    const int inside = outside + direction;
    if (inside < 0)
      return fail(Code::shells_contradict,
                  fmt::format("shell {} is a void that lies in a void ({} triangles)", i + 1, s.triangles),
                  "turn the normals of the inner shells in the modelling program, or remove them");
    wrapped[i] = inside;
    s.turned = tree_turned[i];
    s.role = direction < 0 ? (inside == 0 ? ShellRole::hollow : ShellRole::redundant)
                           : (outside == 0 ? ShellRole::body : ShellRole::redundant);
    turned += s.turned ? 1 : 0;
    hollow += s.role == ShellRole::hollow ? 1 : 0;
    redundant += s.role == ShellRole::redundant ? 1 : 0;
  }
  if (turned > 0)
    notes.push_back({"inverted",
                     turned == shells.size() ? "the file was inside out; it was turned"
                                             : fmt::format("{} of {} shells were inside out and were turned",
                                                           turned, shells.size()),
                     false});
  if (hollow > 0)
    notes.push_back(
        {"closed-void",
         fmt::format("{} inside, not counted as material", counted(hollow, "closed void", "closed voids")),
         false});
  if (redundant > 0)
    notes.push_back({"body-inside-body",
                     fmt::format("{} inside the material of another, counted once",
                                 counted(redundant, "body lies", "bodies lie")),
                     true});
  return notes;
}

}  // namespace

Interval<Volume> ClosedBody::volume() const {
  const double v = measures_.volume, e = measures_.volume_error;
  Interval<Volume> out{cubic_millimetres(v), cubic_millimetres(v - e), cubic_millimetres(v + e), {}};
  out.reasons.push_back({"rounding", v > 0 ? e / v : 0});
  return out;
}

Expected<ClosedBodyResult> SolidBuilder::close(Surface s) {
  if (auto problem = topology_problem(s.census)) return *problem;
  if (auto problem = shared_edge_problem(s)) return *problem;

  ClosedBodyResult out{ClosedBody(), {}};
  ClosedBody& solid = out.body;
  solid.shells_.resize(s.census.shells);
  const Vec3 centre = s.box.centre();
  std::vector<double> signed_volume(s.census.shells);
  if (s.census.shells == 1) {
    solid.measures_ = measure(s.vertices, s.triangles, centre);
    solid.shells_[0].triangles = s.triangles.size();
    signed_volume[0] = solid.measures_.volume;
  } else {
    // Triangles in shell order, so that each shell is one span.
    std::vector<Index> start(s.census.shells + 1, 0);
    for (const Index c : s.shell) ++start[c + 1];
    std::partial_sum(start.begin(), start.end(), start.begin());
    std::vector<Triangle> sorted(s.triangles.size());
    std::vector<Index> next(start.begin(), start.end() - 1);
    for (std::size_t t = 0; t < s.triangles.size(); ++t) sorted[next[s.shell[t]]++] = s.triangles[t];
    for (std::size_t i = 0; i < s.census.shells; ++i) {
      const std::span<const Triangle> part(sorted.data() + start[i], start[i + 1] - start[i]);
      solid.shells_[i].triangles = part.size();
      Box box;  // measured about its own middle: small shells far out keep their digits
      for (const Triangle& t : part)
        for (const Index v : t) box.add(s.vertices[v]);
      signed_volume[i] = measure(s.vertices, part, box.centre()).volume;
    }
    nest(s.vertices, s.triangles, s.shell, solid.shells_);
  }
  for (std::size_t i = 0; i < s.census.shells; ++i)
    solid.shells_[i].enclosed = cubic_millimetres(std::abs(signed_volume[i]));

  auto notes = assign_roles(solid.shells_, signed_volume);
  if (!notes) return notes.error();
  out.notes = std::move(*notes);
  if (s.census.nonmanifold_edges > 0)
    out.notes.push_back(
        {"shared-edges",
         fmt::format("{} where more than two triangles meet, one near {}",
                     counted(s.census.nonmanifold_edges, "edge", "edges"), place(s.census.nonmanifold_at)),
         false});
  if (s.census.degenerate > 0)
    out.notes.push_back(
        {"degenerate-triangles",
         fmt::format("{} without area left out", counted(s.census.degenerate, "triangle", "triangles")),
         false});

  const bool any_turned =
      std::any_of(solid.shells_.begin(), solid.shells_.end(), [](const Shell& c) { return c.turned; });
  const bool any_redundant = std::any_of(solid.shells_.begin(), solid.shells_.end(),
                                         [](const Shell& c) { return c.role == ShellRole::redundant; });
  if (any_turned || any_redundant || s.census.shells > 1) {
    std::size_t kept = 0;
    for (std::size_t t = 0; t < s.triangles.size(); ++t) {
      const Shell& shell = solid.shells_[s.shell[t]];
      if (shell.role == ShellRole::redundant) continue;
      s.triangles[kept] = s.triangles[t];
      if (shell.turned) turn(s.triangles[kept]);
      ++kept;
    }
    s.triangles.resize(kept);
    solid.measures_ = measure(s.vertices, s.triangles, centre);
  }
  if (!(solid.measures_.volume > 1e-12 * solid.measures_.area * s.box.size().norm()))
    return fail(Code::no_volume, "the surface is closed but encloses nothing",
                "check that the model is not flat");
  solid.box_ = s.box;
  solid.vertices_ = std::move(s.vertices);
  solid.triangles_ = std::move(s.triangles);
  return out;
}

Expected<SolidResult> SolidBuilder::prove(Surface s) {
  if (auto problem = topology_problem(s.census)) return *problem;
  if (auto problem = overlap_problem(s.vertices, s.triangles, true)) return *problem;
  auto closed = close(std::move(s));
  if (!closed) return closed.error();
  return SolidResult{Solid(std::move(closed->body)), std::move(closed->notes)};
}

Expected<ClosedBodyResult> take_closed(Surface surface) {
  return SolidBuilder::close(std::move(surface));
}

Expected<SolidResult> prove_solid(Surface surface) {
  return SolidBuilder::prove(std::move(surface));
}

namespace {

std::optional<Problem> rim_problem(const Census& c) {
  if (c.boundary_edges == 0) return fail(Code::internal, "a closed surface was taken for a scan");
  if (c.misoriented_edges > 0 || c.nonmanifold_edges > 0)
    return fail(Code::not_closed,
                fmt::format("the surface is open ({}) and damaged: {}, {}",
                            counted(c.boundary_edges, "open edge", "open edges"),
                            counted(c.misoriented_edges, "flipped edge", "flipped edges"),
                            counted(c.nonmanifold_edges, "crowded edge", "crowded edges")),
                "repair it in the scan program: one open rim, no flipped or doubled faces");
  if (c.shells != 1)
    return fail(Code::not_closed, fmt::format("the surface is open and falls into {} pieces", c.shells),
                "remove loose fragments in the scan program and export again");
  return std::nullopt;
}

}  // namespace

Expected<OpenSurfaceResult> SolidBuilder::open(Surface s, const Vec3& up) {
  if (auto problem = rim_problem(s.census)) return *problem;
  // A frame with `up` as its third axis.
  const Vec3 u = up.normalized();
  const Vec3 e1 = u.unitOrthogonal(), e2 = u.cross(e1);
  const auto plan = [&](const Vec3& p) { return Vec3(p.dot(e1), p.dot(e2), 0); };
  DisjointSets loops(s.vertices.size());
  std::vector<bool> on_border(s.vertices.size());
  Box border, all;
  for (const Vec3& p : s.vertices) all.add(plan(p));
  for_each_edge(s.triangles, s.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() != 1) return;
    loops.unite(v, uses[0].other);
    on_border[v] = on_border[uses[0].other] = true;
    border.add(plan(s.vertices[v]));
    border.add(plan(s.vertices[uses[0].other]));
  });
  std::size_t loop_count = 0;
  for (Index v = 0; v < s.vertices.size(); ++v)
    if (on_border[v] && loops.find(v) == v) ++loop_count;
  if (loop_count != 1)
    return fail(
        Code::not_closed,
        fmt::format("the surface is open with {} borders, one near {}; a scan of a mold has one, its rim",
                    loop_count, place(s.census.boundary_at)),
        "fill the holes in the scan program, leave the rim open, and export again");
  // A hole is small against the piece; a rim goes round it.
  const Vec3 border_size = border.size(), size = all.size();
  if (border_size.x() < 0.5 * size.x() || border_size.y() < 0.5 * size.y())
    return fail(Code::not_closed,
                fmt::format("the surface has a hole of {:.3g} × {:.3g} mm near {} ({})", border_size.x(),
                            border_size.y(), place(s.census.boundary_at),
                            counted(s.census.boundary_edges, "open edge", "open edges")),
                "close the hole in the modelling or scan program and export again");

  OpenSurfaceResult out{OpenSurface(), {}};
  // The liquid side faces up on balance: the sum of n·u over the area is the rim's plan area.
  double facing = 0;
  const Vec3 centre = s.box.centre();
  for (const Triangle& t : s.triangles) {
    const Vec3 p = s.vertices[t[0]] - centre, q = s.vertices[t[1]] - centre, r = s.vertices[t[2]] - centre;
    facing += (q - p).cross(r - p).dot(u);
  }
  if (facing < 0) {
    for (Triangle& t : s.triangles) turn(t);
    out.notes.push_back({"inverted", "the scan faced down; it was turned", false});
  }
  out.surface.box_ = s.box;
  out.surface.vertices_ = std::move(s.vertices);
  out.surface.triangles_ = std::move(s.triangles);
  return out;
}

Expected<ProvenOpenSurfaceResult> SolidBuilder::prove_open(Surface s, const Vec3& up) {
  if (auto problem = rim_problem(s.census)) return *problem;
  if (auto problem = overlap_problem(s.vertices, s.triangles, false)) return *problem;
  auto open = SolidBuilder::open(std::move(s), up);
  if (!open) return open.error();
  return ProvenOpenSurfaceResult{ProvenOpenSurface(std::move(open->surface)), std::move(open->notes)};
}

Expected<OpenSurfaceResult> take_open_surface(Surface surface, const Vec3& up) {
  return SolidBuilder::open(std::move(surface), up);
}

Expected<ProvenOpenSurfaceResult> prove_open_surface(Surface surface, const Vec3& up) {
  return SolidBuilder::prove_open(std::move(surface), up);
}

}  // namespace pourwright

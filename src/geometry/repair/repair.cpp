// SPDX-License-Identifier: GPL-3.0-or-later
// The steps of a repair in their order. Each leaves the surface no more open than it was, counts what it did,
// and says what of the volume that leaves in doubt.
#include <pourwright/repair.hpp>

#include "geometry/mesh/vertex_welder.hpp"
#include "geometry/repair/workpiece.hpp"

#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

using mending::Workpiece;

bool healthy(const Census& c) {
  return c.closed() && c.oriented();
}

std::string counted(std::size_t n, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

std::string describe(const RepairStep& s) {
  if (!s.text.empty()) return s.text;
  if (s.code == "doubled-faces")
    return fmt::format("dropped {}", counted(s.count, "doubled face", "doubled faces"));
  if (s.code == "shared-faces")
    return fmt::format("joined bodies across {} that they share", counted(s.count, "face", "faces"));
  if (s.code == "flat-faces")
    return fmt::format("dropped {} without area", counted(s.count, "face", "faces"));
  if (s.code == "t-junctions")
    return s.count == 1 ? "tied a loose corner into the edge it lay on"
                        : fmt::format("tied {} loose corners into the edges they lay on", s.count);
  if (s.code == "cracks") return fmt::format("joined {}", counted(s.count, "cracked edge", "cracked edges"));
  if (s.code == "inner-sheets")
    return fmt::format("dropped an inner sheet of {}", counted(s.count, "face", "faces"));
  if (s.code == "flipped-faces")
    return fmt::format("turned {}", counted(s.count, "flipped face", "flipped faces"));
  if (s.code == "fragments")
    return fmt::format("dropped {}", counted(s.count, "loose fragment", "loose fragments"));
  if (s.code == "loose-sheets")
    return fmt::format("dropped {}", counted(s.count, "loose sheet", "loose sheets"));
  if (s.code == "table") return "cut off the table that was scanned along with it";
  if (s.code == "missing-sides")
    return fmt::format("closed {} flat", counted(s.count, "missing side", "missing sides"));
  return fmt::format("{} ({})", s.code, s.count);
}

Surface surface_of(std::vector<Vec3> vertices, std::vector<Triangle> triangles) {
  TriangleSoup soup{std::move(vertices), std::move(triangles)};
  weld_in_place(soup.vertices, soup.triangles);
  return make_surface(std::move(soup));
}

/// Seams are closed at growing reach, as shares of the edges, so that near borders find each other before far
/// ones: what rounding moved, what text with few digits moved, what a careless hand moved. At the last a
/// tenth: the two sides of a wedge of 6° from one corner may be one edge, those of a wider one are a hole.
constexpr std::array<double, 4> seam_reaches{0, 1e-3, 0.02, 0.1};
void close_all_seams(Workpiece& w) {
  for (const double reach : seam_reaches) mending::close_seams(w, reach);
}

}  // namespace

Volume together(const std::vector<Volume>& doubts) {
  // Twice the root of the sum of squares, as of independent errors at two deviations, and of their common
  // bias a tenth: closings that are all bent alike err alike. Set by the coverage of many small holes.
  constexpr double spread = 2, bias = 0.1;
  double sum = 0, squares = 0;
  for (const Volume v : doubts) {
    const double d = in_cubic_millimetres(v);
    sum += d;
    squares += d * d;
  }
  return cubic_millimetres(std::min(sum, spread * std::sqrt(squares) + bias * sum));
}

Expected<CloseHoles> parse_close_holes(std::string_view text) {
  using Which = CloseHoles::Which;
  if (text == "decide") return CloseHoles{Which::decide, {}};
  if (text == "none") return CloseHoles{Which::nothing, {}};
  if (text == "all") return CloseHoles{Which::all, {}};
  std::string_view length = text;
  for (const std::string_view words : {"up-to ", "up-to="})
    if (text.starts_with(words)) length.remove_prefix(words.size());
  const auto size = parse_length(length);
  if (size && *size > Length()) return CloseHoles{Which::up_to, *size};
  return fail(Code::usage, fmt::format("“{}” does not say which holes to close", text),
              "use all, none, or up-to with a size: up-to 12mm");
}

Expected<Repaired> repair(Surface surface, const RepairOptions& options) {
  Repaired out;
  if (surface.triangles.empty()) return fail(Code::no_triangles, "there is no triangle in the mesh");
  if (healthy(surface.census)) {
    // The same body twice, corner for corner, is closed as well; an edge of it has four faces.
    const Vec3 at = surface.box.centre();
    const std::size_t copies = surface.census.edge_manifold() ? 0 : mending::drop_copies(surface.triangles);
    if (copies > 0) {
      surface = surface_of(std::move(surface.vertices), std::move(surface.triangles));
      out.changed = true;
      out.steps.push_back({"doubled-faces", copies, at, Volume(), Volume(),
                           fmt::format("a body was there twice, face for face: dropped {}",
                                       counted(copies, "face", "faces"))});
    }
    out.surface = std::move(surface);
    return out;
  }
  Workpiece w{std::move(surface.vertices), std::move(surface.triangles), surface.box.size().norm(), {}};
  mending::drop_coincident(w);
  close_all_seams(w);
  mending::drop_coincident(w);
  mending::orient(w);
  mending::drop_flaps(w);
  mending::drop_crumbs(w);
  weld_in_place(w.vertices, w.triangles);  // forgets the vertices of what was dropped
  if (w.triangles.empty()) return fail(Code::no_triangles, "there is no triangle with an area in the mesh");
  const mending::HoleReport holes = mending::close_borders(w, options);

  for (RepairStep& s : w.steps) {
    s.text = describe(s);
    out.doubt += s.doubt;
  }
  out.steps = std::move(w.steps);
  out.changed = !out.steps.empty();
  out.patches = holes.patches;
  std::stable_sort(out.steps.begin(), out.steps.end(),
                   [](const RepairStep& a, const RepairStep& b) { return a.doubt > b.doubt; });
  if (holes.least != holes.most) {
    for (const bool least : {true, false}) {
      std::vector<Triangle> triangles(w.triangles.begin(),
                                      w.triangles.begin() + static_cast<std::ptrdiff_t>(holes.first_fill));
      const auto& fill = least ? holes.least : holes.most;
      triangles.insert(triangles.end(), fill.begin(), fill.end());
      (least ? out.least : out.most) = surface_of(w.vertices, std::move(triangles));
    }
  }
  out.surface = surface_of(std::move(w.vertices), std::move(w.triangles));
  return out;
}

}  // namespace pourwright

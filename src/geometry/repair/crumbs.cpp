// SPDX-License-Identifier: GPL-3.0-or-later
// What does not belong to a body: sheets and fragments that float. Nothing goes without its weight: what a
// part would enclose, closed flat, is in doubt when it is dropped, but for the table that a scan stands on.
#include "geometry/repair/borders.hpp"
#include "geometry/repair/closings.hpp"
#include "geometry/repair/parts.hpp"

#include <cmath>

namespace pourwright::mending {
namespace {

/// A part is a sheet when its area vectors add up to nearly its area: bent by less than 37° all over, since
/// 0.8 is that angle's cosine.
constexpr double sheet_cosine = 0.8;
/// An open part of less than this share of the main one's area is a scrap, unless it is all but closed.
constexpr double scrap_area = 0.01, scrap_openness = 0.2;
/// A closed part is a crumb below these shares of the main one's area and volume. Its volume is in doubt all
/// the same.
constexpr double crumb_area = 1e-3, crumb_volume = 1e-4;
/// The table under a scan: a sheet of at least this share of the body's area, with the body on one side of it
/// but for this share of the height, for a soft body sinks in and a table is not quite flat.
constexpr double table_area = 0.1, table_depth = 0.1;
/// Whether the body lies on one side of the sheet, or nearly.
bool stands_on(const Part& body, const Part& table) {
  const Vec3 n = table.facing.normalized();
  if (!n.allFinite()) return false;
  double low = 0, high = 0;
  for (int k = 0; k < 3; ++k) {
    const double a = (body.box.low[k] - table.box.centre()[k]) * n[k];
    const double b = (body.box.high[k] - table.box.centre()[k]) * n[k];
    low += std::min(a, b);
    high += std::max(a, b);
  }
  return low > -table_depth * (high - low) || high < table_depth * (high - low);
}

/// The border of a missing side has the other sides standing on it; that of a sheet has the sheet itself,
/// folded back by the mean angle of the triangles beside it against a lid. Half way is 135°.
constexpr double folded_back = 2.36;

/// What parts would enclose, each border closed by a cone to its middle; and whether each border of a part is
/// that of a missing side, so that it is a body and no sheet.
struct IfClosed {
  std::vector<double> volume;
  std::vector<bool> lacks_sides;
};
IfClosed if_closed(const Workpiece& w, const std::vector<Index>& part_of, const std::vector<Part>& parts) {
  IfClosed out{std::vector<double>(parts.size()), std::vector<bool>(parts.size(), true)};
  for (std::size_t p = 0; p < parts.size(); ++p) out.volume[p] = parts[p].volume;
  for (const BorderLine& line : border_lines(w)) {
    const Index p = part_of[line.half_edges[0] / 3];
    const Vec3 origin = parts[p].box.centre(), middle = line.middle - origin;
    for (std::size_t i = 0; i < line.vertices.size(); ++i) {
      const Vec3 a = w.vertices[line.vertices[i]] - origin;
      const Vec3 b = w.vertices[line.vertices[(i + 1) % line.vertices.size()]] - origin;
      out.volume[p] += a.dot(b.cross(middle)) / 6;
    }
    if (!is_missing_side(line) || line.steepness > folded_back) out.lacks_sides[p] = false;
  }
  return out;
}

enum class Kind : std::uint8_t { body, sheet, scrap, crumb };

Kind kind_of(const Part& p, const Part& main) {
  if (p.border > 0) {
    if (p.openness() > sheet_cosine) return Kind::sheet;
    return p.area < scrap_area * main.area && p.openness() > scrap_openness ? Kind::scrap : Kind::body;
  }
  return p.area < crumb_area * main.area && std::abs(p.volume) < crumb_volume * std::abs(main.volume)
             ? Kind::crumb
             : Kind::body;
}

}  // namespace

void drop_crumbs(Workpiece& w) {
  DisjointSets sets(w.triangles.size());
  for_each_edge(w.triangles, w.vertices.size(), [&](Index, std::span<const EdgeUse> uses) {
    for (std::size_t i = 1; i < uses.size(); ++i) sets.unite(uses[0].half_edge / 3, uses[i].half_edge / 3);
  });
  std::vector<Index> part_of;
  const std::size_t count = std::move(sets).number(part_of);
  if (count < 2) return;
  const std::vector<Part> parts = survey(w, part_of, count);
  // The main part: much surface, and not flat. Of flat ones alone the largest.
  const auto weight = [](const Part& p) { return p.area * (1.02 - p.openness()); };
  const auto main = std::max_element(parts.begin(), parts.end(),
                                     [&](const Part& a, const Part& b) { return weight(a) < weight(b); });
  std::vector<Kind> kinds;
  for (const Part& p : parts) kinds.push_back(&p == &*main ? Kind::body : kind_of(p, *main));
  if (std::all_of(kinds.begin(), kinds.end(), [](Kind k) { return k == Kind::body; })) return;
  const IfClosed closed = if_closed(w, part_of, parts);
  for (std::size_t i = 0; i < count; ++i) {
    const Part& p = parts[i];
    if (kinds[i] == Kind::sheet && closed.lacks_sides[i]) kinds[i] = Kind::body;
    if (kinds[i] == Kind::body) continue;
    const bool small = p.area < scrap_area * main->area;
    const bool table = kinds[i] == Kind::sheet && p.area > table_area * main->area && stands_on(*main, p);
    RepairStep& s = w.step(small || kinds[i] == Kind::crumb ? "fragments" : table ? "table" : "loose-sheets");
    if (s.count++ == 0) s.at = p.box.centre();
    if (table) continue;
    s.change -= cubic_millimetres(kinds[i] == Kind::crumb ? std::abs(p.volume) : 0);
    s.doubt += cubic_millimetres(std::abs(closed.volume[i]));
  }
  w.keep_triangles([&](std::size_t t) { return kinds[part_of[t]] == Kind::body; });
}

}  // namespace pourwright::mending

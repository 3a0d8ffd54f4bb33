// SPDX-License-Identifier: GPL-3.0-or-later
// Noise is what no polynomial follows: a smooth surface is followed by a quadric nearby and by a quartic
// farther out, whereas noise leaves as much in either, everywhere the same and spread like a normal
// distribution. Where a part of the body is clean the rest is as noisy as before, so clean places are left
// out of the estimate. What neighbours share is told from how residuals grow with the neighbourhood, and the
// polynomials' share of it from their traces (correlation.hpp).
#include <pourwright/noise.hpp>

#include "geometry/mesh/median.hpp"
#include "geometry/noise/neighbourhood.hpp"
#include "geometry/noise/pairs.hpp"
#include "geometry/noise/plane_noise.hpp"
#include "geometry/noise/rings.hpp"
#include "geometry/noise/verdict.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>

namespace pourwright {
namespace {

using namespace scatter;

constexpr std::size_t fewest_triangles = 80, most_looked_at = 65'536;
constexpr std::size_t most_looked_at_closely = 20'000;  // triangles
/// Neighbourhoods that are looked at: more tell the spread no better than it varies over a scan.
constexpr std::size_t most_places = 240;
/// Of noise on a tenth of the body sixty places miss all once in five hundred bodies.
constexpr std::size_t passes = 4;
/// Of scattered vertices one edge in two hundred lies in a plane by chance; of a face cut into triangles
/// every diagonal, a third of its edges.
constexpr double most_drawn = 0.25;
/// Residuals about over those near by: 16 of what is drawn smooth, up to 4.7 of noise.
constexpr double drawn_smooth = 5;
/// Two thirds of the 61 that four rings of a lattice hold. Where the shape cuts a neighbourhood to a strip,
/// the polynomials leave less.
constexpr std::size_t vertices_of_whole = 41;
/// Of the body's diagonal: beyond it lies relief. On small bodies a tenth of a millimetre, up to a hundredth.
constexpr double most_spread = 0.0025, most_of_small = 0.012, always_seen = 0.1;  // the last in mm

/// The triangles that are looked at: all of a small mesh, stretches of a large one.
std::vector<Triangle> sample(std::span<const Triangle> all) {
  if (all.size() <= most_looked_at) return {all.begin(), all.end()};
  constexpr std::size_t stretches = 8, length = most_looked_at / stretches;
  std::vector<Triangle> out;
  out.reserve(most_looked_at);
  for (std::size_t k = 0; k < stretches; ++k) {
    const auto from = all.begin() + static_cast<std::ptrdiff_t>(k * (all.size() - length) / (stretches - 1));
    out.insert(out.end(), from, from + static_cast<std::ptrdiff_t>(length));
  }
  return out;
}

/// The vertices in use; the triangles' corners become numbers among them.
std::vector<Vec3> compact(std::vector<Triangle>& triangles, std::span<const Vec3> vertices) {
  std::vector<Index> number(vertices.size(), 0);
  std::vector<Vec3> used;
  for (const Triangle& t : triangles)
    for (const Index v : t) number[v] = 1;
  for (std::size_t v = 0; v < vertices.size(); ++v)
    if (number[v] != 0) {
      number[v] = static_cast<Index>(used.size());
      used.push_back(vertices[v]);
    }
  for (Triangle& t : triangles)
    for (Index& v : t) v = number[v];
  return used;
}

/// What polynomials leave round one vertex; nothing when it is too near an edge of the shape.
std::optional<Place> place_at(Neighbourhoods& all, Index middle) {
  const bool whole = all.grow(middle, about.rings).size() >= vertices_of_whole;
  const auto close = all.residuals(near_by), half = all.residuals(about);
  if (!close || !half) return std::nullopt;
  Place p{close->spread, half->spread, 0, half->spread, half->together, 0, all.edge(), whole};
  if (!(half->spread < drawn_smooth * close->spread)) return p;
  auto most = all.residuals(closer);
  all.grow(middle, wide.rings);
  if (const auto far = all.residuals(wide)) most = far;
  if (!most) return p;
  p.wide = most->spread;
  p.kurtosis = most->kurtosis;
  if (most->spread < p.spread) p.spread = most->spread, p.together = most->together;
  return p;
}

/// Places whose middles lie apart, evenly through the vertices: a quarter of them, and the others only when
/// some of those may be noisy.
Places places_of(Neighbourhoods& all, std::size_t vertices, double floor) {
  Places out;
  std::vector<char> taken(vertices, 0);
  const std::size_t stride = std::max<std::size_t>(1, vertices / most_places);
  const auto random = [](const Place& p) { return p.wide > least_growth * p.about; };
  for (std::size_t pass = 0; pass < passes; ++pass) {
    for (std::size_t v = pass * stride; v < vertices; v += passes * stride) {
      const auto middle = static_cast<Index>(v);
      if (taken[v] != 0 || !all.smooth_at(middle)) continue;
      for (const Index w : all.grow(middle, near_by.rings)) taken[w] = 1;
      const auto p = place_at(all, middle);
      if (!p) continue;
      ++out.looked_at;
      if (all.drawn_at(middle) > most_drawn) continue;
      if (p->about > floor) out.list.push_back(*p);
    }
    if (pass == 0 && out.looked_at >= fewest_places && std::none_of(out.list.begin(), out.list.end(), random))
      return {};
  }
  if (std::count_if(out.list.begin(), out.list.end(), [](const Place& p) { return p.whole; }) >=
      static_cast<std::ptrdiff_t>(fewest_places))
    std::erase_if(out.list, [](const Place& p) { return !p.whole; });
  return out;
}

double median_edge(const FacetList& facets) {
  std::vector<double> lengths;
  for (const Triangle& t : facets.triangles)
    for (std::size_t k = 0; k < 3; ++k)
      lengths.push_back((facets.points[t[(k + 1) % 3]] - facets.points[t[k]]).norm());
  return median(std::move(lengths));
}

/// Where neighbourhoods do not agree: vertices over their rings where these are flat; in few triangles also
/// the plane faces, and pairs of triangles where no vertex lies within these.
std::optional<Found> noise_of_flats(const FacetList& facets) {
  double spread = noise_of_rings(facets);
  if (facets.triangles.size() <= most_looked_at_closely) {
    const SharedEdges edges = shared_edges(facets);
    spread = std::max(spread, noise_of_planes(facets, edges).value_or(0));
    if (!(spread > 0)) spread = noise_of_pairs(facets, edges);
  }
  if (!(spread > 0)) return std::nullopt;
  return Found{spread, 0, median_edge(facets)};
}

/// The volume changes by a vertex's shift times the area that it carries, a third of its triangles'; what
/// goes together over a length does so over 2πℓ² around.
double squared_areas(std::span<const Vec3> points, std::span<const Triangle> triangles, double reach) {
  std::vector<Vec3> carried(points.size(), Vec3::Zero());
  double area = 0;
  for (const Triangle& t : triangles) {
    const Vec3 a = (points[t[1]] - points[t[0]]).cross(points[t[2]] - points[t[0]]) / 6;
    for (const Index v : t) carried[v] += a;
    area += 3 * a.norm();
  }
  double squares = 0;
  for (const Vec3& a : carried) squares += a.squaredNorm();
  return std::max(squares, 2 * std::numbers::pi * reach * reach * area);
}

}  // namespace

Noise find_noise(std::span<const Vec3> points, std::span<const Triangle> triangles) {
  if (triangles.size() < fewest_triangles) return {};
  Box box;
  for (const Vec3& p : points) box.add(p);
  const double size = box.size().norm();
  const double farthest = std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff());
  // Below this it is what single precision leaves of any coordinate.
  const double floor = std::max(3e-7 * size, 2.4e-7 * farthest);
  std::vector<Triangle> looked_at = sample(triangles);
  std::vector<Vec3> corners = compact(looked_at, points);
  Neighbourhoods neighbourhoods(corners, looked_at);
  auto found = noise_of_places(places_of(neighbourhoods, corners.size(), floor), floor);
  if (!found) found = noise_of_flats({std::move(corners), std::move(looked_at)});
  const double most = std::clamp(always_seen, most_spread * size, most_of_small * size);
  if (!found || !(found->spread > floor) || found->spread > most) return {};
  // Four standard deviations, for the spread itself is an estimate.
  const double volume = 4 * found->spread * std::sqrt(squared_areas(points, triangles, found->reach));
  return {millimetres(found->spread), millimetres(found->reach), millimetres(found->edge),
          cubic_millimetres(volume)};
}

Noise find_noise(const Surface& surface) {
  return find_noise(surface.vertices, surface.triangles);
}

}  // namespace pourwright

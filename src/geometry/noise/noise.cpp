// SPDX-License-Identifier: GPL-3.0-or-later
// Noise is what no polynomial follows: a smooth surface is followed by a quadric nearby and by a quartic
// farther out, whereas noise leaves as much in either, everywhere the same and spread like a normal
// distribution. Where a part of the body is clean the rest is as noisy as before, so clean places are left
// out of the estimate. What neighbours share is told from how residuals grow with the neighbourhood, and the
// polynomials' share of it from their traces (correlation.hpp).
#include <pourwright/noise.hpp>

#include "geometry/noise/correlation.hpp"
#include "geometry/noise/neighbourhood.hpp"
#include "geometry/noise/pairs.hpp"
#include "geometry/noise/plane_noise.hpp"
#include "geometry/noise/rings.hpp"

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
/// Neighbourhoods that are looked at, and that must agree: the median spread of sixteen is known to a
/// fifteenth.
constexpr std::size_t most_places = 240, fewest_places = 16;
/// Of the neighbourhoods looked at, clean ones too: what a few repeat is a detail of the shape.
constexpr double least_noisy = 0.1;
/// Two thirds of the 61 that four rings of a lattice hold. Where the shape cuts a neighbourhood to a strip,
/// the polynomials leave less.
constexpr std::size_t vertices_of_whole = 41;
/// Wide residuals over those about, of noise: 1 when independent, up to 1.27 with correlation, and less on
/// few vertices. A quartic leaves a tenth of what the quadric leaves of a surface that is drawn smooth.
constexpr double least_growth = 0.6, most_growth = 1.6;
/// Noise is the same everywhere: the largest spread of the places that agree over the smallest of them. Of
/// independent vertices nearly all lie within it; correlated ones are worth fewer, and half of the places do.
constexpr double same = 1.6;
/// What could hide the noise under shape is a third of it or more; places smoother than that are clean.
constexpr double clean_below = 1.0 / 3;
/// Of the places that are not clean, those that agree.
constexpr double least_share = 0.5, least_share_correlated = 0.35;
/// How far the neighbours' correlation may lie from what the length foretells, in the median of the places:
/// ribs and knurls go together, or against each other, otherwise than their residuals grow.
constexpr double most_astray = 0.13;
/// What shape may add to the ratio of residuals about and near by.
constexpr double most_excess = 1.4;
/// Neighbours' correlation up to which it tells the length; beyond that it hardly grows.
constexpr double tells_length = 0.45;
/// Correlation length, in edges, up to which residuals show all of the spread.
constexpr double independent_below = 0.6;
/// Kurtosis: 1.5 of a wave, 1.8 of even noise, 3 of normal noise, more where a place is clean in part.
/// Averages of neighbours are nearly normal, whereas spreads differ within a place where detail is sculpted.
constexpr double least_kurtosis = 1.7, most_kurtosis = 6, least_of_correlated = 2.2,
                 most_of_correlated = 3.15;
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

double quantile(std::vector<double> v, double share) {
  const auto at = v.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(v.size() - 1));
  std::nth_element(v.begin(), at, v.end());
  return *at;
}

/// What was found of one neighbourhood.
struct Place {
  double near_by, about, wide;  ///< spreads, mm; wide: zero when too few vertices
  double spread, together;      ///< of the one of the latter two that shape adds less to
  double kurtosis;              ///< of the widest
  double edge;                  ///< mm
  bool whole;                   ///< no edge of the shape cuts it short
  bool random() const { return wide > least_growth * about && wide < most_growth * about; }
};

struct Found {
  double spread = 0, reach = 0, edge = 0;  ///< mm
};

/// Neighbourhoods whose middles lie apart, evenly through the vertices.
struct Places {
  std::vector<Place> list;  ///< that are not clean
  std::size_t looked_at = 0;
};
Places places_of(Neighbourhoods& all, std::size_t vertices, double floor) {
  Places found;
  std::vector<Place>& out = found.list;
  std::vector<char> taken(vertices, 0);
  const std::size_t stride = std::max<std::size_t>(1, vertices / most_places);
  for (std::size_t v = 0; v < vertices; v += stride) {
    const auto middle = static_cast<Index>(v);
    if (taken[v] != 0 || !all.smooth_at(middle)) continue;
    for (const Index w : all.grow(middle, near_by.rings)) taken[w] = 1;
    const bool whole = all.grow(middle, about.rings).size() >= vertices_of_whole;
    const auto close = all.residuals(near_by), half = all.residuals(about);
    if (!close || !half) continue;
    ++found.looked_at;
    if (!(half->spread > floor)) continue;
    Place p{close->spread, half->spread, 0, half->spread, half->together, 0, all.edge(), whole};
    // As far as smoothness shows at once the wide look is spared: a quadric leaves 2⁴ of the fourth order.
    if (half->spread < 5 * close->spread) {
      const auto further = all.residuals(closer);
      all.grow(middle, wide.rings);
      auto most = all.residuals(wide);
      if (!most) most = further;
      if (most) {
        p.wide = most->spread;
        p.kurtosis = most->kurtosis;
        if (most->spread < p.spread) p.spread = most->spread, p.together = most->together;
      }
    }
    out.push_back(p);
  }
  if (std::count_if(out.begin(), out.end(), [](const Place& p) { return p.whole; }) >=
      static_cast<std::ptrdiff_t>(fewest_places))
    std::erase_if(out, [](const Place& p) { return !p.whole; });
  return found;
}

/// The places that agree: as many as a window of ratio `same` holds at most. Ordered by their spread.
std::vector<Place> agreeing(std::vector<Place> places) {
  std::erase_if(places, [](const Place& p) { return !p.random(); });
  std::sort(places.begin(), places.end(), [](const Place& a, const Place& b) { return a.spread < b.spread; });
  std::size_t from = 0, to = 0, best = 0, end = 0;
  for (; to < places.size(); ++to) {
    while (places[to].spread > same * places[from].spread) ++from;
    if (to + 1 - from > end - best) best = from, end = to + 1;
  }
  return {places.begin() + static_cast<std::ptrdiff_t>(best),
          places.begin() + static_cast<std::ptrdiff_t>(end)};
}

template <class Value>
double median_of(const std::vector<Place>& places, Value value) {
  std::vector<double> v;
  for (const Place& p : places) v.push_back(value(p));
  return quantile(std::move(v), 0.5);
}

/// What is drawn repeats itself up to its coordinates' rounding; noise repeats nothing, but among many some
/// are alike by chance.
bool repeats(const std::vector<Place>& ordered, double rounding) {
  std::size_t again = 0;
  const double hair = std::min(rounding, 0.05 * ordered[0].spread / static_cast<double>(ordered.size()));
  for (std::size_t i = 1; i < ordered.size(); ++i)
    again += ordered[i].spread - ordered[i - 1].spread < hair ? 1 : 0;
  return again * 4 > ordered.size();
}

std::optional<Found> noise_of_places(const Places& places, double floor) {
  const std::vector<Place> alike = agreeing(places.list);
  if (alike.size() < fewest_places || repeats(alike, floor)) return std::nullopt;
  const auto agree = static_cast<double>(alike.size());
  if (agree < least_noisy * static_cast<double>(places.looked_at)) return std::nullopt;
  const double shown = median_of(alike, [](const Place& p) { return p.spread; });
  const auto dirty = std::count_if(places.list.begin(), places.list.end(),
                                   [&](const Place& p) { return p.spread > clean_below * shown; });
  const double ratio = median_of(alike, [](const Place& p) { return p.spread / p.near_by; });
  const double together = median_of(alike, [](const Place& p) { return p.together; });
  const double kurtosis = median_of(alike, [](const Place& p) { return p.kurtosis; });
  // A little shape raises the ratio more than it makes neighbours go together: the shorter length counts.
  Correlation c = correlation_by_ratio(ratio);
  if (together < std::min(c.together, tells_length)) c = correlation_by_neighbours(together);
  if (std::abs(together - c.together) > most_astray || ratio > most_excess * c.ratio) return std::nullopt;
  const bool shared = c.length > independent_below;
  if (agree < (shared ? least_share_correlated : least_share) * static_cast<double>(dirty))
    return std::nullopt;
  if (kurtosis < (shared ? least_of_correlated : least_kurtosis) ||
      kurtosis > (shared ? most_of_correlated : most_kurtosis))
    return std::nullopt;
  const double edge = median_of(alike, [](const Place& p) { return p.edge; });
  const double farther = median_of(alike, [](const Place& p) { return p.wide; }) / c.left_wide;
  if (!shared) return Found{farther, c.length * edge, edge};
  return Found{std::max(farther, shown / c.left_about), c.length * edge, edge};
}

double median_edge(const FacetList& facets) {
  std::vector<double> lengths;
  for (const Triangle& t : facets.triangles)
    for (std::size_t k = 0; k < 3; ++k)
      lengths.push_back((facets.points[t[(k + 1) % 3]] - facets.points[t[k]]).norm());
  return quantile(std::move(lengths), 0.5);
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

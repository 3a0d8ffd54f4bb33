// SPDX-License-Identifier: GPL-3.0-or-later
// The mixture of clean, noisy and shapely places told apart: noise is the same everywhere, so the densest
// window of spreads is its, and what lies far below is clean. A robust mode, as the shorth of D. F. Andrews
// et al., Robust Estimates of Location, 1972.
#include "geometry/noise/verdict.hpp"

#include "geometry/mesh/median.hpp"
#include "geometry/noise/correlation.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace pourwright::scatter {
namespace {

/// Of the neighbourhoods looked at, clean ones too: what a few repeat is a detail of the shape.
constexpr double least_noisy = 0.1;
/// Wide residuals over those about, of noise: 1 when independent, up to 1.27 with correlation, and less on
/// few vertices. A quartic leaves a tenth of what the quadric leaves of a surface that is drawn smooth.
constexpr double most_growth = 1.6;  // and `least_growth`
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
bool random(const Place& p) {
  return p.wide > least_growth * p.about && p.wide < most_growth * p.about;
}

/// The places that agree: as many as a window of ratio `same` holds at most. Ordered by their spread.
std::vector<Place> agreeing(std::vector<Place> places) {
  std::erase_if(places, [](const Place& p) { return !random(p); });
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
  return median(std::move(v));
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

}  // namespace

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

}  // namespace pourwright::scatter

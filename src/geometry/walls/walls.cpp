// SPDX-License-Identifier: GPL-3.0-or-later
// Thickness of a whole body: places by area, strays dropped, the least followed down its slope. Law: what
// closes off a wall (a rim, an end) borrows its thickness and is not counted as a wall of its own.
#include <pourwright/walls.hpp>

#include "geometry/mesh/point_grid.hpp"
#include "geometry/walls/agreement.hpp"
#include "geometry/walls/inscribed_ball.hpp"
#include "geometry/walls/roughness.hpp"
#include "geometry/walls/samples.hpp"
#include "geometry/walls/thin_spots.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>
#include <utility>

namespace pourwright {

std::string_view name(ThinSpot::Kind kind) {
  switch (kind) {
    case ThinSpot::Kind::fin:
      return "fin";
    case ThinSpot::Kind::lip:
      return "lip";
    case ThinSpot::Kind::neck:
      return "neck";
    case ThinSpot::Kind::plate:
      return "plate";
    case ThinSpot::Kind::tip:
      return "tip";
  }
  return "plate";
}

namespace {

using namespace thickness;

/// What is measured: the solid, without the roughness of a scan.
struct Body {
  Skin skin;
  Roughness roughness;
};

/// A wall of two sides at 60° to each other thickens by 2·tan 30° ≈ 1.2 for each mm along it; sides that lean
/// more are an edge. What lies farther below its neighbours fell into a dent at one.
constexpr double steepest_taper = 1.2;
/// The neighbours that a place is compared with: within three spacings there are about 28, of which the
/// nearest nine are a ring and no more; fewer than four have no middle.
constexpr double beside_spacings = 3;
constexpr std::size_t most_beside = 9, fewest_beside = 4;
/// Places whose normals are within 45° of each other lie on one face.
constexpr double one_face = 0.7;
/// From so many places the thinnest is looked for downhill, apart by so many spacings so that each is another
/// slope, and as long as they are not half as thick again as the thinnest.
constexpr std::size_t most_seeds = 12;
constexpr double seeds_apart = 4, seeds_below = 1.5;
/// Steps downhill begin at a spacing and end at a sixtieth of it: at the steepest taper of a wall as thick as
/// the spacing that is 2 %.
constexpr double finest_step = 1.0 / 60;
/// What averaging leaves of the roughness (measured: see docs/algorithms/thickness.md).
constexpr double left_of_roughness = 0.6;
/// Below this share of places with a wall of their own these may all be dents.
constexpr double few_own = 0.02;

class Gauge {
 public:
  Gauge(const RayScene& scene, const Body& body, const WallsOptions& options)
      : scene_(scene), body_(body), options_(options) {
    patience_.height = left_of_roughness * body.roughness.sigma;
  }

  bool measure();
  Walls result();

 private:
  std::optional<WallSample> sample(const Place& place) const;
  void agree(std::vector<WallSample>& places, double spacing, std::optional<WallSample>* least) const;
  void drop_strays();
  bool stray(const WallSample& s) const;
  void find_beside();
  WallSample thinnest() const;
  WallSample descend(WallSample from) const;

  const RayScene& scene_;
  const Body& body_;
  const WallsOptions& options_;
  Patience patience_;
  mutable Clearances known_;
  double area_ = 0, spacing_ = 0;
  std::size_t asked_ = 0;
  std::vector<WallSample> samples_;
  std::optional<WallSample> least_;  ///< on a rough surface, the thinnest place that its neighbours bear out
  std::vector<Vec3> points_;         ///< of the samples
  std::optional<PointGrid> beside_;  ///< over these
  double own_ = 1;                   ///< share of the places that have a wall of their own
};

std::optional<WallSample> Gauge::sample(const Place& place) const {
  WallSample s;
  s.at = place.at;
  s.triangle = place.triangle;
  const auto ball = inscribed_ball(scene_, body_.skin, s.at, place.triangle, patience_, known_);
  if (!ball) return {};
  s.normal = ball->normal;
  s.ball = ball->diameter;
  s.ray = ball->ray;
  s.own = ball->own;
  return s;
}

bool Gauge::measure() {
  const Places places = spread_places(body_.skin, options_.samples);
  area_ = places.area;
  asked_ = places.list.size();
  samples_.reserve(asked_);
  for (const Place& p : places.list)
    if (const auto s = sample(p)) samples_.push_back(*s);
  if (samples_.empty()) return false;
  spacing_ = std::sqrt(area_ / static_cast<double>(samples_.size()));
  for (WallSample& s : samples_) s.area = area_ / static_cast<double>(samples_.size());
  if (body_.roughness.sigma > 0) agree(samples_, spacing_, &least_);
  const auto own = std::count_if(samples_.begin(), samples_.end(), [](const WallSample& s) { return s.own; });
  own_ = static_cast<double>(own) / static_cast<double>(samples_.size());
  return true;
}

/// On a rough surface each place says what those round it agree on. One that no others bear out speaks for no
/// wall.
void Gauge::agree(std::vector<WallSample>& places, double spacing, std::optional<WallSample>* least) const {
  const Agreement agreed = agreement_of(scene_, places, spacing, body_.roughness);
  if (!agreed.least) return;
  for (std::size_t i = 0; i < places.size(); ++i) {
    places[i].own = agreed.ball[i].has_value();
    if (agreed.ball[i]) places[i].ball = *agreed.ball[i];
  }
  if (least) *least = agreed.least;
}

/// A wall thins no faster than a taper can: a measurement far below those beside it fell into a dent at an
/// edge.
bool Gauge::stray(const WallSample& s) const {
  struct Beside {
    double distance, ball;
  };
  std::vector<Beside> beside;
  beside_->around(s.at, beside_spacings * spacing_, [&](Index i) {
    const WallSample& o = samples_[i];
    const double d = (o.at - s.at).norm();
    if (d > 0 && o.normal.dot(s.normal) > one_face) beside.push_back({d, o.ball});
  });
  if (beside.size() < fewest_beside) return false;
  const std::size_t n = std::min(beside.size(), most_beside);
  std::partial_sort(beside.begin(), beside.begin() + static_cast<std::ptrdiff_t>(n), beside.end(),
                    [](const Beside& a, const Beside& b) { return a.distance < b.distance; });
  beside.resize(n);
  const double distance = beside[n / 2].distance;
  std::nth_element(beside.begin(), beside.begin() + static_cast<std::ptrdiff_t>(n / 2), beside.end(),
                   [](const Beside& a, const Beside& b) { return a.ball < b.ball; });
  return beside[n / 2].ball > steepest_taper * (s.ball + distance);
}

void Gauge::find_beside() {
  points_.clear();
  for (const WallSample& s : samples_) points_.push_back(s.at);
  beside_.emplace(points_, beside_spacings * spacing_);
}

void Gauge::drop_strays() {
  find_beside();
  // Most places are not even that far below the thickest of all; often none is.
  double thickest = 0;
  for (const WallSample& s : samples_) thickest = std::max(thickest, s.ball);
  std::vector<bool> gone(samples_.size());
  for (std::size_t i = 0; i < samples_.size(); ++i)
    gone[i] = thickest > steepest_taper * samples_[i].ball && stray(samples_[i]);
  std::size_t kept = 0;
  for (std::size_t i = 0; i < samples_.size(); ++i)
    if (!gone[i]) samples_[kept++] = samples_[i];
  if (kept == samples_.size()) return;
  samples_.resize(kept);
  find_beside();
}

/// The lowest place near a sample: steps over the surface in six directions, halved when none leads down.
WallSample Gauge::descend(WallSample from) const {
  for (double step = spacing_; step > finest_step * spacing_; step /= 2) {
    for (int turn = 0; turn < 4; ++turn) {
      const Vec3 u = from.normal.unitOrthogonal(), v = from.normal.cross(u);
      WallSample best = from;
      for (int k = 0; k < 6; ++k) {
        const double a = k * std::numbers::pi / 3;
        const auto near = scene_.nearest(from.at + step * (std::cos(a) * u + std::sin(a) * v), step);
        if (!near || scene_.normal(near->triangle).dot(from.normal) < 0.5) continue;
        const auto s = sample({scene_.off_the_edges(near->at, near->triangle), near->triangle});
        if (s && (s->own || !from.own) && s->ball < best.ball * (1 - 1e-6) && !stray(*s)) best = *s;
      }
      if (best.ball == from.ball) break;
      from = best;
    }
  }
  return from;
}

WallSample Gauge::thinnest() const {
  // What closes off a wall borrows its thickness, and the wall's own two sides tell it better; unless all of
  // these were strays.
  const bool only_own = own_ > few_own && std::any_of(samples_.begin(), samples_.end(),
                                                      [](const WallSample& s) { return s.own; });
  std::vector<Index> order;
  for (Index i = 0; i < samples_.size(); ++i)
    if (samples_[i].own || !only_own) order.push_back(i);
  // A heap: only the thinnest are asked for.
  const auto after = [&](Index a, Index b) {
    const double x = samples_[a].ball, y = samples_[b].ball;
    return x != y ? x > y : a > b;
  };
  std::make_heap(order.begin(), order.end(), after);
  WallSample best = samples_[order[0]];
  std::vector<Index> seeds;
  while (!order.empty() && seeds.size() < most_seeds) {
    std::pop_heap(order.begin(), order.end(), after);
    const Index i = order.back();
    order.pop_back();
    if (samples_[i].ball > seeds_below * best.ball) break;
    if (std::all_of(seeds.begin(), seeds.end(), [&](Index k) {
          return (samples_[k].at - samples_[i].at).norm() > seeds_apart * spacing_;
        }))
      seeds.push_back(i);
  }
  for (const Index i : seeds)
    if (const WallSample s = descend(samples_[i]); s.ball < best.ball) best = s;
  return best;
}

/// Thicknesses, each with the share it speaks for.
using Weighed = std::vector<std::pair<double, double>>;

double quantile(const Weighed& ordered, double share) {
  double all = 0, passed = 0;
  for (const auto& [value, weight] : ordered) all += weight;
  for (const auto& [value, weight] : ordered)
    if ((passed += weight) > share * all) return value;
  return ordered.back().first;
}

/// Twenty bins up to twice the median, and one for all above.
Walls::Histogram histogram(const Weighed& values, double median) {
  constexpr std::size_t bins = 20;
  Walls::Histogram out{millimetres(2 * median / bins), std::vector<double>(bins + 1)};
  double all = 0;
  for (const auto& [value, weight] : values) all += weight;
  for (const auto& [value, weight] : values) {
    const double bin = std::min(value / in_millimetres(out.step), static_cast<double>(bins));
    out.share[static_cast<std::size_t>(bin)] += weight / all;
  }
  return out;
}

Walls Gauge::result() {
  Walls out;
  out.limit = options_.limit;
  out.samples = samples_.size();
  out.noise = millimetres(body_.roughness.sigma);
  out.samples_per_mm2 = static_cast<double>(samples_.size()) / area_;
  Weighed balls, rays;
  std::size_t thin = 0;
  // The fewer places have a wall of their own, the more the others are heard.
  const double borrowed = std::max(1 - 4 * own_, 0.0);
  for (const WallSample& s : samples_) {
    if (s.own || borrowed > 0) balls.emplace_back(s.ball, s.own ? 1 : borrowed);
    rays.emplace_back(s.ray, 1);
  }
  std::sort(balls.begin(), balls.end());
  std::sort(rays.begin(), rays.end());
  out.median = millimetres(quantile(balls, 0.5));
  if (least_) least_->ball = std::min(least_->ball, in_millimetres(out.median));
  out.p05 = std::max(millimetres(quantile(balls, 0.05)), least_ ? millimetres(least_->ball) : Length());
  out.histogram = histogram(balls, in_millimetres(out.median));
  const double whole = static_cast<double>(samples_.size());
  if (!least_) drop_strays();
  for (const WallSample& s : samples_) thin += s.ball < in_millimetres(options_.limit) && (s.own || !least_);
  const WallSample least = least_ ? *least_ : thinnest();
  out.min = millimetres(least.ball);
  out.min_at = least.at;
  out.ray_min = millimetres(rays.front().first);
  out.ray_median = millimetres(quantile(rays, 0.5));
  out.thin_share = static_cast<double>(thin) / whole;
  out.thin_area = square_millimetres(out.thin_share * area_);
  if (options_.find_spots && thin > 0)
    out.spots = find_thin_spots({scene_, samples_, spacing_, in_millimetres(options_.limit), 8000,
                                 [this](const Place& p) { return sample(p); }, least_ ? least_->ball : 0.0,
                                 [this](std::vector<WallSample>& places, double spacing) {
                                   if (least_) agree(places, spacing, nullptr);
                                 }});
  // They were measured closer together: where two sides run out to an edge, nearer to its end.
  for (const ThinSpot& s : out.spots)
    if (!least_ && s.thickness < out.min) out.min = s.thickness, out.min_at = s.at;
  if (options_.keep_samples) out.kept = std::move(samples_);
  return out;
}

}  // namespace

Expected<Walls> measure_walls(const ClosedBody& piece, const WallsOptions& options) {
  Body body{Skin(piece.vertices(), piece.triangles()), {}};
  body.roughness = measure_roughness(body.skin);
  std::vector<Vec3> averaged;
  if (body.roughness.sigma > 0) {
    averaged = without_roughness(body.skin, body.roughness);
    body.skin.move_to(averaged);
  }
  const auto scene = RayScene::build(body.skin.vertices(), body.skin.triangles());
  if (!scene) return scene.error();
  Gauge gauge(*scene, body, options);
  if (!gauge.measure())
    return fail(Code::no_volume, "This body has no thickness to measure.",
                "Check with `pourwright measure` that the file holds a closed body.");
  return gauge.result();
}

Expected<Walls> measure_walls(const Solid& piece, const WallsOptions& options) {
  auto walls = measure_walls(static_cast<const ClosedBody&>(piece), options);
  if (walls) walls->overlap = Solid::overlap;
  return walls;
}

}  // namespace pourwright

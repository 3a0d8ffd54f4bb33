// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies whose thickness is known by formula: every one in two tessellations, standing straight and turned,
// clean and with noise of 0.05 mm (one standard deviation) in each coordinate or along the normals.
#include <pourwright/walls.hpp>

#include "support/solids.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <string>
#include <utility>
#include <vector>

namespace pourwright::known_bodies {
namespace {

/// From place to place in even steps of about `step`.
std::vector<double> steps(const std::vector<double>& places, double step) {
  std::vector<double> out;
  for (std::size_t i = 0; i + 1 < places.size(); ++i) {
    const double length = places[i + 1] - places[i];
    const int n = std::max(1, static_cast<int>(std::lround(length / step)));
    for (int k = 0; k < n; ++k) out.push_back(places[i] + length * k / n);
  }
  out.push_back(places.back());
  return out;
}
int round_steps(double length, double step) {
  return static_cast<int>(std::lround(length / step));
}

TriangleSoup slab(double h) {
  return shapes::bricks(steps({0, 100}, h), steps({0, 80}, h), steps({0, 4}, h),
                        [](int, int, int) { return true; });
}

TriangleSoup thin_slab(double h) {
  return shapes::bricks(steps({0, 60}, h), steps({0, 50}, h), steps({0, 1}, h),
                        [](int, int, int) { return true; });
}

TriangleSoup cube(double h) {
  return shapes::bricks(steps({0, 20}, h), steps({0, 20}, h), steps({0, 20}, h),
                        [](int, int, int) { return true; });
}

/// Walls of 2.5 on a floor of 3.
TriangleSoup tray(double h) {
  const auto x = steps({0, 2.5, 57.5, 60}, h), y = steps({0, 2.5, 37.5, 40}, h), z = steps({0, 3, 30}, h);
  const auto within = [](const std::vector<double>& at, int i, double low, double high) {
    const double middle = (at[static_cast<std::size_t>(i)] + at[static_cast<std::size_t>(i) + 1]) / 2;
    return middle > low && middle < high;
  };
  return shapes::bricks(x, y, z, [&](int i, int j, int k) {
    return !within(x, i, 2.5, 57.5) || !within(y, j, 2.5, 37.5) || !within(z, k, 3, 30);
  });
}

/// Three of 2.4 that stand 15 on a block.
TriangleSoup fins(double h) {
  const auto x = steps({0, 8, 10.4, 20, 22.4, 32, 34.4, 42}, h), y = steps({0, 30}, h),
             z = steps({0, 12, 27}, h);
  return shapes::bricks(x, y, z, [&](int i, int, int k) {
    const double at = (x[static_cast<std::size_t>(i)] + x[static_cast<std::size_t>(i) + 1]) / 2;
    return z[static_cast<std::size_t>(k)] < 12 || std::fmod(at + 4, 12) < 2.4;
  });
}

/// From 2 to 8 over 60.
TriangleSoup wedge(double h) {
  const TriangleSoup flat =
      shapes::bricks(steps({0, 60}, h), steps({0, 40}, h), steps({-1, 1}, std::max(h / 2.5, 0.34)),
                     [](int, int, int) { return true; });
  return shapes::moved(flat, [](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() * (1 + p.x() / 20)); });
}

TriangleSoup rod(double h) {
  std::vector<shapes::Station> profile{{0, 0}};
  const int across = round_steps(3, h), along = round_steps(80, h);
  for (int i = 1; i < across; ++i) profile.push_back({3.0 * i / across, 0});
  for (int i = 0; i <= along; ++i) profile.push_back({3, 80.0 * i / along});
  for (int i = across - 1; i >= 0; --i) profile.push_back({3.0 * i / across, 80});
  return shapes::revolve(profile, round_steps(6 * shapes::pi, h));
}

TriangleSoup tube(double h) {
  std::vector<shapes::Station> profile;
  const int across = round_steps(3, h), along = round_steps(60, h);
  for (int i = 0; i < across; ++i) profile.push_back({10 + 3.0 * i / across, 0});
  for (int i = 0; i < along; ++i) profile.push_back({13, 60.0 * i / along});
  for (int i = across; i > 0; --i) profile.push_back({10 + 3.0 * i / across, 60});
  for (int i = along; i > 0; --i) profile.push_back({10, 60.0 * i / along});
  return shapes::revolve(profile, round_steps(23 * shapes::pi, h), true);
}

TriangleSoup ring(double h) {
  std::vector<shapes::Station> circle;
  const int n = round_steps(12 * shapes::pi, h);
  for (int i = 0; i < n; ++i)
    circle.push_back({30 + 6 * std::cos(2 * shapes::pi * i / n), 6 * std::sin(2 * shapes::pi * i / n)});
  return shapes::revolve(circle, round_steps(60 * shapes::pi, h), true);
}

TriangleSoup ball(double h) {
  return shapes::sphere(15, 2 * round_steps(15 * shapes::pi, h));
}

TriangleSoup small_ball(double h) {
  return shapes::sphere(5, 2 * round_steps(5 * shapes::pi, h));
}

TriangleSoup shell(double h) {
  return shapes::joined({shapes::sphere(15, 2 * round_steps(15 * shapes::pi, h)),
                         shapes::turned(shapes::sphere(12, 2 * round_steps(12 * shapes::pi, h)))});
}

TriangleSoup turned(TriangleSoup soup, std::uint32_t seed) {
  return seed == 0 ? soup : turned_by(random_rotation(seed), soup);
}

enum class Noise : std::uint8_t { none, coordinates, normals };

void roughen(TriangleSoup& soup, Noise noise, double sigma, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, sigma);
  std::vector<Vec3> along(soup.vertices.size(), Vec3::Zero());
  for (const Triangle& t : soup.triangles) {
    const Vec3& a = soup.vertices[t[0]];
    for (const Index v : t) along[v] += (soup.vertices[t[1]] - a).cross(soup.vertices[t[2]] - a);
  }
  for (std::size_t v = 0; v < along.size(); ++v) {
    if (noise == Noise::normals)
      soup.vertices[v] += normal(random) * along[v].normalized();
    else if (noise == Noise::coordinates)
      for (int k = 0; k < 3; ++k) soup.vertices[v][k] += normal(random);
  }
}

struct Body {
  std::string name;
  TriangleSoup (*make)(double);
  double fine, coarse;   ///< typical edges, mm
  double least, median;  ///< mm; 0: not one thickness
};
const Body bodies[] = {
    {"slab", slab, 1.5, 20, 4, 4},
    {"cube", cube, 1, 20, 20, 20},
    {"tray", tray, 1.5, 30, 2.5, 0},
    {"fins", fins, 1.5, 15, 2.4, 0},
    {"wedge", wedge, 1.5, 20, 2, 0},
    {"rod", rod, 0.5, 0.7, 6, 6},
    {"tube", tube, 1.2, 2, 3, 3},
    {"ring", ring, 1, 1.5, 12, 12},
    {"ball", ball, 1.2, 2.4, 30, 30},
    {"shell", shell, 0.9, 1.3, 3, 3},
    {"thin slab", thin_slab, 0.6, 12, 1, 1},
    {"small ball", small_ball, 0.5, 1, 10, 10},
};

Walls walls_of(TriangleSoup soup) {
  auto solid = take_closed(make_surface(std::move(soup)));  // noise folds slivers over each other
  REQUIRE_MESSAGE(solid, solid.error().text);
  WallsOptions options;
  options.find_spots = false;
  auto w = measure_walls(solid->body, options);
  REQUIRE_MESSAGE(w, w.error().text);
  return *w;
}

void check(const Body& body, const Walls& w, double least_within, double median_within) {
  CHECK(std::abs(in_millimetres(w.min) / body.least - 1) < least_within);
  if (body.median > 0) CHECK(std::abs(in_millimetres(w.median) / body.median - 1) < median_within);
  CHECK(w.min <= w.p05);
  CHECK(w.p05 <= w.median);
}

}  // namespace

TEST_CASE("known thickness at any orientation and tessellation") {
  for (const Body& body : bodies)
    for (const auto& [edge, seed] : {std::pair(body.fine, 0U), {body.fine, 1U}, {body.coarse, 2U}}) {
      CAPTURE(body.name);
      CAPTURE(edge);
      CAPTURE(seed);
      const Walls w = walls_of(turned(body.make(edge), seed));
      CHECK(w.noise == Length());
      check(body, w, 0.02, 0.01);
    }
}

TEST_CASE("known thickness through noise" * doctest::test_suite("long")) {
  constexpr double sigma = 0.05;
  for (const Body& body : bodies)
    for (const Noise noise : {Noise::coordinates, Noise::normals}) {
      const std::uint32_t seed = noise == Noise::normals ? 2 : 3;
      CAPTURE(body.name);
      CAPTURE(static_cast<int>(noise));
      CAPTURE(seed);
      TriangleSoup soup = turned(body.make(body.fine), seed);
      roughen(soup, noise, sigma, 40 + seed);
      const Walls w = walls_of(std::move(soup));
      CHECK(in_millimetres(w.noise) > 0.8 * sigma);
      CHECK(in_millimetres(w.noise) < 1.25 * sigma);
      check(body, w, 0.05, 0.05);
    }
}

TEST_CASE("noise is seen however long the edges are" * doctest::test_suite("long")) {
  for (const double edge : {10.0, 20.0}) {
    CAPTURE(edge);
    TriangleSoup soup = turned(shapes::bricks(steps({0, 100}, edge), steps({0, 80}, edge),
                                              steps({0, 2}, edge), [](int, int, int) { return true; }),
                               4);
    roughen(soup, Noise::coordinates, 0.05, 44);
    const Walls w = walls_of(std::move(soup));
    CHECK(in_millimetres(w.noise) > 0.035);
    CHECK(std::abs(in_millimetres(w.min) / 2 - 1) < 0.05);
    CHECK(std::abs(in_millimetres(w.median) / 2 - 1) < 0.05);
  }
}

TEST_CASE("a rough fin is one spot as thick as the fin" * doctest::test_suite("long")) {
  for (const std::uint32_t seed : {1U, 2U, 3U}) {
    CAPTURE(seed);
    const auto x = steps({0, 20, 21, 42}, 1.5), y = steps({0, 40}, 1.5), z = steps({0, 12, 20}, 1.5);
    TriangleSoup soup = turned(shapes::bricks(x, y, z,
                                              [&](int i, int, int k) {
                                                const double at = x[static_cast<std::size_t>(i)];
                                                return z[static_cast<std::size_t>(k)] < 12 || at == 20;
                                              }),
                               seed);
    roughen(soup, Noise::coordinates, 0.05, 30 + seed);
    const auto solid = take_closed(make_surface(std::move(soup)));
    REQUIRE(solid);
    const auto w = measure_walls(solid->body);
    REQUIRE(w);
    REQUIRE(w->spots.size() == 1);
    const ThinSpot& s = w->spots[0];
    CHECK(s.kind == ThinSpot::Kind::fin);
    CHECK(std::abs(in_millimetres(s.thickness) - 1) < 0.05);
    CHECK(std::abs(in_millimetres(s.reach) - 8) < 0.8);
    CHECK(w->min <= s.thickness);
  }
}

TEST_CASE("one corner where few places bear each other out is not the least of a rough wedge") {
  TriangleSoup soup =
      shapes::moved(shapes::bricks(steps({0, 60}, 0.5), steps({0, 40}, 0.5), steps({-1, 1}, 0.34),
                                   [](int, int, int) { return true; }),
                    [](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() * (1 + 7 * p.x() / 60) / 2); });
  soup = turned(std::move(soup), 5);
  roughen(soup, Noise::coordinates, 0.05, 102);
  CHECK(std::abs(in_millimetres(walls_of(std::move(soup)).min) - 1) < 0.05);
}

}  // namespace pourwright::known_bodies

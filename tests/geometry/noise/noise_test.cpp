// SPDX-License-Identifier: GPL-3.0-or-later
// Noise is found as large as it was made, on surfaces of every kind; and none where there is none.
#include <pourwright/noise.hpp>

#include "support/corruption.hpp"
#include "support/shapes.hpp"

#include <cmath>
#include <string>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

TriangleSoup coarse_cup() {
  return corruption::subdivided(revolve({{0, 0}, {25, 0}, {25, 40}, {21, 40}, {21, 4}, {0, 4}}, 64), 2000);
}

struct Shape {
  std::string name;
  TriangleSoup soup;
};

std::vector<Shape> plane_shapes() {
  return {{"cup", coarse_cup()},
          {"ring", corruption::subdivided(revolve({{20, 0}, {35, 0}, {35, 12}, {20, 12}}, 56, true), 2000)},
          {"cylinder", corruption::subdivided(revolve({{0, 0}, {20, 0}, {20, 50}, {0, 50}}, 64), 2000)},
          {"box", corruption::subdivided(box({0, 0, 0}, {40, 30, 20}), 2000)}};
}

std::vector<Shape> curved_shapes() {
  std::vector<Shape> out{{"ball", sphere(30, 48)},
                         {"ball of planes", corruption::subdivided(sphere(30, 24), 4000)}};
  std::vector<Station> p;
  for (int k = 0; k < 24; ++k)
    p.push_back({30 + 10 * std::cos(2 * pi * k / 24), 10 * std::sin(2 * pi * k / 24)});
  out.push_back({"torus", revolve(p, 48, true)});
  out.push_back({"waves", terrain(36, 36, 2, -10,
                                  [](int i, int j) { return 3 * std::sin(i * 0.5) * std::cos(j * 0.4); })});
  out.push_back(
      {"saddles", moved(terrain(40, 40, 2, -10, [](int i, int j) { return 0.02 * (i - 20) * (j - 20); }),
                        [](const Vec3& v) { return Vec3(v.x() + 0.003 * v.y() * v.y(), v.y(), v.z()); })});
  return out;
}

double found(TriangleSoup soup) {
  return in_millimetres(find_noise(make_surface(std::move(soup))).spread);
}

}  // namespace

TEST_CASE("noise on plane faces is found from far below to as steep as the corners between them") {
  for (const Shape& shape : plane_shapes())
    for (const double share : {2e-4, 1e-3, 2e-3})
      for (const std::uint32_t seed : {1u, 2u, 3u}) {
        CAPTURE(shape.name);
        CAPTURE(share);
        CAPTURE(seed);
        TriangleSoup soup = shape.soup;
        corruption::Vandal vandal(seed);
        const double reach = share * bounds(soup).size().norm();
        vandal.shake(soup, reach);
        // Of a direction at random times a length up to `reach`, one coordinate has a third of it.
        const double spread = found(std::move(soup));
        CHECK(spread > 0.7 * reach / 3);
        CHECK(spread < 1.5 * reach / 3);
      }
}

TEST_CASE("what is drawn has no noise, plane or curved") {
  for (const auto& shapes : {plane_shapes(), curved_shapes()})
    for (const Shape& shape : shapes) {
      CAPTURE(shape.name);
      CHECK(found(shape.soup) == 0);
      // Nor has it when it stands askew in single precision.
      CHECK(found(moved(shape.soup, [](const Vec3& v) {
              const Vec3 turned(0.36 * v.x() + 0.48 * v.y() - 0.8 * v.z(), -0.8 * v.x() + 0.6 * v.y(),
                                0.48 * v.x() + 0.64 * v.y() + 0.6 * v.z());
              return Vec3(turned.cast<float>().cast<double>());
            })) == 0);
    }
}

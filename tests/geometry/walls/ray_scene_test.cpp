// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/walls/ray_scene.hpp"

#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("a ray from a face of a box leaves through the opposite one") {
  const TriangleSoup box = shapes::box({0, 0, 0}, {30, 20, 4});
  const auto scene = RayScene::build(box.vertices, box.triangles);
  REQUIRE(scene);
  const auto hit = scene->first_exit({3, 5, 4}, {0, 0, -1});
  REQUIRE(hit);
  CHECK(hit->distance == doctest::Approx(4).epsilon(1e-12));
  CHECK_FALSE(scene->first_exit({3, 5, 40}, {0, 0, 1}));
}

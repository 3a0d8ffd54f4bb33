// SPDX-License-Identifier: GPL-3.0-or-later
// Places by area: as many as asked for, as many to each part as its area is, the same every time.
#include "geometry/walls/samples.hpp"

#include "support/shapes.hpp"

#include <cmath>

#include <doctest/doctest.h>

namespace pourwright {

TEST_CASE("each face of a box gets places by its area, spread over it") {
  const TriangleSoup box = shapes::box({0, 0, 0}, {30, 20, 4});
  const thickness::Skin skin(box.vertices, box.triangles);
  constexpr std::size_t count = 4000;
  const thickness::Places places = thickness::spread_places(skin, count);
  CHECK(places.area == doctest::Approx(2 * (30 * 20 + 30 * 4 + 20 * 4)));
  CHECK(places.list.size() == count);
  std::vector<std::size_t> in(box.triangles.size());
  std::size_t low_half = 0, on_top = 0;
  for (const thickness::Place& p : places.list) {
    ++in[p.triangle];
    const auto& [a, b, c] = box.triangles[p.triangle];
    const Vec3& at = box.vertices[a];
    const Vec3 n = (box.vertices[b] - at).cross(box.vertices[c] - at).normalized();
    CHECK(std::abs(n.dot(p.at - at)) < 1e-9);
    if (n.z() > 0.5) {
      ++on_top;
      low_half += p.at.x() < 15;
    }
  }
  for (Index t = 0; t < box.triangles.size(); ++t)
    CHECK(std::abs(static_cast<double>(in[t]) -
                   static_cast<double>(count) * skin.facet(t).area / places.area) <= 1);
  // A sequence of low discrepancy: chance alone would leave sqrt(n) / 2, about 20.
  CHECK(std::abs(static_cast<double>(low_half) - static_cast<double>(on_top) / 2) < 8);
}

TEST_CASE("without area there are no places") {
  const std::vector<Vec3> line{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}};
  const std::vector<Triangle> sliver{{0, 1, 2}};
  const thickness::Places places = thickness::spread_places(thickness::Skin(line, sliver), 100);
  CHECK(places.list.empty());
  CHECK(places.area == 0);
}

}  // namespace pourwright

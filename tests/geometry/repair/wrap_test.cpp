// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/repair.hpp>
#include <pourwright/solid.hpp>

#include "support/corruption.hpp"
#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

TEST_CASE("a skin round a soup that nothing closes keeps its word") {
  TriangleSoup s = sphere(30, 40);
  corruption::Vandal v(2);
  for (Vec3& p : s.vertices) p += 0.02 * v.direction();
  const double truth = measure(s.vertices, s.triangles, bounds(s).centre()).volume;
  v.remove_scattered(s, 0.05);
  const auto w = wrap(make_surface(s));
  REQUIRE(w);
  CHECK(w->surface.census.closed());
  const double value = measure(w->surface.vertices, w->surface.triangles, w->surface.box.centre()).volume;
  CHECK(std::abs(value - truth) <= in_cubic_millimetres(w->doubt));
}

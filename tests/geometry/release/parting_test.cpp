// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/release/pieces.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pieces;

namespace {

Parting parting_of(const TriangleSoup& s) {
  ReleaseOptions o;
  o.search = false;
  return *release_of(s, o).parting;
}

}  // namespace

TEST_CASE("bodies that part without undercut, along the axis expected") {
  CHECK(parting_of(revolve({{0, -10}, {6, -8}, {10, 0}, {6, 8}, {0, 10}}, 64)).share == 0);
  CHECK(parting_of(box(Vec3(0, 0, 0), Vec3(60, 40, 25))).share == 0);
  CHECK(parting_of(tee(12, 5, 6, 20, 80)).share == 0);
  // A waist between two wide ends is caught by a pull askew, free along the axis and across it.
  const TriangleSoup spool =
      revolve({{0, 0}, {20, 0}, {20, 5}, {8, 8}, {8, 30}, {20, 33}, {20, 38}, {0, 38}}, 64);
  const Parting p = parting_of(spool);
  CHECK(p.share < 0.003);
  CHECK(std::abs(p.axis[2]) < 0.02);
}

TEST_CASE("a ring with a groove in its bore keeps an undercut whatever the axis") {
  // Bore of radius 10 with a groove to 15 in it: along the axis the groove's two faces and its wall are
  // caught.
  const TriangleSoup ring =
      revolve({{10, 0}, {25, 0}, {25, 30}, {10, 30}, {10, 20}, {15, 20}, {15, 10}, {10, 10}}, 128, true);
  const Parting p = parting_of(ring);
  CHECK(std::abs(p.axis[2]) > 0.999);
  const double caught = 2 * pi * (225 - 100) + 2 * pi * 15 * 10;
  const double whole = 2 * pi * (625 - 100) + 2 * pi * 25 * 30 + 2 * pi * 10 * 20 + caught;
  CHECK(p.share == doctest::Approx(caught / whole).epsilon(0.03));
  CHECK(mm2(p.undercut) == doctest::Approx(caught).epsilon(0.03));
}

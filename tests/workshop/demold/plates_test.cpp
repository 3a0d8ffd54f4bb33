// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/demold.hpp>

#include <cmath>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

struct Row {
  double aspect, stress, bending;
};

/// The same plate by Navier's double series: nothing in common with the single series but the problem.
PlateFactors navier(double aspect, double nu) {
  constexpr double pi = std::numbers::pi;
  double moment = 0, deflection = 0;
  for (int m = 1; m < 1200; m += 2)
    for (int n = 1; n < 1200; n += 2) {
      const double sign = (m + n) % 4 == 2 ? 1 : -1;
      const double kx = n * n, ky = m * m / (aspect * aspect), d = (kx + ky) * (kx + ky);
      moment += sign * 16 / std::pow(pi, 4) * (kx + nu * ky) / (m * n * d);
      deflection += sign * 16 / std::pow(pi, 6) / (m * n * d);
    }
  return {6 * moment, 12 * (1 - nu * nu) * deflection};
}

}  // namespace

TEST_CASE("uniformly loaded plate, supported all round: Roark's table 11.4, case 1a") {
  // Roark's Formulas for Stress and Strain, 7th edition, Table 11.4 case 1a, ν = 0.3. The printed deflections
  // at 1.4 and 2.0 are 0.0004 off the series, hence the tolerance.
  const std::vector<Row> roark{{1.0, .2874, .0444}, {1.2, .3762, .0616}, {1.4, .4530, .0770},
                               {1.6, .5172, .0906}, {1.8, .5688, .1017}, {2.0, .6102, .1110},
                               {3.0, .7134, .1335}, {4.0, .7410, .1400}, {5.0, .7476, .1417},
                               {1e6, .7500, .1421}};
  for (const Row& r : roark) {
    const PlateFactors f = uniform_plate(r.aspect);
    CAPTURE(r.aspect);
    CHECK(std::abs(f.stress - r.stress) < 5e-4);
    CHECK(std::abs(f.bending - r.bending) < 5e-4);
  }
}

TEST_CASE("uniformly loaded plate: the values of Navier's series, and the series itself") {
  // Navier's series, evaluated to the fourth digit.
  const std::vector<Row> series{{1.0, .2873, .0444}, {1.2, .3761, .0617}, {1.4, .4533, .0774},
                                {1.6, .5174, .0907}, {1.8, .5691, .1017}, {2.0, .6101, .1106},
                                {3.0, .7132, .1336}, {5.0, .7477, .1416}};
  for (const Row& r : series) {
    const PlateFactors f = uniform_plate(r.aspect);
    CAPTURE(r.aspect);
    CHECK(std::abs(f.stress - r.stress) < 1e-4);
    CHECK(std::abs(f.bending - r.bending) < 1e-4);
  }
  for (const double aspect : {1.0, 1.37, 2.5})
    for (const double nu : {0.0, 0.3, 0.45}) {
      CHECK(uniform_plate(aspect, nu).stress == doctest::Approx(navier(aspect, nu).stress).epsilon(2e-5));
      CHECK(uniform_plate(aspect, nu).bending == doctest::Approx(navier(aspect, nu).bending).epsilon(2e-5));
    }
}

TEST_CASE("uniformly loaded plate: Timoshenko's square and two-to-one plates") {
  // Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, Table 8 (from memory): w = 0.00406 qa⁴/D and
  // M = 0.0479 qa²; for two to one 0.01013 and 0.1017.
  const double d = 12 * (1 - 0.09);
  CHECK(uniform_plate(1).bending / d == doctest::Approx(0.00406).epsilon(2e-3));
  CHECK(uniform_plate(1).stress / 6 == doctest::Approx(0.0479).epsilon(1e-3));
  CHECK(uniform_plate(2).bending / d == doctest::Approx(0.01013).epsilon(1e-3));
  CHECK(uniform_plate(2).stress / 6 == doctest::Approx(0.1017).epsilon(1e-3));
  CHECK(uniform_plate(0.2).stress == uniform_plate(1).stress);  // the long side is never the shorter
}

TEST_CASE("plate under a small patch: Roark's table 11.4, case 1b") {
  const std::vector<Row> roark{{1.0, .435, .1267}, {1.2, .650, .1478}, {1.4, .789, .1621}, {1.6, .875, .1715},
                               {1.8, .927, .1770}, {2.0, .958, .1805}, {1e6, 1.000, .1851}};
  for (const Row& r : roark) {
    const PlateFactors f = patch_plate(r.aspect);
    CAPTURE(r.aspect);
    CHECK(std::abs(f.stress - r.stress) < 2e-3);
    CHECK(std::abs(f.bending - r.bending) < 5e-4);
  }
  // The radius as it counts: equal at half the thickness (to 0.4 %), never less than 0.325 t.
  CHECK(patch_radius(2, 4) == 2);
  CHECK(patch_radius(1.999999, 4) == doctest::Approx(2).epsilon(0.02));
  CHECK(patch_radius(0, 4) == doctest::Approx(0.325 * 4));
  // σ = 3W/(2πt²)·((1+ν)·ln(2b/πr) + β), by hand: W = 10 N, b = 40, t = 3, r = 5, square.
  CHECK(
      patch_stress(10, 5, 40, 3, 1) ==
      doctest::Approx(30 / (2 * std::numbers::pi * 9) * (1.3 * std::log(80 / (5 * std::numbers::pi)) + 0.435))
          .epsilon(1e-3));
}

TEST_CASE("strips and bars: beam theory") {
  CHECK(cantilever_stress(5, 30, 20, 4) == doctest::Approx(2.8125).epsilon(1e-12));
  // 1750 kg/m³, 30 mm, 4 mm: 11.58 kPa. Its own weight never snaps a wall, prying does.
  CHECK(cantilever_own_weight(grams_per_millilitre(1.75), 30, 4) * 1000 ==
        doctest::Approx(11.58).epsilon(0.005 / 11.58));
  // EN 13279-2 (from memory): the prism of 40 × 40 × 160 mm on 100 mm breaks at 0.00234 MPa per newton.
  CHECK(three_point_stress(1, 100, 40, 40) == doctest::Approx(0.00234375).epsilon(1e-12));
  // Half the wall, four times the stress.
  CHECK(cantilever_stress(5, 30, 20, 2) == doctest::Approx(4 * cantilever_stress(5, 30, 20, 4)));
}

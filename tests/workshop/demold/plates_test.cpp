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

// ---- a finger on the edge of a strip that has no end ----------------------------------------------------

namespace {

/// Bending moment at the root of an endless cantilever plate of reach 1, of a line of unit force along the
/// free edge that goes as cos(ks): the plate equation in one dimension, its two conditions at the free edge
/// solved by Cramer's rule. ν = 0.3.
double root_moment(double k) {
  if (k < 1e-4) return 1;
  const double nu = 0.3, s = std::sinh(k), c = std::cosh(k);
  // w = a (sinh − ξ cosh) + b ξ sinh, ξ = k x: clamped at x = 0.
  const double moment_a = (-s - k * c) - nu * (s - k * c), moment_b = (2 * c + k * s) - nu * k * s;
  const double shear_a = (-2 * c - k * s) + (2 - nu) * k * s,
               shear_b = (3 * s + k * c) - (2 - nu) * (s + k * c);
  const double determinant = moment_a * shear_b - moment_b * shear_a;
  return std::abs(2 * k * k * moment_a / (k * k * k * determinant));
}

/// The same of a unit force on a patch `width` reaches wide, opposite its middle; the Fourier integral by
/// Simpson's rule.
double patch_root_moment(double width) {
  constexpr int n = 8000;
  constexpr double most = 40;
  double sum = 0;
  for (int i = 0; i <= n; ++i) {
    const double k = most * i / n, x = k * width / 2;
    const double weight = i == 0 || i == n ? 1 : i % 2 == 1 ? 4 : 2;
    sum += weight * root_moment(k) * (x < 1e-9 ? 1 : std::sin(x) / x);
  }
  return sum * most / n / 3 / std::acos(-1.0);
}

/// As the workshop reckons it, in the same measure: moment over force.
double reckoned(double reach, double width, double contact) {
  Handling h;
  h.pry_n = 1;
  h.pry_contact = millimetres(contact);
  const ThinPlace p{ThinKind::fin, millimetres(2), millimetres(reach), millimetres(width)};
  return stress_in(p, h, grams_per_millilitre(1.75)).pry_mpa * 4 / 6;
}

}  // namespace

TEST_CASE("a force on the edge of an endless cantilever plate: Jaramillo's 0.509 P") {
  // T. J. Jaramillo, Deflections and moments due to a concentrated load on a cantilever plate of infinite
  // length, J. Appl. Mech. 17(1) (1950) 67-72; also Timoshenko & Woinowsky-Krieger, article 48.
  CHECK(patch_root_moment(0) == doctest::Approx(0.509).epsilon(1e-3));
  // Everything that is pushed at the edge arrives at the root.
  CHECK(patch_root_moment(200) * 200 == doctest::Approx(1).epsilon(5e-3));
}

TEST_CASE(
    "a finger's force is borne by about twice the reach: never less stress than the plate's, 5 % more at "
    "most") {
  for (const double reach : {2.0, 5.5, 10.6, 30.0, 80.0}) {
    const double exact = patch_root_moment(0);
    for (const double width : {4 * reach, 12 * reach, 300 * reach}) {
      CHECK(reckoned(reach, width, 0.01) >= exact);
      CHECK(reckoned(reach, width, 0.01) <= 1.05 * exact);
    }
  }
  // A finger of some width strains the root less than a point does; it is never taken for more than that.
  for (double contact = 0.05; contact < 40; contact *= 1.3) {
    const double exact = patch_root_moment(contact);
    CHECK(reckoned(10, 1e4, 10 * contact) >= exact * (1 - 1e-6));
    CHECK(reckoned(10, 1e4, 10 * contact) <= std::max(patch_root_moment(0) * 1.05, 1 / contact));
  }
}

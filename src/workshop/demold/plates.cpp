// SPDX-License-Identifier: GPL-3.0-or-later
// Plates by single series (Lévy), which converge in a few terms; beams in closed form.
#include <pourwright/demold.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pourwright {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double gravity = 9.80665;  // m/s²

/// Beyond this the hyperbolic terms are below a double's last digit.
constexpr double far = 40;

}  // namespace

// Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, article 30: a strip of span b with the
// correction that the two ends, a apart, make. The long way over the same plate, Navier's double series, is
// in the tests.
PlateFactors uniform_plate(double aspect, double poisson) {
  const double r = std::max(1.0, aspect);
  double moment = 1.0 / 8, deflection = 5.0 / 384;
  for (int m = 1; m < 400; m += 2) {
    const double alpha = m * pi * r / 2;
    if (alpha > far) break;
    const double sign = m % 4 == 1 ? 1 : -1;
    const double b = 1 / (2 * std::cosh(alpha)), a = (alpha * std::tanh(alpha) + 2) * b;
    moment -= sign * 4 / std::pow(m * pi, 3) * (a + poisson * (2 * b - a));
    deflection -= sign * 4 / std::pow(m * pi, 5) * a;
  }
  return {6 * moment, 12 * (1 - poisson * poisson) * deflection};
}

// An endless strip under a point force, and forces of alternating sign every a along it, which keep the lines
// halfway between them straight as supported edges would.
PlateFactors patch_plate(double aspect, double poisson) {
  const double r = std::max(1.0, aspect);
  double moment = 1, deflection = 0;
  for (int m = 1; m < 4001; m += 2) deflection += std::pow(m, -3);
  for (int k = 1; k * pi * r < far; ++k) {
    const double sign = k % 2 == 0 ? 1 : -1;
    for (int m = 1; m * k * pi * r < far; m += 2) {
      const double u = m * k * pi * r, fade = std::exp(-u) / m;
      moment += 4 * sign * ((1 + poisson) + (1 - poisson) * u) * fade;
      deflection += 2 * sign * (1 + u) * fade / (m * m);
    }
  }
  return {moment, 12 * (1 - poisson * poisson) * deflection / (2 * pi * pi * pi)};
}

// Roark's Formulas for Stress and Strain, 7th edition, 11.1 (after Westergaard).
double patch_radius(double radius, double thickness) {
  if (radius >= 0.5 * thickness) return radius;
  return std::sqrt(1.6 * radius * radius + thickness * thickness) - 0.675 * thickness;
}

double patch_stress(double force, double radius, double short_side, double thickness, double aspect,
                    double poisson) {
  const double spread = std::log(2 * short_side / (pi * patch_radius(radius, thickness)));
  return 3 * force / (2 * pi * thickness * thickness) *
         ((1 + poisson) * spread + patch_plate(aspect, poisson).stress);
}

double cantilever_stress(double force, double reach, double width, double thickness) {
  return 6 * force * reach / (width * thickness * thickness);
}

double cantilever_own_weight(Density density, double reach, double thickness) {
  // g/mL · m/s² · mm is kPa.
  return 3 * in_grams_per_millilitre(density) * gravity * reach * reach / thickness * 1e-6;
}

double three_point_stress(double force, double span, double width, double thickness) {
  return 3 * force * span / (2 * width * thickness * thickness);
}

}  // namespace pourwright

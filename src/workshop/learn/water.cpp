// SPDX-License-Identifier: GPL-3.0-or-later
// Grams of water to millilitres: the density of water and the buoyancy of air, each by its published formula.
#include <pourwright/learn.hpp>

#include <algorithm>
#include <cmath>

namespace pourwright {

Density water_density(Temperature temperature) {
  constexpr double a1 = -3.983035, a2 = 301.797, a3 = 522528.9, a4 = 69.34881, a5 = 999.974950;
  const double t = std::clamp(in_celsius(temperature), 0.0, 40.0);
  const double kilograms_per_cubic_metre = a5 * (1 - (t + a1) * (t + a1) * (t + a2) / (a3 * (t + a4)));
  return grams_per_millilitre(kilograms_per_cubic_metre / 1000);
}

Density air_density(const Air& air) {
  const double t = in_celsius(air.temperature);
  const double kilograms_per_cubic_metre =
      (0.34848 * air.pressure_hpa - 0.009 * air.humidity_percent * std::exp(0.061 * t)) / (t + 273.15);
  return grams_per_millilitre(kilograms_per_cubic_metre / 1000);
}

double millilitres_per_gram(Temperature water, const Air& air) {
  const double rho_air = in_grams_per_millilitre(air_density(air));
  constexpr double rho_weights = 8.0;
  return (1 - rho_air / rho_weights) / (in_grams_per_millilitre(water_density(water)) - rho_air);
}

}  // namespace pourwright

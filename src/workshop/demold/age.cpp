// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/demold.hpp>

#include <algorithm>
#include <cmath>

namespace pourwright {

double maturity(std::span<const AgeStep> steps, Temperature datum) {
  double sum = 0;
  for (const AgeStep& s : steps)
    sum += std::max(0.0, in_celsius(s.at) - in_celsius(datum)) * in_minutes(s.time) / 60;
  return sum;
}

double arrhenius_pace(Temperature at, Temperature reference, double q_kelvin) {
  const auto kelvin = [](Temperature t) { return in_celsius(t) + 273.15; };
  return std::exp(-q_kelvin * (1 / kelvin(at) - 1 / kelvin(reference)));
}

Duration equivalent_age(std::span<const AgeStep> steps, Temperature reference,
                        const std::function<double(Temperature, Temperature)>& pace) {
  Duration sum;
  for (const AgeStep& s : steps) sum += s.time * pace(s.at, reference);
  return sum;
}

}  // namespace pourwright

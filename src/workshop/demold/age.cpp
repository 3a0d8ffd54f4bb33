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

double age_factor(Temperature at, Temperature reference, double q_kelvin) {
  const auto kelvin = [](Temperature t) { return in_celsius(t) + 273.15; };
  return std::exp(-q_kelvin * (1 / kelvin(at) - 1 / kelvin(reference)));
}

Duration equivalent_age(std::span<const AgeStep> steps, Temperature reference, double q_kelvin) {
  Duration sum;
  for (const AgeStep& s : steps) sum += s.time * age_factor(s.at, reference, q_kelvin);
  return sum;
}

double room_factor(Temperature room) {
  return age_factor(std::clamp(room, celsius(5), celsius(35)));
}

}  // namespace pourwright

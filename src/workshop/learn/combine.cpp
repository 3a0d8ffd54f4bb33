// SPDX-License-Identifier: GPL-3.0-or-later
// Readings weighed by their precision, and the Birge ratio that says whether they agree better than they
// claim (R. T. Birge, Phys. Rev. 40, 1932, 207-227).
#include "workshop/learn/combine.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::learn {

Combined combine(const std::vector<Reading>& readings) {
  double weights = 0, sum = 0;
  for (const Reading& r : readings) {
    weights += 1 / (r.u * r.u);
    sum += r.value / (r.u * r.u);
  }
  Combined c{sum / weights, 1 / std::sqrt(weights), 1};
  if (readings.size() < 2) return c;
  double chi2 = 0;
  for (const Reading& r : readings) chi2 += (r.value - c.value) * (r.value - c.value) / (r.u * r.u);
  c.birge = std::max(1.0, std::sqrt(chi2 / static_cast<double>(readings.size() - 1)));
  c.u *= c.birge;
  return c;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size();
  return n % 2 == 1 ? values[n / 2] : (values[n / 2 - 1] + values[n / 2]) / 2;
}

std::vector<std::size_t> contradicted(const std::vector<Reading>& readings) {
  std::vector<std::size_t> out;
  if (readings.size() < 3) return out;
  std::vector<double> values, distances;
  for (const Reading& r : readings) values.push_back(r.value);
  const double middle = median(values);
  for (const double v : values) distances.push_back(std::abs(v - middle));
  const double robust = median(distances) * 1.4826;  // a normal's deviation per median distance
  for (std::size_t i = 0; i < readings.size(); ++i)
    if (distances[i] > 3.5 * std::max(robust, readings[i].u)) out.push_back(i);
  return out;
}

}  // namespace pourwright::learn

// SPDX-License-Identifier: GPL-3.0-or-later
// What sets sizes of noise apart from those of something drawn.
#include "geometry/noise/sizes.hpp"

#include <algorithm>

namespace pourwright::scatter {

bool random_sizes(const std::vector<double>& all) {
  constexpr std::size_t enough = 500;
  std::vector<double> v;
  for (std::size_t i = 0; i < std::min(enough, all.size()); ++i)
    v.push_back(all[i * all.size() / std::min(enough, all.size())]);
  std::sort(v.begin(), v.end());
  const double quarter = v[v.size() / 4], half = v[v.size() / 2], most = v[v.size() * 9 / 10];
  std::size_t repeated = 0;
  for (std::size_t i = 1; i < v.size(); ++i) repeated += v[i] - v[i - 1] < 1e-4 * half ? 1 : 0;
  return repeated * 4 < v.size() && quarter > 0.2 * half && quarter < 0.75 * half && most > 1.6 * half &&
         most < 6 * half;
}

}  // namespace pourwright::scatter

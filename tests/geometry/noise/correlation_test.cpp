// SPDX-License-Identifier: GPL-3.0-or-later
// The table of correlations against the traces that it holds, reckoned on a lattice, and against noise drawn.
#include "geometry/noise/correlation.hpp"

#include "geometry/noise/neighbourhood.hpp"

#include <cmath>
#include <vector>

#include <Eigen/QR>
#include <doctest/doctest.h>

using namespace pourwright::scatter;

namespace {

struct Foretold {
  double spread, together;
};

/// Covariance (I − H) C (I − H) of the residuals in a hexagon of so many rings.
Foretold foretold(const Reach& reach, double length) {
  std::vector<Eigen::Vector2d> at;
  for (int i = -reach.rings; i <= reach.rings; ++i)
    for (int j = -reach.rings; j <= reach.rings; ++j)
      if (std::abs(i + j) <= reach.rings) at.emplace_back(i + 0.5 * j, j * std::sqrt(0.75));
  const auto n = static_cast<Eigen::Index>(at.size());
  const Eigen::Index terms = (reach.degree + 1) * (reach.degree + 2) / 2;
  Eigen::MatrixXd rows(n, terms), apart(n, n), covariance(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Eigen::Vector2d& p = at[static_cast<std::size_t>(i)];
    Eigen::Index column = 0;
    for (int d = 0; d <= reach.degree; ++d)
      for (int k = 0; k <= d; ++k)
        rows(i, column++) = std::pow(p.x() / reach.rings, d - k) * std::pow(p.y() / reach.rings, k);
    for (Eigen::Index j = 0; j < n; ++j) {
      apart(i, j) = (p - at[static_cast<std::size_t>(j)]).squaredNorm();
      covariance(i, j) = i == j ? 1 : length > 0 ? std::exp(-apart(i, j) / (2 * length * length)) : 0;
    }
  }
  const Eigen::MatrixXd q =
      Eigen::HouseholderQR<Eigen::MatrixXd>(rows).householderQ() * Eigen::MatrixXd::Identity(n, terms);
  covariance -= (q * (q.transpose() * covariance)).eval();
  covariance -= ((covariance * q) * q.transpose()).eval();
  double with = 0, own = 0;
  for (Eigen::Index i = 0; i < n; ++i)
    for (Eigen::Index j = 0; j < n; ++j) {
      if (i == j || apart(i, j) > 1.5) continue;  // the square of the edge, 1, and of what comes next, 3
      with += covariance(i, j);
      own += (covariance(i, i) + covariance(j, j)) / 2;
    }
  return {std::sqrt(covariance.trace() / static_cast<double>(n - terms)), with / own};
}

}  // namespace

TEST_CASE("the table of correlations holds the traces of its lengths") {
  for (const double length : {0.0, 0.4, 0.55, 0.7, 0.85, 1.0, 1.3, 1.7, 2.2, 2.8, 3.4, 4.0}) {
    CAPTURE(length);
    const Foretold half = foretold(about, length), close = foretold(near_by, length);
    const Correlation c = correlation_by_ratio(half.spread / close.spread);
    CHECK(c.length == doctest::Approx(length).epsilon(0.02));
    CHECK(c.together == doctest::Approx(half.together).epsilon(0.01));
    CHECK(c.left_about == doctest::Approx(half.spread).epsilon(0.01));
    CHECK(c.left_wide == doctest::Approx(foretold(wide, length).spread).epsilon(0.01));
    if (length <= 1.3)
      CHECK(correlation_by_neighbours(half.together).length == doctest::Approx(length).epsilon(0.02));
  }
}

TEST_CASE("between the rows a length is told to a twentieth, beyond them it is the nearest") {
  for (const double length : {0.6, 0.9, 1.5, 2.5, 3.7}) {
    CAPTURE(length);
    const Foretold half = foretold(about, length);
    const Correlation c = correlation_by_ratio(half.spread / foretold(near_by, length).spread);
    CHECK(c.length == doctest::Approx(length).epsilon(0.05));
    CHECK(c.left_about == doctest::Approx(half.spread).epsilon(0.05));
  }
  CHECK(correlation_by_ratio(0.8).length == 0);
  CHECK(correlation_by_ratio(0.8).left_wide == 1);
  CHECK(correlation_by_ratio(9).length == 4);
  CHECK(correlation_by_neighbours(-0.5).length == 0);
}

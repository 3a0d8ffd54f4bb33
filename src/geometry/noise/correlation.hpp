// SPDX-License-Identifier: GPL-3.0-or-later
// How much of noise that neighbours share a polynomial takes for shape.
#pragma once

namespace pourwright::scatter {

/// What residuals show of noise of standard deviation 1 with the correlation exp(−d²/2ℓ²) of vertices d edges
/// apart. Expectations on a lattice of equal triangles: with H the projection on the polynomials the
/// residuals have the covariance (I − H) C (I − H).
struct Correlation {
  double length;                 ///< ℓ, in edges; zero when independent
  double ratio;                  ///< spread `about` over that `near_by`
  double together;               ///< correlation of neighbours, `about`
  double left_about, left_wide;  ///< spread
};

/// The length that makes residuals `about` so many times those `near_by`, up to four edges; what goes
/// together farther cannot be told from shape.
Correlation correlation_by_ratio(double ratio);
/// The length that makes neighbours go together so much.
Correlation correlation_by_neighbours(double together);

}  // namespace pourwright::scatter

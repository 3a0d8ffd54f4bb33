// SPDX-License-Identifier: GPL-3.0-or-later
// A production run: which pieces go into which batch, in which order, and when each mold is free again.
// Everything is counted in whole steps and whole seconds; the search is deterministic and limited by work,
// never by a clock.
#pragma once

#include <pourwright/units.hpp>

#include <cstdint>
#include <vector>

namespace pourwright {

// ---- packing: the fewest batches, with a proof ---------------------------------------------------------

/// Something of which every batch has only so much: grams in the bucket, seconds of working time, copies of a
/// mold.
struct PackResource {
  std::int64_t capacity = 0;
  std::vector<std::int64_t> uses;  ///< of one piece, by kind
};

/// Pieces that are alike are one kind. What must not meet in a batch (two base colours) is two problems.
struct PackProblem {
  std::vector<int> counts;  ///< by kind
  std::vector<PackResource> resources;
};

struct PackOptions {
  /// Elementary steps (table cells, pivots) before the search gives up improving; about 10^9 take a second.
  std::int64_t work_limit = 4'000'000'000;
};

/// Pieces of one kind in a bin.
struct Placed {
  int kind = 0;
  int count = 0;
  bool operator==(const Placed&) const = default;
};

struct Packing {
  std::vector<std::vector<Placed>> bins;  ///< by rising kind; no bin is empty
  int lower_bound = 0;                    ///< no packing has fewer bins; by integer arithmetic alone
  std::int64_t work = 0;                  ///< steps taken; the same on every machine
  bool proven() const { return static_cast<int>(bins.size()) == lower_bound; }
};

/// Vector bin packing. Exact for a few hundred pieces: bounds, greedy filling, then a tree search over
/// fillings that is guided by the linear relaxation of Gilmore and Gomory, whose bound is confirmed in whole
/// numbers. Fails when a piece does not fit into an empty bin, a number is negative or above 10^13, or there
/// are more than 20,000 pieces. Above 400 kinds only the quick bounds and the greedy filling are used.
Expected<Packing> pack(const PackProblem& problem, const PackOptions& options = {});

}  // namespace pourwright

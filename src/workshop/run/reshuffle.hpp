// SPDX-License-Identifier: GPL-3.0-or-later
// Large neighbourhood search: with one bin too few, some pieces lie beside the bins; a few bins at a time are
// emptied and filled anew until nothing lies beside them any more.
#pragma once

#include "workshop/run/pack_model.hpp"

#include <optional>

namespace pourwright::packing {

/// A packing with one bin fewer than `bins`, or nothing when `steps` of work did not find one. Deterministic.
std::optional<std::vector<Pattern>> one_bin_fewer(const Model& model, const std::vector<Pattern>& bins,
                                                  std::uint64_t seed, std::int64_t steps, Work& work);

}  // namespace pourwright::packing

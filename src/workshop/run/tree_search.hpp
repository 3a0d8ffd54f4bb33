// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "workshop/run/relaxation.hpp"

#include <optional>
#include <vector>

namespace pourwright::packing {

struct TreeResult {
  std::optional<std::vector<Pattern>> bins;
  bool none = false;  ///< the whole tree was searched: there is no such packing
};
/// A packing of the model's demand into `target` bins. Every node fills one bin around one piece that must
/// lie somewhere, and the relaxation of the rest says in which order to try the patterns and when to turn
/// back.
TreeResult tree_search(const Model& model, Patterns& patterns, Relaxation& relaxation, int target,
                       Work& work);

}  // namespace pourwright::packing

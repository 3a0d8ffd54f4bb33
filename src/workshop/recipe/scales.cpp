// SPDX-License-Identifier: GPL-3.0-or-later
// Which scale is for what.
#include <pourwright/recipe.hpp>

#include "workshop/recipe/steps.hpp"

#include <algorithm>

namespace pourwright {
namespace {

bool reads(const Scale& s, Mass part) {
  return part >= s.step * recipe::fewest_steps;
}

}  // namespace

const Scale* scale_for_batch(const std::vector<Scale>& scales, const Mix& mix, Mass batch, Mass cup) {
  const Scale *best = nullptr, *finest = nullptr, *strongest = nullptr;
  const Mass least =
      Mass::grams(batch.in_grams() * std::min(1.0, mix.ratio.value()) / (1 + mix.ratio.value()));
  for (const Scale& s : scales) {
    if (strongest == nullptr || s.capacity > strongest->capacity) strongest = &s;
    if (s.capacity < batch + cup) continue;
    if (finest == nullptr || s.step < finest->step) finest = &s;
    if (reads(s, least) && (best == nullptr || s.step > best->step)) best = &s;
  }
  return best != nullptr ? best : finest != nullptr ? finest : strongest;
}

const Scale* scale_for_part(const std::vector<Scale>& scales, const Scale& batch, Mass part) {
  if (reads(batch, part)) return &batch;
  const Scale *best = nullptr, *finest = &batch;
  for (const Scale& s : scales) {
    if (s.capacity < part) continue;
    if (s.step < finest->step) finest = &s;
    if (reads(s, part) && (best == nullptr || s.step > best->step)) best = &s;
  }
  return best != nullptr ? best : finest;
}

}  // namespace pourwright

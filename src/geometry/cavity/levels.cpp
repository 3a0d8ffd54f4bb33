// SPDX-License-Identifier: GPL-3.0-or-later
// What a cavity holds at a level, the level for a volume, and the ways to ask for both.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/patches.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// What was asked for may lie this share above the brim: it was typed, or comes out of another sum.
constexpr double slack_share = 1e-9;
/// Steps below this share of heights and depth move no digit of a double that counts.
constexpr double level_step = 1e-15;
/// Halving alone takes 60 steps to a double's last digit; Newton takes four to eight.
constexpr int most_newton_steps = 100;

}  // namespace

std::pair<Volume, Area> Cavities::at_level(int id, Length level) const {
  const Cavity& c = at(id);
  const double h = std::clamp(in_millimetres(level), in_millimetres(c.floor), in_millimetres(c.brim));
  const Slice s = patches_->at(id, h);
  return {cubic_millimetres(std::max(0.0, s.volume)), square_millimetres(std::max(0.0, s.area))};
}

std::span<const Index> Cavities::wall(int id) const {
  return patches_->wall(id);
}

Volume Cavities::volume_at(int id, Length level) const {
  return at_level(id, level).first;
}

Area Cavities::surface_at(int id, Length level) const {
  return at_level(id, level).second;
}

Length Cavities::level_for(int id, Volume volume) const {
  const Cavity& c = at(id);
  double low = in_millimetres(c.floor), high = in_millimetres(c.brim);
  const double wanted = in_cubic_millimetres(volume);
  if (wanted <= 0) return c.floor;
  if (wanted >= in_cubic_millimetres(c.capacity.value)) return c.brim;
  const double depth = high - low;
  // The volume grows with the level and its slope is the free surface: Newton inside a shrinking bracket.
  double h = low + (high - low) * wanted / in_cubic_millimetres(c.capacity.value);
  for (int i = 0; i < most_newton_steps; ++i) {
    const Slice s = patches_->at(id, h);
    (s.volume < wanted ? low : high) = h;
    const double step = s.area > 0 ? h - (s.volume - wanted) / s.area : low;
    const double next = step > low && step < high ? step : low + (high - low) / 2;
    if (std::abs(next - h) <= level_step * (std::max(std::abs(low), std::abs(high)) + depth))
      return millimetres(next);
    h = next;
  }
  return millimetres(h);
}

Expected<Length> Cavities::level(int id, const FillLevel& fill) const {
  const Cavity& c = at(id);
  Length level = c.brim;
  switch (fill.kind) {
    case FillLevel::Kind::brim:
      break;
    case FillLevel::Kind::below_brim:
      level = c.brim - millimetres(fill.value);
      break;
    case FillLevel::Kind::height:
      level = c.floor + millimetres(fill.value);
      break;
    case FillLevel::Kind::share:
      return level_for(id, c.capacity.value * fill.value);
    case FillLevel::Kind::volume:
      if (cubic_millimetres(fill.value) > c.capacity.value * (1 + slack_share))
        return fail(Code::fill_out_of_range,
                    fmt::format("cavity {} holds {:.4g} ml, less than {:.4g} ml", id,
                                in_millilitres(c.capacity.value), fill.value / 1000),
                    "ask for no more than it holds, or --fill brim");
      return level_for(id, cubic_millimetres(fill.value));
  }
  const double slack = slack_share * in_millimetres(c.brim - c.floor);
  if (level <= c.floor || in_millimetres(level - c.brim) > slack)
    return fail(Code::fill_out_of_range,
                fmt::format("cavity {} is {:.4g} mm deep; a level {:.4g} mm above its floor is not inside it",
                            id, in_millimetres(c.brim - c.floor), in_millimetres(level - c.floor)),
                "choose a level between the floor and the brim, or --fill brim");
  return level;
}

Expected<Interval<Volume>> Cavities::fill(int id, const FillLevel& fill) const {
  const auto h = level(id, fill);
  if (!h) return h.error();
  const Cavity& c = at(id);
  if (*h >= c.brim) return c.capacity;
  const Volume v = volume_at(id, *h);
  const Volume slack = c.capacity.high - c.capacity.value;
  return Interval<Volume>{v, v - slack, v + slack, c.capacity.reasons};
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// A mix of many parts, relative to its liquid, and what it weighs.
#include <pourwright/material.hpp>

#include <algorithm>

namespace pourwright {
namespace {

constexpr std::int64_t million = 1'000'000;

struct Bulk {
  double mass = 0, volume = 0;
  bool known = true;  ///< every density of it is
  void add(const Proportion& p) {
    mass += static_cast<double>(p.millionths);
    known = known && p.density;
    if (p.density) volume += static_cast<double>(p.millionths) / in_grams_per_millilitre(*p.density);
  }
};

}  // namespace

std::string_view name(ComponentKind kind) {
  constexpr std::string_view names[] = {"liquid", "water",  "thickener", "retarder",
                                        "powder", "filler", "fibre",     "chips"};
  return names[static_cast<std::size_t>(kind)];
}

namespace {
constexpr std::string_view part_names[] = {"liquid", "powder", "pigment", "component", "water"};
}  // namespace

std::string_view name(PartKind kind) {
  return part_names[static_cast<std::size_t>(kind)];
}

std::optional<PartKind> part_kind(std::string_view word) {
  const auto at = std::find(std::begin(part_names), std::end(part_names), word);
  if (at == std::end(part_names)) return std::nullopt;
  return static_cast<PartKind>(at - std::begin(part_names));
}

// With the liquid as 1, all parts relative to it make B; those that are shares of the whole, S in all, make
// the whole B/(1 - S).
std::vector<Proportion> proportions(const Mix& mix) {
  std::int64_t base = million + mix.ratio.in_millionths(), shares = 0;
  for (const Component& c : mix.components) {
    base += c.per_liquid.in_millionths();
    shares += c.share.in_millionths();
  }
  std::vector<Proportion> out{{mix.liquid_name, std::nullopt, million, mix.liquid_density}};
  const auto add = [&](bool wet) {
    for (const Component& c : mix.components) {
      if (is_wet(c.kind) != wet) continue;
      const std::int64_t share = c.share.in_millionths();
      out.push_back({c.name, c.kind,
                     share > 0 && shares < million ? multiply_divide(base, share, million - shares)
                                                   : c.per_liquid.in_millionths(),
                     c.density});
    }
  };
  add(true);
  out.push_back({mix.powder_name, std::nullopt, mix.ratio.in_millionths(), mix.powder_density});
  add(false);
  return out;
}

Density poured_density(const Mix& mix) {
  Bulk base, chips;
  for (const Proportion& p : proportions(mix)) (p.kind == ComponentKind::chips ? chips : base).add(p);
  const Density fresh = mix.density_from == DensityFrom::components && base.known && base.volume > 0
                            ? with_air(grams_per_millilitre(base.mass / base.volume), mix.air)
                            : mix.without_chips;
  if (chips.mass <= 0 || !chips.known) return fresh;
  return grams_per_millilitre((base.mass + chips.mass) /
                              (base.mass / in_grams_per_millilitre(fresh) + chips.volume));
}

std::optional<Amount> per_kilogram(const SupplyPrice& supply) {
  if (supply.per_kilogram) return supply.per_kilogram;
  const PackSize* largest = nullptr;
  for (const PackSize& p : supply.packs)
    if (p.price && (largest == nullptr || p.size > largest->size)) largest = &p;
  if (largest == nullptr) return std::nullopt;
  return proportion(*largest->price, 1'000'000'000, largest->size.in_micrograms());
}

}  // namespace pourwright

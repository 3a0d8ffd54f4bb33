// SPDX-License-Identifier: GPL-3.0-or-later
// Liquid first, everything else from the liquid as it was rounded. The law: parts are whole steps and add up
// exactly.
#include <pourwright/recipe.hpp>

#include "workshop/recipe/steps.hpp"

#include <algorithm>
#include <cstdlib>

#include <fmt/format.h>

namespace pourwright {
namespace {

using recipe::heaviest;
constexpr std::int64_t million = 1'000'000;

std::optional<Problem> check(const Mix& mix, Mass amount, const RecipeOptions& options) {
  if (amount <= Mass{})
    return fail(Code::amount_not_positive, "the amount to mix is not more than nothing", "give it in grams");
  if (amount > heaviest)
    return fail(Code::bad_quantity, "the amount to mix is more than 1000 t", "check the unit");
  if (options.scale_step <= Mass{} || options.scale_step > recipe::coarsest)
    return fail(Code::bad_quantity, "the scale's step is not a weight", "give it like 1 g or 0.1 g");
  if (mix.ratio <= Ratio{} || mix.ratio > Ratio::millionths(1'000'000'000))
    return fail(Code::bad_number, "the mixing ratio is not between 0 and 1000",
                "it is powder per liquid by mass, like 3.2");
  return std::nullopt;
}

/// The share of a pigment's mass that acts as liquid of the mix.
Ratio liquid_share(const RecipeOptions& options, const std::string& pigment) {
  for (const Pigment& p : options.known)
    if (p.name == pigment || p.key == pigment) return p.liquid_share;
  return {};
}

/// Powder to one of liquid as weighed, when pigments bring liquid of their own that wants powder too: of P
/// powder, B = k0 + k1·P of the mix takes pigment, which brings q·B of liquid, so P = r·(1 + q·B).
Expected<Ratio> ratio_with_pigments(const Mix& mix, const std::vector<Proportion>& all,
                                    const RecipeOptions& options) {
  double q = 0;
  for (const PigmentDose& d : options.pigments) q += d.dose.value() * liquid_share(options, d.name).value();
  if (q <= 0) return mix.ratio;
  double takes_pigment = 0, shares = 0, chips_share = 0;
  for (const Proportion& p : all)
    if (p.kind != ComponentKind::chips) takes_pigment += static_cast<double>(p.millionths) / 1e6;
  for (const Component& c : mix.components) {
    shares += c.share.value();
    if (c.kind == ComponentKind::chips) chips_share += c.share.value();
  }
  const double r = mix.ratio.value(), k1 = (1 - chips_share) / (1 - shares), k0 = takes_pigment - k1 * r;
  if (r * q * k1 > 0.5)
    return fail(Code::bad_number, "the pigments would bring more liquid than the powder can take up",
                "lower the doses, or correct liquid-share in the catalogue");
  return Ratio::of(r * (1 + q * k0) / (1 - r * q * k1));
}

/// m·r to a whole number of steps with a single rounding: rounding to the microgram first could tip a half.
Mass times_to_step(Mass m, Ratio r, Mass step) {
  return step * multiply_divide(m.in_micrograms(), r.in_millionths(), step.in_micrograms() * million);
}

/// Every part in the order of weighing, from the liquid alone.
class Weighing {
 public:
  Weighing(const Mix& mix, const RecipeOptions& options, Ratio ratio)
      : mix_(mix), options_(options), ratio_(ratio) {
    for (const Component& c : mix.components) shares_ += c.share.in_millionths();
    for (const Scale& s : options.scales)
      if (s.name == options.scale) batch_ = &s;
  }

  struct Result {
    std::vector<Part> parts;
    std::vector<Mass> exact;  ///< each part before it was rounded
    Mass total;
  };

  Result from(Mass liquid) const {
    Result w;
    const Mass powder = times_to_step(liquid, ratio_, options_.scale_step);
    Mass fixed = liquid + powder;  // all but what is a share of the whole
    for (const Component& c : mix_.components) fixed += liquid * c.per_liquid;
    add(w, mix_.liquid_name, PartKind::liquid, liquid, liquid, options_.scale_step, batch_);
    for (const Component& c : mix_.components)
      if (is_wet(c.kind)) add_component(w, c, liquid, fixed);
    add(w, mix_.powder_name, PartKind::powder, liquid * ratio_, powder, options_.scale_step, batch_);
    Mass chips;
    for (const Component& c : mix_.components) {
      if (is_wet(c.kind)) continue;
      add_component(w, c, liquid, fixed);
      if (c.kind == ComponentKind::chips) chips += w.parts.back().mass;
    }
    const Mass base = w.total - chips;
    for (const PigmentDose& d : options_.pigments) {
      const auto [step, scale] = scale_of(base * d.dose);
      add(w, d.name, PartKind::pigment, base * d.dose, times_to_step(base, d.dose, step), step, scale);
    }
    return w;
  }

 private:
  struct Chosen {
    Mass step;
    const Scale* scale;
  };
  Chosen scale_of(Mass exact) const {
    if (batch_ == nullptr) return {options_.scale_step, nullptr};
    const Scale* s = scale_for_part(options_.scales, *batch_, exact);
    return {s->step, s};
  }

  static void add(Result& w, const std::string& name, PartKind kind, Mass exact, Mass rounded, Mass step,
                  const Scale* scale) {
    w.parts.push_back({name, rounded, kind, scale == nullptr ? std::string() : scale->name, step});
    w.exact.push_back(exact);
    w.total += rounded;
  }

  void add_component(Result& w, const Component& c, Mass liquid, Mass fixed) const {
    const std::int64_t share = c.share.in_millionths(), rest = million - shares_;
    const Mass exact = share > 0 ? Mass::micrograms(multiply_divide(fixed.in_micrograms(), share, rest))
                                 : liquid * c.per_liquid;
    const auto [step, scale] = scale_of(exact);
    const Mass rounded =
        share > 0 ? step * multiply_divide(fixed.in_micrograms(), share, step.in_micrograms() * rest)
                  : times_to_step(liquid, c.per_liquid, step);
    add(w, c.name, part_kind(c.kind), exact, rounded, step, scale);
  }

  const Mix& mix_;
  const RecipeOptions& options_;
  Ratio ratio_;
  std::int64_t shares_ = 0;
  const Scale* batch_ = nullptr;
};

std::optional<Note> drift_note(const Recipe& recipe) {
  if (std::abs(recipe.drift.in_millionths()) < 5'000) return std::nullopt;
  return Note{"ratio-drift",
              fmt::format("Rounding to the scale makes the ratio {} instead of {} ({}{} %).",
                          fixed(recipe.ratio_weighed.value(), 3), fixed(recipe.ratio_asked.value(), 3),
                          recipe.drift > Ratio{} ? "+" : "", fixed(recipe.drift.in_percent(), 1)),
              false, Topic::ratio};
}

/// Cup and everything that goes into it stand on the batch's scale at the end.
std::optional<Note> overload_note(const Recipe& r, const RecipeOptions& options) {
  for (const Scale& s : options.scales) {
    if (s.name != options.scale || r.mix + options.cup <= s.capacity) continue;
    return Note{
        "scale-overloaded",
        fmt::format("{} g of mix{} are more than {} carries ({} g): weigh the powder apart, or mix twice.",
                    fixed(r.mix.in_grams(), 0),
                    options.cup > Mass{} ? fmt::format(" in a cup of {} g", fixed(options.cup.in_grams(), 0))
                                         : std::string(),
                    s.name, fixed(s.capacity.in_grams(), 0)),
        true};
  }
  return std::nullopt;
}

Recipe describe(const Mix& mix, Weighing::Result w, const RecipeOptions& options, Ratio doses) {
  Recipe r;
  r.mix = w.total;
  r.parts = std::move(w.parts);
  Mass brought, liquid, powder;
  for (std::size_t i = 0; i < r.parts.size(); ++i) {
    const Part& p = r.parts[i];
    if (auto note = recipe::coarse_step_note(p.name, w.exact[i], p.step)) r.notes.push_back(*note);
    if (p.kind == PartKind::liquid) liquid = p.mass;
    if (p.kind == PartKind::powder) powder = p.mass;
    if (p.kind == PartKind::pigment) brought += p.mass * liquid_share(options, p.name);
  }
  r.ratio_asked = mix.ratio;
  r.ratio_weighed =
      Ratio::millionths(multiply_divide(powder.in_micrograms(), million, (liquid + brought).in_micrograms()));
  r.drift = Ratio::millionths(
      multiply_divide(r.ratio_weighed.in_millionths(), million, r.ratio_asked.in_millionths()) - million);
  if (brought > Mass{})
    r.notes.push_back(
        {"pigment-liquid-counted",
         fmt::format("The pigment brings {} g of liquid of its own; the powder is enough for it too.",
                     grams_text(round_to(brought, Mass::grams(0.1)), Mass::grams(0.1))),
         false});
  if (auto note = drift_note(r)) r.notes.push_back(*note);
  if (auto note = recipe::near_ceiling_note(doses, mix.pigment_ceiling, "the mix")) r.notes.push_back(*note);
  if (auto note = overload_note(r, options)) r.notes.push_back(*note);
  return r;
}

}  // namespace

namespace {

/// A recipe whose powder is nothing on this scale is no recipe.
Expected<Recipe> with_powder(Recipe recipe, Mass step) {
  if (mass_of(recipe.parts, PartKind::powder) > Mass{}) return recipe;
  return fail(Code::bad_quantity,
              fmt::format("{} g of {} want less powder than one step of {} g on this scale",
                          grams_text(mass_of(recipe.parts, PartKind::liquid), Mass::micrograms(1000)),
                          recipe.parts.front().name, grams_text(step, step)),
              "mix more at once, or weigh on a finer scale (--scale-step)");
}

}  // namespace

// The batch grows with the liquid, so the smallest liquid that suffices is found by halving.
Expected<Recipe> weigh_for_total(const Mix& mix, Mass wanted, const RecipeOptions& options) {
  if (auto problem = check(mix, wanted, options)) return *problem;
  const auto doses = recipe::sum_of_doses(options.pigments, mix.pigment_ceiling, "the mix");
  if (!doses) return doses.error();
  const auto ratio = ratio_with_pigments(mix, proportions(mix), options);
  if (!ratio) return ratio.error();
  const Weighing weighing(mix, options, *ratio);
  const Mass step = options.scale_step;
  std::int64_t too_few = 0, enough = round_up_to(wanted, step).in_micrograms() / step.in_micrograms();
  while (enough - too_few > 1) {
    const std::int64_t middle = too_few + (enough - too_few) / 2;
    (weighing.from(step * middle).total >= wanted ? enough : too_few) = middle;
  }
  return with_powder(describe(mix, weighing.from(step * enough), options, *doses), step);
}

Expected<Recipe> weigh_for_liquid(const Mix& mix, Mass liquid, const RecipeOptions& options) {
  if (auto problem = check(mix, liquid, options)) return *problem;
  const auto doses = recipe::sum_of_doses(options.pigments, mix.pigment_ceiling, "the mix");
  if (!doses) return doses.error();
  const std::vector<Proportion> all = proportions(mix);
  double whole = 0;
  for (const Proportion& p : all) whole += static_cast<double>(p.millionths) / 1e6;
  if (liquid.in_grams() * whole > 9e12)
    return fail(Code::bad_quantity, "the liquid makes more mix than anybody weighs", "check the unit");
  const auto ratio = ratio_with_pigments(mix, all, options);
  if (!ratio) return ratio.error();
  return with_powder(describe(mix, Weighing(mix, options, *ratio).from(liquid), options, *doses),
                     options.scale_step);
}

Expected<Recipe> weigh_exactly(const Mix& mix, Mass total, Mass step) {
  RecipeOptions options;
  options.scale_step = step;
  if (auto problem = check(mix, total, options)) return *problem;
  const std::vector<Proportion> all = proportions(mix);
  std::int64_t whole = 0;
  for (const Proportion& p : all) whole += p.millionths;
  Recipe r;
  r.mix = total;
  r.ratio_asked = mix.ratio;
  Mass rest = total, liquid;
  std::size_t powder = 0;
  for (const Proportion& p : all) {
    const Mass exact = Mass::micrograms(multiply_divide(total.in_micrograms(), p.millionths, whole));
    const bool first = r.parts.empty();
    if (!first && !p.kind) {
      powder = r.parts.size();
      r.parts.push_back({p.name, {}, PartKind::powder, {}, step});
      continue;
    }
    const Mass mass = std::min(rest, first ? std::clamp(round_to(exact, step), std::min(step, total), total)
                                           : round_to(exact, step));
    r.parts.push_back({p.name, mass, first ? PartKind::liquid : part_kind(*p.kind), {}, step});
    if (first) liquid = mass;
    rest = rest - mass;
  }
  r.parts[powder].mass = rest;
  r.ratio_weighed = Ratio::millionths(multiply_divide(rest.in_micrograms(), million, liquid.in_micrograms()));
  r.drift = Ratio::millionths(
      multiply_divide(r.ratio_weighed.in_millionths(), million, r.ratio_asked.in_millionths()) - million);
  if (auto note = drift_note(r)) r.notes.push_back(*note);
  return r;
}

Mass mass_of(const std::vector<Part>& parts, PartKind kind) {
  Mass m;
  for (const Part& p : parts)
    if (p.kind == kind) m += p.mass;
  return m;
}

}  // namespace pourwright

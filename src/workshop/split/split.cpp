// SPDX-License-Identifier: GPL-3.0-or-later
// One mix over cups by shares. The law: the cups add up to the mix, in whole steps.
#include <pourwright/split.hpp>

#include "workshop/recipe/steps.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

namespace pourwright {
namespace {

using recipe::fewest_steps;

std::optional<Problem> check(Mass total, const std::vector<Cup>& cups, const SplitOptions& options) {
  for (const Mass step : {options.scale_step, options.pigment_step})
    if (step <= Mass{} || step > recipe::coarsest)
      return fail(Code::bad_quantity, "a scale's step is not a weight", "give it like 1 g or 0.01 g");
  if (total < options.scale_step)
    return fail(Code::amount_not_positive, "there is less than one step of the scale to split",
                "give the grams of mix in the bucket");
  if (total > recipe::heaviest)
    return fail(Code::bad_quantity, "the mix to split is more than 1000 t", "check the unit");
  if (cups.empty()) return fail(Code::usage, "there is no cup to fill", "name at least one cup");
  std::set<std::string_view> names;
  for (const Cup& cup : cups)
    if (!names.insert(cup.name).second)
      return fail(Code::usage, fmt::format("two cups are called “{}”", cup.name), "give each its own name");
  return std::nullopt;
}

/// Every cup's share, the one left out included: they add up to 100 %.
Expected<std::vector<std::int64_t>> shares_of(const std::vector<Cup>& cups) {
  const std::int64_t whole = Ratio::percent(100).in_millionths();
  std::vector<std::int64_t> shares;
  std::int64_t rest = whole;
  std::optional<std::size_t> open;
  for (const Cup& cup : cups) {
    if (!cup.share) {
      if (open)
        return fail(Code::shares_invalid,
                    fmt::format("both “{}” and “{}” leave out their share", cups[*open].name, cup.name),
                    "only one cup can take the rest");
      open = shares.size();
      shares.push_back(0);
      continue;
    }
    const std::int64_t share = cup.share->in_millionths();
    if (share <= 0 || share > whole)
      return fail(Code::shares_invalid, fmt::format("the share of “{}” is not between 0 and 100 %", cup.name),
                  "give it like 25 %");
    shares.push_back(share);
    rest -= share;
  }
  if (rest < 0 || (open && rest == 0) || (!open && rest != 0)) {
    const double given = Ratio::millionths(whole - rest).in_percent();
    return fail(Code::shares_invalid, fmt::format("the shares given add up to {} %", fixed(given, 2)),
                "make them 100 %, or leave one out and it takes the rest");
  }
  if (open) shares[*open] = rest;
  return shares;
}

/// The mildest thinning, 1:1, 1:4, 1:9, 1:19 …, at which the cup's need can be weighed in 50 steps; nothing
/// when that would take more of the mix than a quarter of the cup.
std::optional<MasterBatch> master_batch(const PigmentDose& dose, Mass cup, Mass step) {
  const Mass pigment = step * fewest_steps;
  for (std::int64_t decade = 1; decade <= 1'000'000; decade *= 10)
    for (const std::int64_t digit : {2, 5, 10}) {
      const std::int64_t times = digit * decade;
      if (pigment * (times - 1) > Mass::micrograms(cup.in_micrograms() / 4)) return std::nullopt;
      const Mass take = step * multiply_divide(cup.in_micrograms(), dose.dose.in_millionths() * times,
                                               step.in_micrograms() * 1'000'000);
      if (take >= pigment) return MasterBatch{dose.name, pigment, pigment * (times - 1), take};
    }
  return std::nullopt;
}

const Pigment* known_as(const std::string& name, const SplitOptions& options) {
  for (const Pigment& p : options.known)
    if (p.name == name) return &p;
  return nullptr;
}

/// The liquid that pigments bring thins the mix of their cup.
std::optional<Note> thinner_note(const Cup& cup, const SplitOptions& options) {
  double brought = 0;
  for (const PigmentDose& d : cup.pigments)
    if (const Pigment* p = known_as(d.name, options)) brought += d.dose.value() * p->liquid_share.value();
  const double factor = 1 / (1 + brought * options.whole_per_liquid);
  if (options.ratio <= Ratio{} || factor > 0.99) return std::nullopt;
  return Note{"ratio-shifted",
              fmt::format("The pigment of {} brings liquid of its own: its ratio is {} instead of {:.6g}.",
                          cup.name, fixed(options.ratio.value() * factor, 2), options.ratio.value()),
              factor < 0.95};
}

void add_pigment(const PigmentDose& dose, const SplitOptions& options, bool masters, FilledCup& cup,
                 Notes& notes) {
  const Mass step = options.pigment_step;
  const Mass grams = step * multiply_divide(cup.mix.in_micrograms(), dose.dose.in_millionths(),
                                            step.in_micrograms() * 1'000'000);
  cup.pigments.push_back({dose.name, grams, PartKind::pigment, {}, step});
  cup.pigment += grams;
  cup.doses.push_back(dose.dose);
  const Pigment* known = known_as(dose.name, options);
  const Mass drop = known == nullptr ? Mass{} : known->drop;
  cup.drops.push_back(drop > Mass{} ? static_cast<int>((grams.in_micrograms() + drop.in_micrograms() / 2) /
                                                       drop.in_micrograms())
                                    : 0);
  const Mass exact = cup.mix * dose.dose;
  auto note = recipe::coarse_step_note(fmt::format("{} for {}", dose.name, cup.name), exact, step);
  if (!note) return;
  if (auto master = masters ? master_batch(dose, cup.mix, step) : std::nullopt) {
    note->code = "pigment-too-small";
    note->topic = Topic::pigment;
    note->text += fmt::format(
        " Or stir {} g of it into {} g of plain mix and put {} g of that in the cup, "
        "in place of as much plain mix; the {} g that are left of it have come off the cups.",
        grams_text(master->pigment, step), grams_text(master->mix, step), grams_text(master->take, step),
        grams_text(master->left(), step));
    cup.masters.push_back(std::move(*master));
  }
  notes.push_back(std::move(*note));
}

/// The cups of so much mix, a whole number of steps.
Expected<Split> filled(Mass mix, const std::vector<Cup>& cups, const std::vector<std::int64_t>& shares,
                       const SplitOptions& options, bool masters) {
  Split split;
  split.mix = mix;
  const auto steps = largest_remainder(mix.in_micrograms() / options.scale_step.in_micrograms(), shares);
  for (std::size_t i = 0; i < cups.size(); ++i) {
    FilledCup cup{cups[i].name, Ratio::millionths(shares[i]), options.scale_step * steps[i], {}, {}, {}};
    const auto doses = recipe::sum_of_doses(cups[i].pigments, options.pigment_ceiling, cup.name);
    if (!doses) return doses.error();
    if (auto note = recipe::coarse_step_note(cup.name, mix * cup.share, options.scale_step))
      split.notes.push_back(*note);
    for (const PigmentDose& dose : cups[i].pigments) add_pigment(dose, options, masters, cup, split.notes);
    if (auto note = thinner_note(cups[i], options)) split.notes.push_back(*note);
    if (auto note = recipe::near_ceiling_note(*doses, options.pigment_ceiling, cup.name))
      split.notes.push_back(*note);
    for (const MasterBatch& m : cup.masters) split.aside += m.aside();
    split.cups.push_back(std::move(cup));
  }
  return split;
}

}  // namespace

Expected<Split> split_mix(Mass total, const std::vector<Cup>& cups, const SplitOptions& options) {
  if (auto problem = check(total, cups, options)) return *problem;
  const auto shares = shares_of(cups);
  if (!shares) return shares.error();
  const auto whole = [&](Mass m) {
    return options.scale_step * (m.in_micrograms() / options.scale_step.in_micrograms());
  };
  Mass mix = whole(total);
  const bool off_step = mix != total;
  bool masters = true;
  // With less in the cups less of a master batch goes into them, so that a little more of it is left: a few
  // rounds settle it. Where they would not, cups do without.
  for (int round = 0;; ++round) {
    auto split = filled(mix, cups, *shares, options, masters);
    if (!split) return split.error();
    const Mass room = whole(total - split->aside);
    if (mix < whole(total) && split->aside == Mass{}) {
      masters = false;  // with less in the cups none is worth its while
      mix = whole(total);
      continue;
    }
    if (mix <= room) {
      if (off_step && split->aside == Mass{})
        split->notes.insert(split->notes.begin(),
                            {"rounded-down",
                             fmt::format("{} g are split; the rest is less than one step of the scale.",
                                         grams_text(split->mix, options.scale_step)),
                             false});
      return split;
    }
    masters = round < 20 && room >= options.scale_step;
    mix = masters ? room : whole(total);
  }
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// One mix divided over cups, each with its own colour.
#pragma once

#include <pourwright/recipe.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

struct Cup {
  std::string name;
  std::optional<Ratio> share;         ///< of the mix; one cup may leave it out and takes the rest
  std::vector<PigmentDose> pigments;  ///< shares of this cup's mix, on top of it
};

struct SplitOptions {
  Mass scale_step = Mass::grams(1);       ///< of the scale that weighs the mix into the cups
  Mass pigment_step = Mass::grams(0.01);  ///< of the scale that weighs pigment
  Ratio pigment_ceiling = Ratio::percent(3);
  std::vector<Pigment> known = {};  ///< pigments of which more is known than their name
  Ratio ratio = {};                 ///< powder to one of liquid in the mix; zero: not known
  double whole_per_liquid = 0;      ///< the mix to one of its liquid
};

/// A pigment too small to weigh, thinned with plain mix: stir `pigment` into `mix`, put `take` of that in the
/// cup. Never more mix than a quarter of the cup's.
struct MasterBatch {
  std::string pigment_name;
  Mass pigment;  ///< 50 steps of the pigment scale
  Mass mix;      ///< plain mix stirred into it
  Mass take;  ///< of the two together; at least 50 steps, and it counts as the cup's mix but for its pigment

  Mass left() const { return pigment + mix - take; }
  /// The plain mix in what is left.
  Mass aside() const {
    return Mass::micrograms(
        multiply_divide(left().in_micrograms(), mix.in_micrograms(), (pigment + mix).in_micrograms()));
  }
};

struct FilledCup {
  std::string name;
  Ratio share;
  Mass mix;                    ///< a whole number of scale steps
  std::vector<Part> pigments;  ///< whole pigment steps, in the order of the doses
  Mass pigment;                ///< their sum
  std::vector<MasterBatch> masters;
  std::vector<int> drops = {};    ///< of each pigment; zero: not known
  std::vector<Ratio> doses = {};  ///< of each pigment, as asked
};

struct Split {
  Mass mix;                     ///< exactly the sum of the cups' mix
  std::vector<FilledCup> cups;  ///< in the order given
  Mass aside;                   ///< plain mix that goes into master batches and not into a cup
  Notes notes;  ///< rounded down to the step, a cup or pigment too small to weigh, near the ceiling
};

/// Divides `total` by largest remainder, so that the cups add up exactly and each is less than a step from
/// its share. What is left of master batches comes off first, so that cups and master batches together take
/// no more than `total`. A total off the step is rounded down, never up. Fails with shares_invalid when a
/// share is not positive, two are left out, or they do not add up to 100 %; with pigment_over_ceiling naming
/// the cup; with usage when there is no cup or two have the same name; and with amount_not_positive when the
/// total is less than a step.
Expected<Split> split_mix(Mass total, const std::vector<Cup>& cups, const SplitOptions& options);

// ---- techniques, several from one mix -----------------------------------------------------------------

/// How the cups of one step get into the mold: one after the other, accents dropped into the base, both at
/// once from two sides, or layered in one cup that is poured from one point.
enum class Technique : std::uint8_t { solid, veins, side_by_side, layered };
std::string_view name(Technique technique);

/// One technique. Its cups hold what it takes of the plain mix, and what the step before left when it carries
/// that on.
struct SplitStep {
  std::string name;
  Technique technique = Technique::solid;
  std::vector<Cup> cups;       ///< in the order of pouring; the base of veins is the largest
  std::optional<Mass> take;    ///< of the plain mix; or
  std::optional<Ratio> share;  ///< of all of it; neither: all that is there, or nothing when it carries on
  bool rest = false;           ///< all plain mix that is there, also when it carries on
  bool carry = false;          ///< go on with what the step before left
  std::optional<Mass> pour;    ///< into molds; nothing: all but what stays in the cups
  int portions = 0;            ///< layers in all, or drops of each accent; zero: the usual number
  Duration time;               ///< zero: a minute a cup and one for the pour
};
struct SplitPlan {
  std::vector<SplitStep> steps;
  Mass residue;                  ///< stays in every cup
  Duration mixing = minutes(3);  ///< from the powder going in until the first step
  Duration working_time;         ///< zero: not known
};

/// One movement of the hand: `mass` from a cup, in so many equal portions.
struct Pouring {
  std::size_t cup = 0;
  Mass mass;
  int portions = 1;
};
struct FilledStep {
  std::string name;
  Technique technique = Technique::solid;
  Mass plain;             ///< taken from the bucket
  Mass carried;           ///< left by the step before, its pigment included
  Ratio carried_pigment;  ///< in that
  std::vector<FilledCup> cups;
  std::vector<Pouring> order;
  Mass poured, residue, left;  ///< plain + carried + pigment of the cups = these three
  Mass aside;                  ///< of the residue, the mix in what is left of master batches
  Mass bucket;                 ///< plain mix still there
  Duration from, to;           ///< since the powder went in
};
struct PlannedSplit {
  Mass mix;
  std::vector<FilledStep> steps;
  Mass left;    ///< tinted, of the last step and of those nobody carried on
  Mass bucket;  ///< plain
  Notes notes;
  Mass poured() const {
    Mass sum;
    for (const FilledStep& s : steps) sum += s.poured;
    return sum;
  }
};
/// Follows one mix through several techniques, gram by gram: what is mixed and the pigment added are what is
/// poured, what stays in cups and what is left. Cups are filled in whole steps of the scale; less than a step
/// stays behind. Warns when light follows dark in the same mix, and when the working time is over. Fails as
/// split_mix does, when a step takes more than there is, or carries on what was never left.
Expected<PlannedSplit> plan_split(Mass total, const SplitPlan& plan, const SplitOptions& options);

// ---- leftovers ---------------------------------------------------------------------------------------

struct LeftoverFill {
  std::string name;
  int count = 0;
  Mass each;
};
/// What is left goes into the small molds that are full of it, as much as possible and then in as few as
/// possible; the rest hardens and is broken into chips. Nothing is ever stirred with water or liquid again.
struct LeftoverPlan {
  std::vector<LeftoverFill> fills;
  Mass chips;
};
LeftoverPlan fit_leftovers(Mass left, Density density, const std::vector<LeftoverMold>& molds);

}  // namespace pourwright

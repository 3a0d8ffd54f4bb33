// SPDX-License-Identifier: GPL-3.0-or-later
// Volume to grams on the user's scale. All arithmetic on whole scale steps: parts always add up to the total.
#pragma once

#include <pourwright/material.hpp>
#include <pourwright/units.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

struct Part {
  std::string name;  ///< the material's own: of the mix's liquid or powder, a component or a pigment
  Mass mass;         ///< a whole number of scale steps
  PartKind kind = PartKind::pigment;
  std::string scale = {};  ///< the one it is weighed on; empty: the one scale there is
  Mass step = {};          ///< of that scale; zero: of the one scale there is
};

/// Pigment by its share of the mix (liquid + powder).
struct PigmentDose {
  std::string name;
  Ratio dose;
};

struct RecipeOptions {
  Mass scale_step = Mass::grams(1);
  Ratio allowance;  ///< share added to what the molds hold; read by weigh_tray alone
  std::vector<PigmentDose> pigments = {};
  std::vector<Scale> scales =
      {};                  ///< the workshop's; empty: one scale of `scale_step` that carries everything
  std::string scale = {};  ///< name of the one of `scale_step`
  Mass cup = {};           ///< what the mixing cup weighs
  std::vector<Pigment> known = {};  ///< pigments of which more is known than their name
  std::optional<Mass> liquid = {};  ///< already in the cup; read by weigh_tray alone
};

/// The scale for the batch: the coarsest that carries cup and mix and reads liquid and powder to 1 part in
/// 50; else the finest that carries them, else the one that carries most. Nothing without scales.
const Scale* scale_for_batch(const std::vector<Scale>& scales, const Mix& mix, Mass batch, Mass cup);
/// The scale for one small part: that of the batch when it reads 1 part in 50, else the coarsest that does
/// and carries it, else the finest that carries it.
const Scale* scale_for_part(const std::vector<Scale>& scales, const Scale& batch, Mass part);

/// One batch as it is weighed: liquid first, then wet parts, powder from the rounded liquid, dry parts,
/// pigments.
struct Recipe {
  Mass mix;                 ///< liquid + powder (+ pigments): exactly the sum of the parts
  std::vector<Part> parts;  ///< in weighing order
  Ratio ratio_asked;
  Ratio ratio_weighed;  ///< powder/liquid after rounding; the liquid that pigments bring counts where it is
                        ///< known
  Ratio drift;          ///< ratio_weighed/ratio_asked − 1
  Notes notes;          ///< step too coarse (< 50 steps in a part), pigment near its ceiling, …
};

/// The smallest batch of at least `wanted`: liquid is a whole number of steps, powder = ratio × that liquid
/// and pigment = dose × (everything else but chips), each rounded to its step once. With pigments `wanted`
/// counts them. Never less than `wanted`; more by fewer than (2 + ratio)·(1 + sum of doses) + (number of
/// pigments) steps where there are no further parts: the size of the jump that one step of liquid makes.
/// Monotone in `wanted` on one scale. Fails when wanted <= 0 or above 1000 t, the ratio or step is senseless,
/// or the doses pass the mix's ceiling.
Expected<Recipe> weigh_for_total(const Mix& mix, Mass wanted, const RecipeOptions& options);

/// A batch from the liquid already in the cup: powder = ratio × the liquid as poured, to the step (102 g
/// at 3.2 is 326.4 g on a 0.1 g scale). The liquid is kept as given even when it is off the step.
Expected<Recipe> weigh_for_liquid(const Mix& mix, Mass liquid, const RecipeOptions& options);

/// A batch of exactly `total`, a whole number of steps, because it has to go into something: everything to
/// the step, the powder is the rest. Without pigments, all on the one scale.
Expected<Recipe> weigh_exactly(const Mix& mix, Mass total, Mass step);

/// What one mold takes.
struct MoldDemand {
  std::string name;
  int copies = 1;
  Interval<Volume> fill;  ///< of one copy
};

/// `mix` counts all copies and carries the allowance in value, low and high alike. The value is a whole
/// number of steps. low..high is the mass that would fill the molds as much over: the fill's own low and high
/// times the density's lowest and highest (worst case, not root-sum-square: both are bounds, and two flat
/// distributions leave the root-sum-square range one time in ten), widened to hold the rounded value.
struct MoldRow {
  std::string name;
  int copies = 1;
  Interval<Mass> mix;
  std::vector<Part> parts;  ///< adds up exactly to mix.value
};

/// One batch for several molds. The rows' values and parts add up exactly to the total's, row by row and part
/// by part, all in whole steps; the total is at least the sum of what the rows need, and each row at least
/// its own need less one step. Within a row every part is less than (number of parts − 1) steps from its
/// share. Where parts were weighed in several steps, or the liquid is off its step, rows are in the largest
/// step that all are multiples of. With `liquid` given the batch is what that liquid makes: rows share what
/// there is, and a note says what is missing.
struct Tray {
  std::vector<MoldRow> rows;
  Recipe total;
};
/// Fails as weigh_for_total does, and when there is no mold, a fill is not positive and finite, copies < 1 or
/// the allowance is outside 0 to 1000 %.
Expected<Tray> weigh_tray(const Mix& mix, const std::vector<MoldDemand>& molds, const RecipeOptions& options);

/// The mass of all parts of one kind.
Mass mass_of(const std::vector<Part>& parts, PartKind kind);

/// Splits `total` (a whole number of steps) in proportion to `weights` by the largest-remainder method
/// (Hamilton): the parts add up to the total and each is less than one step from its quota. Ties go to the
/// earlier part. Not monotone: a larger total may take a step from one part (the Alabama paradox).
/// Precondition: total >= 0; weights >= 0 and finite with a positive sum.
std::vector<Mass> largest_remainder(Mass total, const std::vector<double>& weights, Mass step);
/// The integer core of the above.
std::vector<std::int64_t> largest_remainder(std::int64_t total, const std::vector<std::int64_t>& weights);

/// The usual cautions for a batch of this mix and mass, most urgent first; the supplier's sheet has the last
/// word.
std::vector<std::string> cautions_for(const Mix& mix, Mass batch);

}  // namespace pourwright

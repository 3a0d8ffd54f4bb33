// SPDX-License-Identifier: GPL-3.0-or-later
// Batches as they are weighed and split; the shopping list; what the limits cost, in words.
#include "pipeline/mix/prepare_run.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include <fmt/format.h>

namespace pourwright::run_file {
namespace {

const Mass pigment_step = Mass::grams(0.01);

/// The total is fixed, because it has to go into the bucket.
void weigh(const Mix& mix, Mass step, RunBatchRow& row) {
  // What the planner made is whole steps of at most the bucket, so there is nothing to refuse.
  const auto recipe = weigh_exactly(mix, row.mix, step);
  if (!recipe) return;
  row.parts = recipe->parts;
  row.ratio_weighed = recipe->ratio_weighed;
}

class Sheet {
 public:
  Sheet(const File& file, const Prepared& prepared, RunPlan plan) : file_(file), prepared_(prepared) {
    out_.title = file.title;
    out_.workshop = prepared.mixes.front().mix.workshop;
    out_.scale_step = prepared.scale_step;
    out_.order = prepared.order;
    out_.plan = std::move(plan);
    out_.currency = file.currency;
    out_.start_minute = file.start_minute;
    out_.notes = prepared.notes;
    out_.errors = prepared.errors;
  }

  RunReport run() {
    for (std::size_t i = 0; i < out_.plan.batches.size(); ++i) add_batch(i);
    add_hours();
    shop();
    look_at_shelf();
    say_limits();
    add_cautions();
    return std::move(out_);
  }

 private:
  void add_batch(std::size_t index) {
    const RunBatch& batch = out_.plan.batches[index];
    const auto base = static_cast<std::size_t>(batch.base);
    const Mix& mix = prepared_.mixes[prepared_.mix_of_base[base]].mix;
    RunBatchRow row;
    row.id = static_cast<int>(index) + 1;
    row.colour = out_.order.bases[base].name;
    row.material = mix.name;
    row.residue = batch.residue;
    row.mix = round_up_to(batch.poured + batch.residue, out_.scale_step);
    for (const Placed& p : batch.pours) {
      const RunPour& pour = out_.order.pours[static_cast<std::size_t>(p.kind)];
      row.pieces.push_back({pour.name, pour.order, p.count, pour.mix, {}});
    }
    add_spare(batch, row);
    weigh(mix, out_.scale_step, row);
    add_cups(batch, row);
    for (const Part& p : row.parts) add_need(p);
    for (const RunCupRow& c : row.cups)
      for (const Part& p : c.pigments) add_need(p);
    if (std::abs(row.ratio_weighed.in_millionths() - mix.ratio.in_millionths()) * 200 >
        mix.ratio.in_millionths())
      out_.notes.push_back(
          {"ratio-drift",
           fmt::format("batch {}: rounding to the scale makes the ratio {} instead of {}", row.id,
                       fixed(row.ratio_weighed.value(), 3), fixed(mix.ratio.value(), 3)),
           false});
    out_.batches.push_back(std::move(row));
  }

  std::optional<Ratio> dose_of(const std::string& colour) const {
    for (const Colour& c : file_.colours)
      if (c.name == colour && c.dose > Ratio()) return c.dose;
    return std::nullopt;
  }

  /// The bucket keeps the base; each accent's cup gets its share of every piece and what stays in the cup.
  void add_cups(const RunBatch& batch, RunBatchRow& row) {
    const std::string& base = prepared_.colour_of_base[static_cast<std::size_t>(batch.base)];
    if (batch.cups.empty() && !dose_of(base)) return;
    std::vector<std::int64_t> weights{out_.order.limits.bucket_residue.in_micrograms()};
    for (std::size_t c = 0; c < batch.cups.size(); ++c)
      weights.push_back(out_.order.limits.cup_residue.in_micrograms());
    for (const Placed& p : batch.pours) {
      const auto kind = static_cast<std::size_t>(p.kind);
      const Piece& piece = *prepared_.sources[kind].piece;
      const Mass all = out_.order.pours[kind].mix * p.count;
      weights[0] += (all * base_share(piece)).in_micrograms();
      for (const PigmentDose& a : piece.accents) {
        const auto at = std::find(batch.cups.begin(), batch.cups.end(), a.name) - batch.cups.begin();
        weights[static_cast<std::size_t>(at) + 1] += (all * a.dose).in_micrograms();
      }
    }
    const auto steps = largest_remainder(row.mix.in_micrograms() / out_.scale_step.in_micrograms(), weights);
    for (std::size_t c = 0; c < weights.size(); ++c) {
      RunCupRow cup{c == 0 ? row.colour : batch.cups[c - 1], out_.scale_step * steps[c], {}};
      if (const auto dose = dose_of(c == 0 ? base : cup.name))
        cup.pigments.push_back({cup.name, round_to(cup.mix * *dose, pigment_step)});
      row.cups.push_back(std::move(cup));
    }
    for (std::size_t i = 0; i < batch.pours.size(); ++i)
      row.pieces[i].colours = colours_of(static_cast<std::size_t>(batch.pours[i].kind), row.colour);
  }

  /// To a tenth of a gram, of less than a gram to a hundredth. Accents are taken down, so that their cups
  /// hold what is told; the base is the rest.
  std::vector<RunPieceRow::Colour> colours_of(std::size_t kind, const std::string& base) const {
    const Mass all = out_.order.pours[kind].mix;
    std::vector<RunPieceRow::Colour> out{{base, all}};
    for (const PigmentDose& a : prepared_.sources[kind].piece->accents) {
      const Mass exact = all * a.dose, step = Mass::grams(exact < Mass::grams(1) ? 0.01 : 0.1);
      const Mass each = step * (exact.in_micrograms() / step.in_micrograms());
      out[0].each = out[0].each - each;
      out.push_back({a.name, each});
    }
    return out;
  }

  void add_spare(const RunBatch& batch, RunBatchRow& row) const {
    const RunLimits& l = out_.order.limits;
    const Duration workable = out_.order.bases[static_cast<std::size_t>(batch.base)].working_time;
    if (workable <= Duration() || out_.plan.tasks.empty()) return;
    Duration spare = workable - l.mix - l.split * static_cast<double>(batch.cups.size());
    for (const Placed& p : batch.pours)
      spare = spare - out_.order.pours[static_cast<std::size_t>(p.kind)].pour * p.count;
    row.spare = spare;
  }

  void add_hours() {
    for (const RunTask& t : out_.plan.tasks) {
      RunBatchRow& row = out_.batches[static_cast<std::size_t>(t.batch)];
      if (!row.start || t.from < *row.start) row.start = t.from;
      if (t.work == RunWork::demold)
        row.out = t.to;
      else if (t.work != RunWork::clean && t.work != RunWork::finish)
        row.poured = row.out = t.to;
    }
  }

  void add_need(const Part& part) {
    const auto it = std::find_if(out_.shopping.begin(), out_.shopping.end(),
                                 [&](const ShoppingRow& r) { return r.name == part.name; });
    if (it != out_.shopping.end())
      it->need += part.mass;
    else if (part.mass > Mass())
      out_.shopping.push_back({part.name, part.kind, part.mass, {}, {}, {}, std::nullopt});
  }

  void shop() {
    for (ShoppingRow& row : out_.shopping) {
      row.buy = row.need;
      const auto supply = std::find_if(file_.supplies.begin(), file_.supplies.end(),
                                       [&](const Supply& s) { return s.name == row.name; });
      if (supply == file_.supplies.end()) continue;
      row.stock = supply->stock.value_or(Mass());
      row.buy = std::max(Mass(), row.need - row.stock);
      const PackChoice choice = cheapest_packs(row.buy, supply->packs);
      for (std::size_t i = 0; i < choice.counts.size(); ++i)
        if (choice.counts[i] > 0) row.packs.push_back({supply->packs[i].size, choice.counts[i]});
      row.cost = choice.cost;
    }
  }

  /// Only where the stock of everything in the mix is known; pigments nobody counted are taken to be there.
  void look_at_shelf() {
    std::map<std::string, Mass> shelf;
    for (const Supply& s : file_.supplies)
      if (s.stock) shelf.emplace(s.name, *s.stock);
    for (const ChosenMix& m : prepared_.mixes)
      for (const Proportion& p : proportions(m.mix))
        if (p.kind != ComponentKind::chips && p.millionths > 0 && shelf.count(p.name) == 0) return;
    FromStock from;
    for (std::size_t k = 0; k < prepared_.sources.size(); ++k) {
      const Source& s = prepared_.sources[k];
      from.pieces.push_back({out_.order.pours[k].name, pours_from(shelf, k) * s.pieces_per_pour});
    }
    for (const RunBatchRow& row : out_.batches) {
      std::vector<Part> takes = row.parts;
      for (const RunCupRow& c : row.cups) takes.insert(takes.end(), c.pigments.begin(), c.pigments.end());
      bool enough = true;
      for (const Part& p : takes) {
        const auto at = shelf.find(p.name);
        if (at == shelf.end()) continue;
        at->second = at->second - p.mass;
        enough &= at->second >= Mass();
      }
      if (!enough) break;
      ++from.batches;
    }
    out_.from_stock = std::move(from);
  }

  /// Pours of one kind alone, in batches as full as the bucket allows, residue and all.
  std::int64_t pours_from(const std::map<std::string, Mass>& shelf, std::size_t k) const {
    const RunPour& pour = out_.order.pours[k];
    const Piece& piece = *prepared_.sources[k].piece;
    double most = std::numeric_limits<double>::infinity();  // grams of mix
    const auto limit = [&](const std::string& name, double share) {
      const auto at = shelf.find(name);
      if (at != shelf.end() && share > 0) most = std::min(most, at->second.in_grams() / share);
    };
    std::int64_t whole = 0;
    const std::vector<Proportion> parts = proportions(prepared_.mixes[prepared_.sources[k].mix].mix);
    for (const Proportion& p : parts) whole += p.millionths;
    for (const Proportion& p : parts)
      limit(p.name, static_cast<double>(p.millionths) / static_cast<double>(whole));
    std::map<std::string, double> pigments;
    if (const auto dose = dose_of(piece.colour))
      pigments[piece.colour] += base_share(piece).value() * dose->value();
    for (const PigmentDose& a : piece.accents)
      if (const auto dose = dose_of(a.name)) pigments[a.name] += a.dose.value() * dose->value();
    for (const auto& [name, share] : pigments) limit(name, share);
    const RunLimits& l = out_.order.limits;
    const Mass room = l.scale > Mass() ? std::min(l.bucket, l.scale) : l.bucket;
    const double each = pour.mix.in_grams(),
                 residue = (l.bucket_residue + l.cup_residue * static_cast<std::int64_t>(pour.cups.size()))
                               .in_grams();
    const double in_one = std::floor((room.in_grams() - residue) / each + 1e-9);
    if (in_one < 1) return 0;
    const double batches = std::floor(most / (in_one * each + residue) + 1e-9),
                 rest = most - batches * (in_one * each + residue);
    const double more = std::max(0.0, std::floor((rest - residue) / each + 1e-9));
    return static_cast<std::int64_t>(batches * in_one + more);
  }

  static std::string batches_text(int n) { return n == 1 ? "1 batch" : fmt::format("{} batches", n); }
  static std::string time_text(Duration d) {
    const auto min = static_cast<std::int64_t>(in_minutes(d) + 0.5);
    return min < 60 ? fmt::format("{} min", min) : fmt::format("{} h {:02} min", min / 60, min % 60);
  }

  void say_limits() {
    for (const RunAdvice& a : out_.plan.advice) {
      std::string what;
      if (a.limit == "molds")
        what = fmt::format("{} more of mold “{}”", a.more,
                           out_.order.molds[static_cast<std::size_t>(a.mold)].name);
      else if (a.limit == "bucket")
        what = "a second bucket, or one twice as large,";
      else if (a.limit == "colour order")
        what = "going back to lighter colours after a thorough wash";
      else
        what = fmt::format("twice {}", a.limit == "scale"   ? "the capacity of the scale"
                                       : a.limit == "shelf" ? "the room on the shelf"
                                                            : "the working time of the mix");
      std::string gain;
      if (a.batches_saved > 0) gain = batches_text(a.batches_saved);
      const std::string_view also = gain.empty() ? "" : " and ";
      if (a.days_saved > 0)
        gain += fmt::format("{}{}", also, a.days_saved == 1 ? "a day" : fmt::format("{} days", a.days_saved));
      else if (a.time_saved > minutes(1))
        gain += fmt::format("{}{}", also, time_text(a.time_saved));
      if (!gain.empty())
        out_.notes.push_back(
            {"limit-binds", fmt::format("{} would save {}", what, gain), false, Topic::limit});
    }
  }

  void add_cautions() {
    Mass largest;
    std::size_t mix = 0;
    for (std::size_t i = 0; i < out_.batches.size(); ++i)
      if (out_.batches[i].mix > largest) {
        largest = out_.batches[i].mix;
        mix = prepared_.mix_of_base[static_cast<std::size_t>(out_.plan.batches[i].base)];
      }
    if (largest > Mass()) out_.cautions = cautions_for(prepared_.mixes[mix].mix, largest);
  }

  const File& file_;
  const Prepared& prepared_;
  RunReport out_;
};

}  // namespace

RunReport sheet(const File& file, const Prepared& prepared, RunPlan plan) {
  return Sheet(file, prepared, std::move(plan)).run();
}

}  // namespace pourwright::run_file

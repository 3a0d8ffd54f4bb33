// SPDX-License-Identifier: GPL-3.0-or-later
// The pour card: every mold measured, what it takes to fill each, the recipe for the batch, and the records
// that speak about it.
#include <pourwright/numbers.hpp>
#include <pourwright/pipeline_learn.hpp>

#include "pipeline/inspect.hpp"
#include "pipeline/measure.hpp"
#include "pipeline/mix/mix.hpp"
#include "pipeline/questions.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string level_text(const Measured& m, const FillLevel& fill) {
  if (m.row.read_as(Reading::piece)) return "the piece's own volume";
  switch (fill.kind) {
    case FillLevel::Kind::below_brim:
      return fmt::format("to {} mm below the brim", significant(fill.value, 4));
    case FillLevel::Kind::height:
      return fmt::format("to {} mm above the floor", significant(fill.value, 4));
    case FillLevel::Kind::share:
      return fmt::format("to {} % of what it holds", significant(100 * fill.value, 4));
    case FillLevel::Kind::volume:
      return fmt::format("to {} ml", significant(fill.value / 1000, 4));
    case FillLevel::Kind::brim:
      break;
  }
  return "to the brim";
}

std::string how_filled(const Measured& m, const FillLevel& fill, const std::string& level) {
  if (m.row.read_as(Reading::piece)) return level;
  const std::string depth = significant(in_millimetres(m.deepest), 3) + " mm deep";
  if (m.cavities_filled > 1 && fill.kind == FillLevel::Kind::volume)
    return fmt::format("{} cavities, {} in all, {}", m.cavities_filled, level, depth);
  if (m.cavities_filled > 1) return fmt::format("{} cavities, each {}, {}", m.cavities_filled, level, depth);
  return fmt::format("{}, {}", level, depth);
}

/// What was taken to be cast, and what the other reading would give.
void note_reading(const Decision<Reading>& reading, const Mix& mix, Notes& notes) {
  const auto amount = [&](Volume v) {
    const double ml = in_millilitres(v), g = (v * mix.density).in_grams();
    return fmt::format("{} ml, {} g", ml < 10 ? fmt::format("{:.2g}", ml) : fixed(ml, 1),
                       g < 10 ? fmt::format("{:.2g}", g) : fixed(g, 0));
  };
  const Alternative* const other = reading.others.empty() ? nullptr : &reading.others.front();
  if (reading.chosen == Reading::mold && other != nullptr)
    notes.push_back({"read-as-mold",
                     fmt::format("read as a mold; as the piece itself it would take {} ({})",
                                 amount(*other->fill), other->option),
                     false, Topic::reading,
                     fmt::format("read as a mold ({} for the other reading)", other->option)});
  if (reading.chosen == Reading::piece)
    notes.push_back({"read-as-piece",
                     other != nullptr
                         ? fmt::format("read as the piece itself; as a mold it would hold {} ({})",
                                       amount(*other->fill), other->option)
                         : std::string("read as the piece itself: it holds no liquid in this position"),
                     false, Topic::reading, "read as the piece itself"});
}

/// `margin`: what is added beyond the need that is expected, as a share of what the molds hold.
void note_tilt(const Measured& m, double margin, Notes& notes) {
  if (m.row.read_as(Reading::piece)) return;
  for (const TiltLoss& t : m.row.tilt)
    if (t.share >= 5e-4)
      notes.push_back(
          {"bench-tilt",
           fmt::format("stand it level: leaning {}° spills {} % of the fill{}", significant(t.degrees, 2),
                       fixed(100 * t.share, 1), t.share > margin ? ", more than the extra" : ""),
           false});  // the bench is assumed level: no fault of the mold
}

/// What the batch takes, into the card and the demand.
Expected<BatchNeed> reckon(const ChosenMix& chosen, const CardSettings& settings, CardReport& card,
                           std::vector<MoldDemand>& demand) {
  std::vector<MoldOfCard> molds;
  for (const CardMold& m : card.molds)
    molds.push_back(
        {m.path, m.copies, m.fill, settings.measure.fill.kind == FillLevel::Kind::brim, m.by_name});
  auto need = batch_need(chosen, molds, settings.mix);
  if (!need || !need->refused.empty()) return need;
  for (std::size_t i = 0; i < molds.size(); ++i) {
    card.molds[i].fill = demand[i].fill = need->fills[i];
    card.molds[i].notes.insert(card.molds[i].notes.end(), need->mold_notes[i].begin(),
                               need->mold_notes[i].end());
  }
  // The records tell where their density comes from themselves.
  if (need->mix.density_from != DensityFrom::records) card.notes.push_back(density_note(card.mix));
  card.mix = need->mix;
  card.allowance = need->allowance;
  card.notes.insert(card.notes.end(), need->notes.begin(), need->notes.end());
  card.notes.push_back(need->added);
  return need;
}

/// A mold that is known by its water fills alone: those were to the brim.
Expected<CardMold> mold_without_file(const FoundFile& file, const CardSettings& settings) {
  const auto named = named_mold(file.path.string(), settings.mix);
  if (!named) return named.error();
  const auto unknown = [&] {
    return fail(
        Code::usage, fmt::format("of “{}” only what it holds to the brim is known", file.path.string()),
        "--fill takes a share or a volume here, like 80% or 180ml; anything else needs the mold's file");
  };
  if (!*named) return unknown();
  CardMold mold;
  mold.path = (*named)->name;
  mold.copies = file.copies > 0 ? file.copies : settings.copies;
  mold.by_name = true;
  mold.fill = (*named)->holds;
  const FillLevel& fill = settings.measure.fill;
  double share = 1;
  mold.level = "to the brim";
  if (fill.kind == FillLevel::Kind::share) {
    share = fill.value;
    mold.level = fmt::format("to {:.4g} % of what it holds", 100 * fill.value);
  } else if (fill.kind == FillLevel::Kind::volume) {
    share = cubic_millimetres(fill.value) / mold.fill.value;
    mold.level = fmt::format("to {:.4g} ml", fill.value / 1000);
  } else if (fill.kind != FillLevel::Kind::brim || settings.measure.read_as == Reading::piece ||
             settings.fill_table) {
    return unknown();
  }
  if (!(share > 0 && share <= 1))
    return fail(
        Code::fill_out_of_range,
        fmt::format("“{}” holds {} ml to the brim", mold.path, fixed(in_millilitres(mold.fill.value), 1)),
        "give a level within it");
  for (Volume* v : {&mold.fill.value, &mold.fill.low, &mold.fill.high}) *v = *v * share;
  mold.how = mold.level;
  mold.notes.push_back(note_by_name(**named));
  return mold;
}

/// What the bench bears: the time to pour all molds, and the bucket. The scale says so itself.
void note_bench(const ChosenMix& chosen, CardReport& card) {
  int pours = 0;
  for (const CardMold& m : card.molds) pours += m.copies;
  const Duration all = usual_pour * pours, workable = chosen.mix.working_time;
  if (workable > Duration() && all > workable)
    card.notes.push_back({"too-slow-to-pour",
                          fmt::format("{} pours of {:.0f} s each take {:.0f} min, but the mix can be poured "
                                      "for {:.0f} min: mix in {} batches",
                                      pours, usual_pour.base(), std::ceil(in_minutes(all)),
                                      in_minutes(workable), static_cast<int>(std::ceil(all / workable))),
                          true});
  if (chosen.habits.bucket > Mass() && card.total.mix > chosen.habits.bucket)
    card.notes.push_back(
        {"bucket-too-small",
         fmt::format(
             "{} g are more than the bucket takes ({} g): mix in {} batches",
             fixed(card.total.mix.in_grams(), 0), fixed(chosen.habits.bucket.in_grams(), 0),
             static_cast<int>(std::ceil(card.total.mix.in_grams() / chosen.habits.bucket.in_grams()))),
         true});
}

/// What a filled cavity holds up to its level. Between the marks of its table the cubic through both volumes
/// with both surfaces as slopes: exact where the surface is a quadratic of the height, as in cones.
Volume poured(const Cavity& c) {
  if (!c.level || *c.level >= c.brim) return c.capacity.value;
  FillMark low{0, c.floor, {}, {}};
  for (const FillMark& high : c.fill_table) {
    if (high.level >= *c.level && high.level > low.level) {
      const double h = in_millimetres(high.level - low.level), t = in_millimetres(*c.level - low.level) / h;
      const double v0 = in_cubic_millimetres(low.volume), v1 = in_cubic_millimetres(high.volume),
                   a0 = h * in_square_millimetres(low.surface), a1 = h * in_square_millimetres(high.surface);
      const double v = v0 + t * (a0 + t * (3 * (v1 - v0) - 2 * a0 - a1 + t * (2 * (v0 - v1) + a0 + a1)));
      return cubic_millimetres(std::clamp(v, v0, v1));
    }
    low = high;
  }
  return c.capacity.value;
}

/// What each cavity of one mold takes, scaled to what the mold is taken to hold.
void share_out(const Measured& m, const Mix& mix, CardMold& mold) {
  Volume sum;
  for (const Cavity& c : m.row.cavities)
    if (c.filled) sum += poured(c);
  if (m.cavities_filled < 2 || !(sum > Volume())) return;
  const double scale = mold.fill.value / sum;
  for (const Cavity& c : m.row.cavities)
    if (c.filled) mold.shares.push_back({c.id, poured(c) * scale * mix.density});
}

/// The batch before it is rounded, to pick its scale by.
Mass roughly(const std::vector<MoldDemand>& demand, const CardReport& card) {
  double grams = 0;
  for (const MoldDemand& d : demand) grams += (d.fill.value * card.mix.density).in_grams() * d.copies;
  return Mass::grams(std::min(grams * (1 + card.allowance.value()), 1e9));
}

}  // namespace

Expected<CardReport> pour_card(const std::vector<FoundFile>& files, const CardSettings& settings) {
  auto chosen = choose_mix(settings.mix);
  if (!chosen) return chosen.error();
  if (settings.copies < 1) return fail(Code::usage, "at least one copy must be poured");

  CardReport out;
  out.mix = chosen->mix;
  out.scale_step = chosen->scale_step;
  out.habits = chosen->habits;
  out.notes = chosen->notes;
  std::vector<MoldDemand> demand;
  std::vector<const Measured*> shown;  // one for each mold on the card
  MeasureSettings measuring = settings.measure;
  measuring.only = Only::all;
  // Eight more sweeps: too little to notice on a model, too much on a scan of millions.
  measuring.tilts = {1.0};
  measuring.tilt_limit = 200'000;
  if (!measuring.quick) {
    Inspection& look = measuring.inspection.emplace();
    look.in_short = true;
    look.limit = chosen->mix.min_wall;
  }
  const auto how = prepare_inspection(settings.mix);
  if (!how) return how.error();
  if (!measuring.read_as && !chosen->habits.read_as.empty())
    measuring.read_as = *parse_reading(chosen->habits.read_as);  // checked when it was read
  measuring.usual = usual_amounts(*chosen, settings.mix);
  std::vector<FoundFile> meshes;
  for (const FoundFile& file : files)
    if (!file.by_name) meshes.push_back(file);
  std::vector<Measured> measured = measure_all(meshes, measuring);
  weigh_neighbours(measured);
  std::size_t next = 0;
  for (std::size_t i = 0; i < files.size(); ++i) {
    const int copies = files[i].copies > 0 ? files[i].copies : settings.copies;
    if (files[i].by_name) {
      auto mold = mold_without_file(files[i], settings);
      if (!mold) {
        out.errors.push_back({files[i].path.string(), mold.error()});
        continue;
      }
      shown.push_back(nullptr);
      demand.push_back({mold->path, mold->copies, mold->fill});
      out.molds.push_back(std::move(*mold));
      continue;
    }
    Measured& m = measured[next++];
    auto problem = m.row.error;
    if (!problem) problem = holds_nothing(m.row);
    if (problem) {
      out.errors.push_back({m.row.path, *problem});
      continue;
    }
    if (auto question = question_about(m.row, copies, *chosen)) {
      question->refused = !settings.may_ask;
      if (question->refused) out.errors.push_back({m.row.path, *in_doubt(m.row)});
      out.questions.push_back(std::move(*question));
      continue;
    }
    CardMold mold;
    mold.path = m.row.path;
    mold.copies = copies;
    mold.fill = *m.row.fill;
    mold.level = level_text(m, settings.measure.fill);
    mold.how = how_filled(m, settings.measure.fill, mold.level);
    mold.notes = m.row.notes;
    note_reading(*m.row.reading, out.mix, mold.notes);
    if (settings.fill_table)
      for (const Cavity& c : m.row.cavities)
        if (c.filled) mold.fill_tables.push_back({c.id, c.floor, c.fill_table});
    for (Note& n : assess_spots(m, *how, true).notes) mold.notes.push_back(std::move(n));
    shown.push_back(&m);
    demand.push_back({std::filesystem::path(m.row.path).filename().string(), mold.copies, mold.fill});
    out.molds.push_back(std::move(mold));
  }
  if (out.molds.empty()) {
    out.notes.push_back(density_note(out.mix));
    if (auto problem = weigh_answers(*chosen, settings.mix, out)) return *problem;
    return out;
  }

  auto need = reckon(*chosen, settings, out, demand);
  if (need && !need->refused.empty()) {
    for (std::size_t k = need->refused.size(); k-- > 0;) {
      const auto& [i, problem] = need->refused[k];
      const auto at = static_cast<std::ptrdiff_t>(i);
      out.errors.push_back({out.molds[i].path, problem});
      out.molds.erase(out.molds.begin() + at);
      demand.erase(demand.begin() + at);
      shown.erase(shown.begin() + at);
    }
    if (out.molds.empty()) {
      out.notes.push_back(density_note(out.mix));
      return out;
    }
    need = reckon(*chosen, settings, out, demand);
  }
  if (!need) return need.error();
  const Forecast& f = need->forecast;
  const double margin = out.allowance.value() - (f.expected_g - f.fill_g) / f.fill_g;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    if (shown[i] == nullptr) continue;
    note_tilt(*shown[i], margin, out.molds[i].bench);
    if (!shown[i]->row.read_as(Reading::piece)) out.molds[i].tilt = shown[i]->row.tilt;
    share_out(*shown[i], out.mix, out.molds[i]);
  }
  chosen->mix = out.mix;
  chosen->allowance = out.allowance;
  choose_scale(*chosen,
               settings.mix.liquid ? batch_from(out.mix, *settings.mix.liquid) : roughly(demand, out));
  out.scale_step = chosen->scale_step;
  out.scale = chosen->scale;
  RecipeOptions weighing = weighing_options(*chosen, settings.mix.pigments);
  weighing.liquid = settings.mix.liquid;
  auto tray = weigh_tray(out.mix, demand, weighing);
  if (!tray) return with_units(tray.error(), shown);
  if (auto problem = weigh_answers(*chosen, settings.mix, out)) return *problem;
  for (std::size_t i = 0; i < out.molds.size(); ++i) out.molds[i].weighed = std::move(tray->rows[i]);
  out.total = std::move(tray->total);
  out.running_short = need->running_short(out.total.mix);
  note_bench(*chosen, out);
  out.cautions = cautions_for(out.mix, out.total.mix);
  out.cost = cost_of(out.total.parts, *chosen);
  return out;
}

}  // namespace pourwright

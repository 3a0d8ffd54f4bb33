// SPDX-License-Identifier: GPL-3.0-or-later
// From a run file to what the planner and the price list work on: molds measured, colours resolved, limits in
// whole units.
#include "pipeline/mix/prepare_run.hpp"

#include <pourwright/pipeline_learn.hpp>

#include "pipeline/mix/mix.hpp"
#include "workshop/recipe/steps.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <set>

#include <fmt/format.h>

namespace pourwright::run_file {
namespace {

constexpr std::string_view plain = "plain";
const Mass usual_bucket = Mass::grams(5000);         // when neither bucket nor scale is known
constexpr std::int64_t whole_shelf = 1'000'000'000;  // when it is measured

/// How many of one mold stand on the boards, in rows and all turned alike.
std::int64_t stand_on(const std::vector<std::array<Length, 2>>& boards, const std::array<Length, 2>& mold) {
  std::int64_t sum = 0;
  for (const auto& board : boards) {
    const auto rows = [&](std::size_t a, std::size_t b) {
      return static_cast<std::int64_t>(board[0] / mold[a] + 1e-9) *
             static_cast<std::int64_t>(board[1] / mold[b] + 1e-9);
    };
    sum += std::min(whole_shelf, std::max(rows(0, 1), rows(1, 0)));
  }
  return sum;
}

/// Index of an item that is added when it is new.
template <class T>
std::size_t index_in(std::vector<T>& list, const T& item) {
  const auto it = std::find(list.begin(), list.end(), item);
  if (it != list.end()) return static_cast<std::size_t>(it - list.begin());
  list.push_back(item);
  return list.size() - 1;
}

class Preparation {
 public:
  Preparation(const File& file, const RunSettings& settings) : file_(file), settings_(settings) {
    for (std::size_t i = 0; i < file.molds.size(); ++i) mold_of_key_.emplace(file.molds[i].key, i);
    for (const Piece& p : file.pieces)
      if (p.wanted > 0) wanted_.insert(p.mold);
  }

  Expected<Prepared> run(const MeasureMolds& measure) {
    if (auto p = choose_mixes()) return *p;
    if (auto p = set_limits()) return *p;
    add_bases();
    measure_molds(measure);
    for (const Piece& piece : file_.pieces)
      if (auto p = add_pour(piece)) return *p;
    note_added();
    return std::move(out_);
  }

 private:
  MixSettings mix_settings(const std::string& material) const {
    MixSettings s = file_.workshop.empty()
                        ? settings_.mix
                        : with_workshop_of_file(settings_.mix, file_.folder / file_.workshop);
    if (s.material.empty()) s.material = !material.empty() ? material : file_.material;
    if (!s.allowance) s.allowance = file_.allowance;
    if (!s.scale_step) s.scale_step = file_.scale_step;
    if (!s.room) s.room = file_.room;
    return s;
  }

  std::optional<Problem> choose_mixes() {
    for (const Piece& piece : file_.pieces) {
      const std::size_t known = materials_.size();
      mix_of_piece_.push_back(index_in(materials_, piece.material));
      if (mix_of_piece_.back() < known) continue;
      auto chosen = choose_mix(mix_settings(piece.material));
      if (!chosen) return chosen.error();
      if (auto p = check_doses(*chosen)) return p;
      out_.notes.insert(out_.notes.end(), chosen->notes.begin(), chosen->notes.end());
      as_chosen_.push_back(*chosen);
      out_.mixes.push_back(std::move(*chosen));
    }
    out_.scale_step = out_.mixes.front().scale_step;
    return std::nullopt;
  }

  std::optional<Problem> check_doses(const ChosenMix& chosen) const {
    for (const Colour& c : file_.colours)
      if (c.dose > chosen.mix.pigment_ceiling)
        return fail(
            Code::pigment_over_ceiling,
            fmt::format("{}: {} % {} in “{}”, which bears {} %", file_.label, fixed(c.dose.in_percent(), 2),
                        c.name, chosen.mix.name, fixed(chosen.mix.pigment_ceiling.in_percent(), 2)),
            "lower the dose of the [[colour]]");
    return std::nullopt;
  }

  /// A batch is weighed in whole steps, so limits are taken down and residues up to one.
  std::optional<Problem> set_limits() {
    RunLimits& l = out_.order.limits = file_.limits;
    if (!file_.boards.empty()) l.shelf = whole_shelf;
    if (l.day > Duration()) l.night = std::max(Duration(), minutes(24 * 60) - l.day);
    const Mass step = out_.scale_step;
    if (settings_.mixer_max) l.bucket = *settings_.mixer_max;
    if (l.bucket <= Mass()) l.bucket = out_.mixes.front().habits.bucket;
    if (l.bucket <= Mass()) {
      const auto catalogue = load_catalogue(mix_settings("").workshop);
      if (!catalogue) return catalogue.error();
      Mass most = l.scale;
      for (const Scale& s : catalogue->scales) most = std::max(most, s.capacity);
      const bool known = most > Mass();
      l.bucket = known ? most : usual_bucket;
      out_.notes.push_back({"bucket-assumed",
                            fmt::format("no mixing bucket was named; a batch is {} {} g",
                                        known ? "at most what the scale carries," : "taken to be at most",
                                        grams_text(l.bucket, Mass::grams(1))),
                            true});
    }
    const auto down = [&](Mass m) { return step * (m.in_micrograms() / step.in_micrograms()); };
    l.bucket = down(l.bucket);
    l.scale = down(l.scale);
    l.bucket_residue = round_up_to(l.bucket_residue, step);
    l.cup_residue = round_up_to(l.cup_residue, step);
    if (l.bucket <= Mass())
      return fail(Code::amount_not_positive, "the mixing bucket holds less than one step of the scale",
                  "give it like 2.4 kg");
    return std::nullopt;
  }

  /// From light to dark as the file lists them; colours it does not list come last, plain mix first of all.
  void add_bases() {
    std::vector<std::string> colours = file_.colour_order;
    for (const Piece& piece : file_.pieces)
      if (!piece.colour.empty()) index_in(colours, piece.colour);
    colours.insert(colours.begin(), std::string());
    for (const std::string& colour : colours)
      for (std::size_t mix = 0; mix < out_.mixes.size(); ++mix) {
        const bool used = [&] {
          for (std::size_t i = 0; i < file_.pieces.size(); ++i)
            if (file_.pieces[i].colour == colour && mix_of_piece_[i] == mix) return true;
          return false;
        }();
        if (!used) continue;
        base_of_[{colour, mix}] = static_cast<int>(out_.order.bases.size());
        out_.order.bases.push_back(
            {colour.empty() ? std::string(plain) : colour, out_.mixes[mix].mix.working_time});
        out_.mix_of_base.push_back(mix);
        out_.colour_of_base.push_back(colour);
      }
  }

  void measure_molds(const MeasureMolds& measure) {
    std::vector<MoldSource> sources;
    std::vector<std::size_t> molds;
    volumes_.assign(file_.molds.size(), std::nullopt);
    for (std::size_t i = 0; i < file_.molds.size(); ++i) {
      const Mold& m = file_.molds[i];
      if (m.file.empty() || wanted_.count(m.key) == 0) continue;
      if (std::error_code error; !std::filesystem::exists(file_.folder / m.file, error) && use_name(i))
        continue;
      sources.push_back({file_.folder / m.file, m.how});
      if (!out_.mixes.empty() && !out_.mixes.front().habits.read_as.empty())
        sources.back().how.usual_reading = *parse_reading(out_.mixes.front().habits.read_as);
      molds.push_back(i);
    }
    if (sources.empty()) return;
    auto measured = measure(sources);
    for (std::size_t k = 0; k < molds.size(); ++k) {
      if (!measured[k]) {
        out_.errors.push_back({sources[k].file.string(), measured[k].error()});
        continue;
      }
      for (Note note : measured[k]->notes) {
        note.text = fmt::format("{}: {}", file_.molds[molds[k]].name, note.text);
        if (note.warning) out_.notes.push_back(std::move(note));
      }
      volumes_[molds[k]] = std::move(*measured[k]);
    }
  }

  /// A mold without a file, by the name that stands in place of one.
  bool use_name(std::size_t mold) {
    const Mold& m = file_.molds[mold];
    if (m.how != MoldReading{}) return false;  // words about a mesh
    const auto named = named_mold(m.file, mix_settings(""));
    if (!named || !*named) return false;
    volumes_[mold].emplace();
    volumes_[mold]->fill = (*named)->holds;
    volumes_[mold]->by_name = true;
    return true;
  }

  /// What the records and common practice make of a mold's volume: the card's own reckoning, for as many
  /// pours as a batch has room for, without what stays in bucket and cups, which the plan counts by itself.
  Expected<BatchNeed> need_of(std::size_t mold, std::size_t mix, int pours) {
    const Mold& m = file_.molds[mold];
    const ChosenMix& chosen = as_chosen_[mix];  // records are applied once
    MoldOfCard one{{}, 1, {}, true};
    if (m.holds) {
      one.fill = Interval<Volume>::exactly(*m.holds);
    } else {
      one.path = volumes_[mold]->by_name ? m.file : (file_.folder / m.file).string();
      one.fill = volumes_[mold]->fill;
      one.by_name = volumes_[mold]->by_name;
      one.full = !m.how.fill || m.how.fill->kind == FillLevel::Kind::brim;
    }
    const MixSettings settings = mix_settings(materials_[mix]);
    auto need = batch_need(chosen, {one}, settings);
    if (!need || !need->refused.empty()) return need;
    const RunLimits& l = out_.order.limits;
    const double room = (l.bucket - l.bucket_residue).in_grams(), takes = need->grams(0).in_grams();
    one.copies =
        takes > 0 ? static_cast<int>(std::clamp(room / takes, 1.0, static_cast<double>(std::max(1, pours))))
                  : 1;
    return one.copies == 1 ? std::move(need) : batch_need(chosen, {one}, settings);
  }

  void tell(const BatchNeed& need, const Mold& m, std::size_t mix) {
    const auto add = [&](Note note) {
      const auto same = [&](const Note& n) { return n.code == note.code && n.text == note.text; };
      if (std::none_of(out_.notes.begin(), out_.notes.end(), same)) out_.notes.push_back(std::move(note));
    };
    if (need.mix.density_from != DensityFrom::records) add(density_note(as_chosen_[mix].mix));
    for (const Note& n : need.notes) add(n);
    for (Note n : need.mold_notes[0]) {
      n.text = fmt::format("{}: {}", m.name, n.text);
      add(std::move(n));
    }
    const double share =
        need.grams_in_mold(0).in_grams() / (need.fills[0].value * need.mix.density).in_grams() - 1;
    least_added_ = std::min(least_added_, share);
    most_added_ = std::max(most_added_, share);
    fixed_ |= need.allowance_fixed;
    risk_ = need.forecast.risk;
  }

  void note_added() {
    if (least_added_ > most_added_) return;
    const std::string low = fixed(100 * least_added_, 1), high = fixed(100 * most_added_, 1);
    out_.notes.push_back(
        {"run-allowance",
         fmt::format("{} % is added to each pour {}; what stays in bucket and cups is counted apart",
                     low == high ? low : low + " to " + high,
                     fixed_ ? std::string("as given, less that")
                            : fmt::format("for how pours and molds differ, so that a batch runs short {}",
                                          chance_text(risk_.value()))),
         false});
  }

  /// What one pour takes; nothing when its mesh could not be measured.
  std::optional<Interval<Mass>> mass_of(std::size_t mold, std::size_t mix, int pours) {
    const Mold& m = file_.molds[mold];
    if (m.mix) return Interval<Mass>::exactly(*m.mix);
    if (!m.holds && !volumes_[mold]) return std::nullopt;
    const auto need = need_of(mold, mix, pours);
    const std::optional<Problem> problem = !need ? std::optional(need.error())
                                           : need->refused.empty()
                                               ? std::nullopt
                                               : std::optional(need->refused.front().second);
    if (problem) {
      out_.errors.push_back({m.file.empty() ? m.name : (file_.folder / m.file).string(), *problem});
      return std::nullopt;
    }
    tell(*need, m, mix);
    out_.mixes[mix].mix = need->mix;
    const Mass value = need->grams_in_mold(0);
    const double spread = need->mix.density_spread.value(), holds = in_millilitres(need->fills[0].value);
    return Interval<Mass>{value,
                          value * Ratio::of(in_millilitres(need->fills[0].low) / holds * (1 - spread)),
                          value * Ratio::of(in_millilitres(need->fills[0].high) / holds * (1 + spread)),
                          {}};
  }

  std::optional<Problem> add_pour(const Piece& piece) {
    const auto index = static_cast<std::size_t>(&piece - file_.pieces.data());
    const std::size_t mold = mold_of_key_.at(piece.mold);
    const Mold& m = file_.molds[mold];
    const std::size_t mix = mix_of_piece_[index];
    const ChosenMix& chosen = out_.mixes[mix];
    if (piece.wanted == 0) return std::nullopt;
    const int per_pour = m.pieces > 0 ? m.pieces : volumes_[mold] ? std::max(1, volumes_[mold]->cavities) : 1;
    const auto mass = mass_of(mold, mix, (piece.wanted + per_pour - 1) / per_pour);
    if (!mass) return std::nullopt;  // an entry in errors says why
    Source s{&piece, &m, mix, 1, *mass, {}};
    s.pieces_per_pour = per_pour;
    const Ratio fresh = Ratio::percent(100) - piece.leftovers;
    s.leftovers = s.mass.value * piece.leftovers;
    for (Mass* part : {&s.mass.value, &s.mass.low, &s.mass.high}) *part = *part * fresh;
    RunPour pour;
    pour.name = piece.name;
    pour.order = piece.order;
    pour.base = base_of_.at({piece.colour, mix});
    const auto index_of_mold = mold_index(mold, chosen);
    if (!index_of_mold) return index_of_mold.error();
    pour.mold = *index_of_mold;
    for (const PigmentDose& a : piece.accents) pour.cups.push_back(a.name);
    pour.mix = std::max(out_.scale_step, round_up_to(s.mass.value, out_.scale_step));
    if (pour.mix > recipe::heaviest)
      return fail(Code::bad_quantity, fmt::format("“{}” would take more than 1000 t", piece.name),
                  "check the length unit of the mesh");
    const std::int64_t made = with_rejects(piece);
    if (made > 100 * std::int64_t{piece.wanted})
      return fail(Code::config_bad_value,
                  fmt::format("{}: of “{}” {} would be poured for {} that are wanted", file_.label,
                              piece.name, made, piece.wanted),
                  "lower “failed” in [price]");
    pour.count = static_cast<int>((made + s.pieces_per_pour - 1) / s.pieces_per_pour);
    pour.pour = m.pour.value_or(file_.pour);
    pour.finishing = piece.finishing.value_or(Duration()) * s.pieces_per_pour;
    if (made > piece.wanted)
      out_.notes.push_back(
          {"rejects-planned",
           fmt::format("{} of “{}” are poured for {}: {} % come out spoilt", made, piece.name, piece.wanted,
                       fmt::format("{:.4g}", file_.terms->failed.in_percent())),
           false});
    if (const std::int64_t extra = pour.count * s.pieces_per_pour - made; extra > 0)
      out_.notes.push_back({"pieces-over",
                            fmt::format("{} more “{}” than {}: one pour makes {}", extra, piece.name,
                                        made > piece.wanted ? "that" : "wanted", s.pieces_per_pour),
                            false});
    if (s.leftovers > Mass())
      out_.notes.push_back(
          {"leftovers-used",
           fmt::format("“{}” takes {} g of old cast pieces a pour, {} g in all", piece.name,
                       grams_text(round_to(s.leftovers, Mass::grams(1)), Mass::grams(1)),
                       grams_text(round_to(s.leftovers * pour.count, Mass::grams(1)), Mass::grams(1))),
           false});
    out_.order.pours.push_back(std::move(pour));
    out_.sources.push_back(std::move(s));
    return std::nullopt;
  }

  /// So many that what is wanted is left when the share of rejects is taken away, up to a whole piece.
  std::int64_t with_rejects(const Piece& piece) const {
    constexpr std::int64_t whole = 1'000'000;
    const std::int64_t good = file_.terms ? whole - file_.terms->failed.in_millionths() : whole;
    if (good <= 0) return std::numeric_limits<std::int64_t>::max();
    return (piece.wanted * whole + good - 1) / good;
  }

  /// The planner's molds are those that are used. One that is poured with several mixes waits for the
  /// slowest.
  Expected<int> mold_index(std::size_t mold, const ChosenMix& chosen) {
    const Mold& m = file_.molds[mold];
    const auto [it, is_new] = planned_.emplace(mold, static_cast<int>(out_.order.molds.size()));
    if (is_new) {
      const auto place = place_of(mold);
      if (!place) return place.error();
      out_.order.molds.push_back({m.name, m.copies, Duration(), m.handling.value_or(file_.handling), *place});
    }
    RunMold& planned = out_.order.molds[static_cast<std::size_t>(it->second)];
    planned.demold = std::max(planned.demold, m.demold.value_or(chosen.mix.demold_time));
    return it->second;
  }

  /// Of a measured shelf, the share that one takes where nothing but its own kind stands.
  Expected<std::int64_t> place_of(std::size_t mold) const {
    const Mold& m = file_.molds[mold];
    if (file_.boards.empty()) return m.places;
    auto stands = m.stands;
    if (!stands && volumes_[mold]) stands = volumes_[mold]->stands;
    if (!stands)
      return fail(
          Code::config_bad_value,
          fmt::format("{}: the shelf is measured, but not what mold “{}” takes of it", file_.label, m.key),
          "give the mold a line like stands = \"14 x 12 cm\", or count the shelf in places");
    const std::int64_t most = stand_on(file_.boards, *stands);
    if (most == 0)
      return fail(Code::does_not_fit,
                  fmt::format("mold “{}”, {:.4g} x {:.4g} mm, does not fit on the shelf", m.name,
                              in_millimetres((*stands)[0]), in_millimetres((*stands)[1])),
                  "give it a larger shelf");
    return std::max<std::int64_t>(1, whole_shelf / most);
  }

  const File& file_;
  const RunSettings& settings_;
  Prepared out_;
  std::vector<std::size_t> mix_of_piece_;
  std::vector<std::string> materials_;  ///< by mix, as the pieces name them
  std::vector<ChosenMix> as_chosen_;    ///< by mix, before the records
  double least_added_ = 1e9, most_added_ = -1e9;
  bool fixed_ = false;
  Ratio risk_ = Ratio::percent(1);
  std::map<std::pair<std::string, std::size_t>, int> base_of_;
  std::map<std::string_view, std::size_t> mold_of_key_;
  std::set<std::string_view> wanted_;
  std::map<std::size_t, int> planned_;
  std::vector<std::optional<MoldVolume>> volumes_;
};

}  // namespace

Expected<Prepared> prepare(const File& file, const RunSettings& settings, const MeasureMolds& measure) {
  return Preparation(file, settings).run(measure);
}

Ratio base_share(const Piece& piece) {
  Ratio share = Ratio::percent(100);
  for (const PigmentDose& a : piece.accents) share = share - a.dose;
  return share;
}

}  // namespace pourwright::run_file

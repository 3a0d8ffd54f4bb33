// SPDX-License-Identifier: GPL-3.0-or-later
// The workshop's records put to use: recorded, looked up, and turned into changes of a card that it names.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/report_learn.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// Where a workshop keeps its ledger: the folder it is, or that of the one file it is.
std::filesystem::path workshop_folder(const std::filesystem::path& workshop);

/// How a mold is called in the ledger: its file's name without folder and ending. "molds/ripple_dish.stl" and
/// "ripple_dish" are one mold.
std::string mold_name(const std::string& path);
/// The bytes of a file as 16 hexadecimal digits (FNV-1a); empty when there is no such file.
std::string content_key(const std::filesystem::path& file);

/// One mold of a card, in the workshop's terms.
struct MoldOfCard {
  std::string path;
  int copies = 1;
  Interval<Volume> fill;  ///< of one copy
  bool full = true;       ///< filled as the water fills were: to the brim
  bool by_name = false;   ///< no file: `fill` is what the water fills say, and nothing beside them
};

/// A mold without a file, known by its water fills.
struct NamedMold {
  std::string name;  ///< as it was recorded
  Interval<Volume> holds;
  int fills = 0;
};
/// Whether a word names a file, be it there or not: it has a folder or the ending of a format.
bool looks_like_file(const std::string& name);
/// By its name, upper and lower case alike; nothing when no water fill is recorded under it.
Expected<std::optional<NamedMold>> named_mold(const std::string& name, const MixSettings& settings);
/// The names that have water fills, in order.
Expected<std::vector<std::string>> filled_molds(const MixSettings& settings);
Note note_by_name(const NamedMold& mold);
/// Files that are missing but are the names of molds ("daisy tray", "daisy tray:4") become those; a name that
/// is nearly one gets it as a hint.
std::optional<Problem> find_by_name(std::vector<FoundFile>& files, const MixSettings& settings);

/// What a batch for some molds takes, and why: the one answer behind everything that is weighed for a mold.
/// Every number that records changed has a note with the one it replaced.
struct BatchNeed {
  std::vector<Interval<Volume>> fills;  ///< of one copy, in the order of the molds
  std::vector<Notes> mold_notes;
  Mix mix;                       ///< with the learned density
  Ratio allowance;               ///< added to what the molds hold: residue and margin, as a share of that
  bool allowance_fixed = false;  ///< it is a share that the user set, not the forecast's
  bool learned = false;          ///< a record changed something
  Forecast forecast;
  Notes notes;
  /// Molds whose records and file disagree too much to weigh anything by them; the rest is as if they were
  /// not there only once they are left out.
  std::vector<std::pair<std::size_t, Problem>> refused;
  Note added;  ///< what the allowance is made of, and the chance of running short that it leaves

  /// Grams for one copy of a mold, its share of the allowance included.
  Mass grams(std::size_t mold) const;
  /// The same without what stays in the cups, for those who count that by themselves.
  Mass grams_in_mold(std::size_t mold) const;
  RunningShort running_short(Mass batch) const;
};
/// Density, capacities and allowance from the ledger, and from common practice where it holds nothing. What
/// the settings give (density, allowance, another ratio) is never overruled. A ledger that cannot be read is
/// a warning, not a failure. Fails when no mold is given or a setting is senseless. A mold without a path is
/// a volume that no record speaks of.
Expected<BatchNeed> batch_need(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                               const MixSettings& settings);

/// The density alone, where nothing is poured into a mold. With a note when it changes.
void use_learned_density(const MixSettings& settings, ChosenMix& chosen);

/// A mold to report on; its mesh is measured by who can.
struct LearnSubject {
  std::string path;
  int copies = 1;
  std::optional<Interval<Volume>> mesh;
};
/// What is known of the mix and the molds. With no subjects: of every mold in the ledger's latest records.
Expected<LearnReport> learn_report(const std::vector<LearnSubject>& molds, const MixSettings& settings);

/// The lot of the mix's powder that was opened last; empty: none was named.
Expected<std::string> open_lot(const MixSettings& settings, const Mix& mix);

/// Adds one record to the ledger of the settings, which is made when missing.
Expected<Record> add_record(const MixSettings& settings, Moment at, const What& what);

/// By name; empty when the ledger holds no stock.
Expected<std::vector<StockLevel>> stock_levels(const MixSettings& settings);

Expected<std::vector<Record>> find_records(const MixSettings& settings, const Query& query);
std::optional<Problem> check_ledger(const MixSettings& settings);
/// What a workshop's files and ledger hold; every page of the ledger is read. Fails when a file is wrong.
Expected<SelfDescription::Workshop> look_over(const MixSettings& settings);
/// "json" or "csv".
Expected<std::string> export_ledger(const MixSettings& settings, std::string_view form);
/// JSON or CSV, told by the content.
Expected<Imported> import_ledger(const MixSettings& settings, const std::filesystem::path& file);

}  // namespace pourwright

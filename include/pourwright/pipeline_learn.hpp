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
};

/// What the records change, each change with a note.
struct Learned {
  std::vector<Interval<Volume>> fills;  ///< in the order of the molds
  std::vector<Notes> mold_notes;
  Mix mix;  ///< with the learned density
  Ratio allowance;
  bool allowance_learned = false;
  Notes notes;
  std::optional<Forecast> forecast;
};
/// Density, capacities and allowance as the ledger has them. Nothing when it holds nothing that concerns this
/// card. What the settings give (density, allowance, another ratio) is never overruled. A ledger that cannot
/// be read is a warning, not a failure: the card is as it would be without one.
std::optional<Learned> apply_learned(const ChosenMix& chosen, const std::vector<MoldOfCard>& molds,
                                     const MixSettings& settings);

/// The density alone, for a batch by volume without a mold. With a note when it changes.
void use_learned_density(const MixSettings& settings, ChosenMix& chosen);

/// A mold to report on; its mesh is measured by who can.
struct LearnSubject {
  std::string path;
  int copies = 1;
  std::optional<Interval<Volume>> mesh;
};
/// What is known of the mix and the molds. With no subjects: of every mold in the ledger's latest records.
Expected<LearnReport> learn_report(const std::vector<LearnSubject>& molds, const MixSettings& settings);

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

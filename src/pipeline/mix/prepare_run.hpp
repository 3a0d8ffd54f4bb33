// SPDX-License-Identifier: GPL-3.0-or-later
// From what a run file says to what the planner and the price list need.
#pragma once

#include <pourwright/pipeline_run.hpp>

#include "pipeline/mix/run_file.hpp"

#include <vector>

namespace pourwright::run_file {

/// One pour of RunOrder::pours, with where it comes from.
struct Source {
  const Piece* piece = nullptr;
  const Mold* mold = nullptr;
  std::size_t mix = 0;  ///< index into Prepared::mixes
  int pieces_per_pour = 1;
  Interval<Mass> mass;  ///< of one pour, fresh mix
  Mass leftovers;       ///< of one pour
};

struct Prepared {
  RunOrder order;
  std::vector<Source> sources;  ///< by pour
  std::vector<ChosenMix> mixes;
  std::vector<std::size_t> mix_of_base;  ///< by base
  std::vector<std::string> colour_of_base;
  Mass scale_step;
  Notes notes;
  std::vector<CardReport::Failure> errors;
};

/// Chooses mixes, measures molds, and counts pours. The file must outlive the result.
Expected<Prepared> prepare(const File& file, const RunSettings& settings, const MeasureMolds& measure);

/// The share of the mix, by name: the base colour and its accents.
Ratio base_share(const Piece& piece);

/// Batches as they are weighed and split, and what they take in all.
RunReport sheet(const File& file, const Prepared& prepared, RunPlan plan);

Expected<File> load(const std::filesystem::path& path);
/// Stock and prices of supplies as the ledger has them, where the file itself is silent.
void use_ledger(File& file, const RunSettings& settings, Notes& notes);
/// That, and prices and packs as the workshop's catalogue has them where file and ledger are silent. A file
/// that names no currency is in the workshop's.
void use_stock_and_prices(File& file, const RunSettings& settings, Notes& notes);

}  // namespace pourwright::run_file

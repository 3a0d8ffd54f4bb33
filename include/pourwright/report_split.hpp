// SPDX-License-Identifier: GPL-3.0-or-later
// Cups and techniques, what becomes of the rest, and the sheets of earlier batches. All of it is plain values
// that the pipeline fills; the renderers add nothing and are O(size of the report). Masses are whole steps of
// the scale they are weighed on.
#pragma once

#include <pourwright/ledger.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// One mix through one technique or several.
struct SplitReport {
  std::string title;
  Mix mix;
  Mass scale_step, pigment_step;
  std::string scale, pigment_scale;  ///< names; empty: not known
  std::optional<Recipe> base;        ///< how the mix itself is weighed, when that was asked
  SplitPlan asked;                   ///< what it was planned from
  PlannedSplit plan;
  bool followed = false;      ///< more than filling cups: a technique, a residue, several steps
  std::optional<int> pieces;  ///< what is poured goes into as many
  std::optional<LeftoverPlan> leftovers;
  std::optional<BatchCost> cost;
  Notes notes;
};
std::string split_text(const SplitReport& report, const TextStyle& style);
/// pourwright.split/1 when all of the mix goes through one step, else pourwright.plan/1.
std::string split_json(const SplitReport& report);

/// Small molds for what is left of a batch; the rest hardens and becomes chips.
struct LeftoverReport {
  Mass left;  ///< what the cups and the bucket still hold
  Mass scale_step;
  Mix mix;
  bool has_molds = false;  ///< the workshop has small molds at all
  LeftoverPlan plan;
  Notes notes;
};
std::string leftover_text(const LeftoverReport& report, const TextStyle& style);
std::string leftover_json(const LeftoverReport& report);

/// Sheets, latest first. One alone is shown whole. `utc_offset` in seconds is how the times are shown; JSON
/// keeps UTC.
std::string sheets_text(const std::vector<Record>& sheets, std::int64_t utc_offset, const TextStyle& style);
std::string sheets_json(const std::vector<Record>& sheets);

/// An earlier batch once more, in another size.
/// The liquid and powder are weighed anew; shares of molds and cups stay those of the record.
struct RepeatReport {
  Record record;  ///< holds a BatchSheet
  MixReport weighed;
  struct Row {
    std::string mold;
    int copies = 1;
    Mass mix;  ///< for all copies
  };
  std::vector<Row> molds;
  std::optional<Split> cups;
  std::optional<SplitReport> steps;  ///< instead of cups, where the sheet knows them
};
std::string repeat_text(const RepeatReport& report, std::int64_t utc_offset, const TextStyle& style);
std::string repeat_json(const RepeatReport& report);

}  // namespace pourwright

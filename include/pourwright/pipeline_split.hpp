// SPDX-License-Identifier: GPL-3.0-or-later
// Splits, leftovers and batch sheets as one call each.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/report_split.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// "sea=60%,Kelp=2%": a cup, its share, and doses. Blanks are allowed.
Expected<Cup> parse_cup(std::string_view text);
/// "solid", "veins", "side-by-side", "layered"
Expected<Technique> parse_technique(std::string_view text);

/// What is split: a mix that is there, or one that is still to be weighed for a total or from its liquid.
struct SplitRequest {
  std::string title;
  std::optional<Mass> there, total, liquid;  ///< exactly one
  SplitPlan plan;
  std::optional<Mass> pigment_step;
  std::optional<int> pieces;  ///< that it is poured into, in all
};
Expected<SplitReport> split(const SplitRequest& request, const MixSettings& settings);

/// A colour plan from a TOML file (docs/workshop.md). What the settings or the request give already goes
/// before it.
std::optional<Problem> read_split_plan(const std::filesystem::path& file, SplitRequest& request,
                                       MixSettings& settings);

/// The small molds of the workshop, and `more` that are known by water fills under their names, for what is
/// left.
Expected<LeftoverReport> leftover(Mass left, const MixSettings& settings,
                                  const std::vector<std::string>& more = {});

// ---- batch sheets --------------------------------------------------------------------------------------

BatchSheet sheet_of(const std::string& title, const MixReport& mix, const MixSettings& settings);
BatchSheet sheet_of(const std::string& title, const CardReport& card, const MixSettings& settings);
BatchSheet sheet_of(const std::string& title, const SplitReport& split, const MixSettings& settings);

/// Sheets by number ("12"), day ("2026-10-12", "12 October"), month ("2026-10"), or a word in them; all when
/// `what` is empty. Days are those of a clock `utc_offset` seconds ahead of UTC; a day without a year is the
/// latest before `now`.
Expected<std::vector<Record>> find_sheets(const std::string& what, Moment now, std::int64_t utc_offset,
                                          const MixSettings& settings);
/// How a batch looked once dry. The sheet is written again with it, at its own time, and the earlier one
/// withdrawn.
Expected<Record> note_dry_colour(std::int64_t sheet, const std::string& colour, Moment now,
                                 const MixSettings& settings);

/// Of which size; nothing: the same.
struct RepeatSize {
  std::optional<int> pieces;  ///< copies of all molds together
  std::optional<Mass> total, liquid;
};
Expected<RepeatReport> repeat(const Record& sheet, const RepeatSize& size, const MixSettings& settings);

}  // namespace pourwright

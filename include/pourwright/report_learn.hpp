// SPDX-License-Identifier: GPL-3.0-or-later
// What a workshop has learned, as plain values and their rendering. Uncertainties `u` are standard ones (one
// in three times the truth lies outside), unlike the intervals of measurements, which are bounds.
#pragma once

#include <pourwright/learn.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// A mold that is known from its file, from records, or from both.
struct LearnedMoldRow {
  std::string mold;
  int copies = 1;
  std::optional<Interval<Volume>> file;  ///< what the mesh says, when it was measured
  int water_fills = 0;
  int pours = 0;
  Estimate<Volume> capacity;  ///< of one copy, all records used
};

/// The batch for `molds` as the records suggest it, beside the one with the fixed allowance.
struct LearnReport {
  std::optional<Record> recorded;  ///< what was added just now
  Mix mix;
  Ratio allowance;            ///< the fixed one
  Estimate<Density> density;  ///< all records used
  int density_cups = 0;
  int cups = 1;  ///< that the next batch is mixed in
  std::vector<LearnedMoldRow> molds;
  std::optional<Forecast> forecast;  ///< one batch for all of `molds`; nothing when a size is unknown
  double fixed_g = 0;                ///< the batch with the fixed allowance
  Notes notes;
};
std::string learn_text(const LearnReport& report, const TextStyle& style);
std::string learn_json(const LearnReport& report);

/// `utc_offset` in seconds is how the times are shown; JSON keeps UTC.
std::string records_text(const std::vector<Record>& records, std::int64_t utc_offset, const TextStyle& style);
std::string records_json(const std::vector<Record>& records);

std::string imported_text(const Imported& imported);
std::string imported_json(const Imported& imported);
/// After a check that found nothing wrong; `latest` is the latest record or none.
std::string checked_text(const std::vector<Record>& latest);
std::string checked_json(const std::vector<Record>& latest);

/// What is left of a supply, after purchases, counts, uses and every pour recorded since its first record.
struct StockLevel {
  std::string supply;
  Mass there;
  std::optional<Amount> per_kilogram;  ///< weighted average of what was paid for it
  std::string currency;                ///< of that
  bool short_of = false;               ///< more was taken than was there: time to count it
};
std::string stock_text(const std::vector<StockLevel>& levels, const TextStyle& style);
std::string stock_json(const std::vector<StockLevel>& levels);

/// One line for a person: "water fill of ripple_dish: 141.2 g at 17.5 °C".
std::string record_text(const What& what);

}  // namespace pourwright

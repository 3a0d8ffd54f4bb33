// SPDX-License-Identifier: GPL-3.0-or-later
// A production run and a price list as plain values, and their rendering. Masses are whole steps of the
// scale; times are seconds of work since the first morning; money is rounded once, at the end of a line.
// Renderers compute nothing but sums of what is here, and are O(size of the report).
#pragma once

#include <pourwright/price.hpp>
#include <pourwright/report.hpp>
#include <pourwright/run.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// One kind of piece in a batch.
struct RunPieceRow {
  std::string name, order;
  int pours = 0;  ///< fillings of a mold
  Mass each;      ///< mix in one of them
  struct Colour {
    std::string name;
    Mass each;
  };
  std::vector<Colour> colours;  ///< of one filling, the base first; add up to `each`; empty without colour
};

/// The bucket itself first, then what is split off it.
struct RunCupRow {
  std::string name;
  Mass mix;
  std::vector<Part> pigments;
};

/// One mixing. Its pieces, and what stays in bucket and cups, add up to `mix` less what the scale's step
/// rounds up.
struct RunBatchRow {
  int id = 0;
  std::string colour, material;
  Mass mix;  ///< weighed: what is poured and what stays behind, up to the scale's step
  Mass residue;
  std::vector<RunPieceRow> pieces;
  std::vector<Part> parts;  ///< liquid and powder; add up exactly to mix
  Ratio ratio_weighed;
  std::vector<RunCupRow> cups;  ///< empty when nothing is coloured; add up exactly to mix
  /// Seconds of work since the first morning; nothing when the run has no hours. `out` is when its last piece
  /// is taken out of the mold.
  std::optional<Duration> start, poured, out;
  std::optional<Duration>
      spare;  ///< of the working time, when the last mold is full; nothing without a limit
};

/// What all batches need of one material, and the packs that cover what the shelf lacks at the lowest price.
struct ShoppingRow {
  std::string name;
  PartKind kind = PartKind::liquid;
  Mass need, stock, buy;  ///< buy: what the stock lacks
  struct Pack {
    Mass size;
    std::int64_t count = 0;
  };
  std::vector<Pack> packs;
  std::optional<Amount> cost;
};

/// What could be made without buying anything.
struct FromStock {
  int batches = 0;  ///< the first so many, in pouring order
  struct Row {
    std::string name;
    std::int64_t pieces = 0;  ///< of this one alone
  };
  std::vector<Row> pieces;
};

/// The plan, its proof (`plan.lower_bound`, `plan.batches_proven`), and what follows from it.
struct RunReport {
  std::string title;
  Mass scale_step;
  RunOrder order;
  RunPlan plan;
  std::vector<RunBatchRow> batches;  ///< in pouring order
  std::vector<ShoppingRow> shopping;
  std::optional<FromStock> from_stock;  ///< nothing when no stock of liquid and powder is known
  Currency currency;
  int start_minute = 8 * 60;  ///< of the day
  std::string workshop;       ///< folder of the one that was used; empty: none
  std::vector<std::string> cautions;
  Notes notes;
  std::vector<CardReport::Failure> errors;  ///< molds that could not be measured; their pieces are left out
};

std::string run_text(const RunReport& report, const TextStyle& style);
std::string run_json(const RunReport& report);
/// The day plan as a picture: hands above, a row for every mold, time from left to right, one day below the
/// other. Empty when the run has no hours.
std::string run_svg(const RunReport& report);

/// What a line was worked out from.
struct PriceBasis {
  PriceItem item;
  std::size_t material = 0;  ///< index into PriceReport::materials
  std::int64_t surplus = 0;  ///< good pieces made beyond those that are wanted, charged to them or not
};

/// The list and everything it came from, so that the spreadsheet can show the way from one to the other.
struct PriceReport {
  std::string title;
  PriceTerms terms;
  PriceList list;
  std::vector<PriceBasis> basis;  ///< by line
  std::vector<PriceMaterial> materials;
  struct Change {
    std::string what;  ///< as given: "powder.price=1.30"
  };
  std::vector<Change> changes;
  std::string workshop;                ///< folder of the one that was used; empty: none
  std::optional<PriceList> unchanged;  ///< the list without the changes, when there are any
  std::optional<Money> to_buy;  ///< the packs of the order's shopping list, as far as they have a price
  Notes notes;
  std::vector<CardReport::Failure> errors;
};

std::string price_text(const PriceReport& report, const TextStyle& style);
std::string price_json(const PriceReport& report);
/// A spreadsheet whose prices follow from its inputs by formulas; the bytes of an .xlsx file, the same for
/// the same report. Names stay words whatever they begin with. Fails with output_failed where there is no
/// room for the temporary files that it is packed from.
Expected<std::string> price_xlsx(const PriceReport& report);

}  // namespace pourwright

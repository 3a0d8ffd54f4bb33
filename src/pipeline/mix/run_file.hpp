// SPDX-License-Identifier: GPL-3.0-or-later
// A run file as it is written: what is wanted, what the workshop has. The format is described in docs/run.md.
#pragma once

#include <pourwright/pipeline_run.hpp>
#include <pourwright/price.hpp>
#include <pourwright/recipe.hpp>
#include <pourwright/run.hpp>

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright::run_file {

struct Mold {
  std::string key, name;
  std::string file;             ///< mesh, relative to the run file; or
  std::optional<Volume> holds;  ///< one pour, or
  std::optional<Mass> mix;      ///< one pour as it is weighed, allowance included
  MoldReading how;
  int copies = 1;
  int pieces = 0;  ///< of one pour; 0: as many as cavities are filled
  std::optional<Duration> demold, pour, handling;
  int places = 1;                               ///< it takes of a shelf that is counted
  std::optional<std::array<Length, 2>> stands;  ///< width and depth; nothing: as the mesh has it
  Amount cost;
  int pulls = 0;
};

struct Piece {
  std::string name, mold, material, colour, order;
  std::vector<PigmentDose> accents;  ///< colours beside the base, as shares of the piece
  Ratio leftovers;                   ///< share that old cast pieces take up
  int wanted = 1;
  std::optional<Duration> finishing;
  std::optional<Amount> packaging, shipping;  ///< nothing: what [price] says
  std::optional<Ratio> markup, margin;
};

struct Colour {
  std::string name;
  Ratio dose;  ///< pigment in a cup of this colour
};

struct Supply {
  std::string name;
  std::optional<Mass> stock;
  std::vector<PackSize> packs;
  std::vector<PackSize> bought;  ///< what was paid so far
  std::optional<Amount> price_per_kilogram;
  std::optional<Amount> paid;  ///< for a kilogram on average, as the ledger has it
};

struct File {
  std::string label;
  std::filesystem::path folder;
  std::string title, material, workshop;
  std::optional<Reading> read_as;  ///< of every mold that does not say it itself
  std::optional<Temperature> room;
  std::vector<std::string> colour_order;
  std::optional<Ratio> allowance;
  std::optional<Mass> scale_step;
  RunLimits limits;                           ///< bucket and scale zero when not said
  std::vector<std::array<Length, 2>> boards;  ///< of the shelf, when it is measured and not counted
  Duration pour = Duration(40), handling = Duration(60);
  int start_minute = 8 * 60;
  std::vector<Mold> molds;
  std::vector<Piece> pieces;
  std::vector<Colour> colours;
  std::vector<Supply> supplies;
  std::optional<PriceTerms> terms;
  Amount packaging, shipping;    ///< of a piece that says nothing else
  bool surplus_charged = false;  ///< pieces made beyond those wanted are paid by those
  Currency currency;
  bool currency_given = false;
};

/// Errors name line and column, the unknown key and the nearest known one.
Expected<File> parse(std::string_view text, std::string_view label);

}  // namespace pourwright::run_file

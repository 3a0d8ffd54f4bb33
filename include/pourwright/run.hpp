// SPDX-License-Identifier: GPL-3.0-or-later
// A production run: which pieces go into which batch, in which order, and when each mold is free again.
// Everything is counted in whole steps and whole seconds; the search is deterministic and limited by work,
// never by a clock.
#pragma once

#include <pourwright/material.hpp>
#include <pourwright/money.hpp>
#include <pourwright/units.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

// ---- packing: the fewest batches, with a proof ---------------------------------------------------------

/// Something of which every batch has only so much: grams in the bucket, seconds of working time, copies of a
/// mold.
struct PackResource {
  std::int64_t capacity = 0;
  std::vector<std::int64_t> uses;         ///< of one piece, by kind
  std::vector<std::int64_t> extras = {};  ///< of each extra in the batch, by number; empty: none uses any
};

/// Pieces that are alike are one kind. What must not meet in a batch (two base colours) is two problems. An
/// extra is what a batch needs once as soon as one of its pieces calls for it, however many do: the cup of an
/// accent, with what stays in it and the time to fill it.
struct PackProblem {
  std::vector<int> counts;  ///< by kind
  std::vector<PackResource> resources;
  std::vector<std::vector<int>> calls = {};  ///< by kind: the extras it calls for; empty: no kind calls
};

struct PackOptions {
  /// Elementary steps (table cells, pivots) before the search gives up improving; 1 to 3 thousand millions a
  /// second.
  std::int64_t work_limit = 8'000'000'000;
};

/// Pieces of one kind in a bin.
struct Placed {
  int kind = 0;
  int count = 0;
  bool operator==(const Placed&) const = default;
};

struct Packing {
  std::vector<std::vector<Placed>> bins;  ///< by rising kind; no bin is empty
  int lower_bound = 0;                    ///< no packing has fewer bins; by integer arithmetic alone
  std::int64_t work = 0;                  ///< steps taken; the same on every machine
  bool proven() const { return static_cast<int>(bins.size()) == lower_bound; }
};

/// Vector bin packing. Exact for a few hundred pieces: bounds, greedy filling, then a tree search over
/// patterns that is guided by the linear relaxation of Gilmore and Gomory, whose bound is confirmed in whole
/// numbers. Fails when a piece with its extras does not fit into an empty bin, a number is negative or above
/// 10^13, or there are more than 20,000 pieces. Above 400 kinds only the quick bounds and the greedy filling
/// are used.
Expected<Packing> pack(const PackProblem& problem, const PackOptions& options = {});

// ---- the plan: batches, their order, and the hours ----------------------------------------------------

/// A colour in the bucket. Bases stand from light to dark; pieces of two bases never share a batch.
struct RunBase {
  std::string name;
  Duration working_time;  ///< from the powder going in to the last pour; zero: no limit
};

struct RunMold {
  std::string name;
  int copies = 1;
  Duration demold;         ///< from the end of the pour until the piece may come out
  Duration handling;       ///< taking one piece out and cleaning its mold
  std::int64_t place = 1;  ///< of the shelf, while it sets
};

/// One filling of one mold, wanted `count` times.
struct RunPour {
  std::string name;
  std::string order;  ///< whose it is; empty: nobody's
  int base = 0;
  int mold = -1;                  ///< -1: never short of molds, nothing to demold
  std::vector<std::string> cups;  ///< colours that are split off the bucket for it
  Mass mix;
  int count = 1;
  Duration pour;
  Duration finishing = {};  ///< of what one filling gives, once it is out of the mold
};

/// Hours in which nobody works, of every day, counted from its start.
struct RunBreak {
  Duration from, to;
};

struct RunLimits {
  Mass bucket;                 ///< largest batch that can be mixed
  Mass scale;                  ///< largest batch that can be weighed; zero: no limit
  Mass bucket_residue;         ///< what stays in the bucket of every batch
  Mass cup_residue;            ///< what stays in every cup that is split off
  std::int64_t shelf = 0;      ///< where filled molds stand, in the unit of their places; 0: no limit
  Duration weigh, mix;         ///< of a batch
  Duration split;              ///< of a cup
  Duration rinse, wash;        ///< of the bucket: before the same or a darker base, before a lighter one
  Duration day;                ///< hours of work in a day; zero: the run is one long day
  bool never_lighter = false;  ///< from light to dark once, however long the day gets
  Ratio reserve = {};          ///< of the working time, what every batch leaves of it
  Duration night = {};  ///< from the end of a day to the start of the next; what is poured goes on setting
  std::vector<RunBreak> breaks = {};  ///< rising, apart; nothing is begun that would last into one
};

struct RunOrder {
  std::vector<RunBase> bases;
  std::vector<RunMold> molds;
  std::vector<RunPour> pours;
  RunLimits limits;
};

struct RunBatch {
  int base = 0;
  std::vector<Placed> pours;      ///< kind: index into RunOrder::pours
  std::vector<std::string> cups;  ///< in the order in which the pours name them
  Mass poured;                    ///< into molds
  Mass residue;                   ///< stays in bucket and cups
};

enum class RunWork : std::uint8_t { weigh, mix, split, pour, clean, demold, finish };

/// What the one pair of hands does. Times are seconds since the first morning: day d (from 0) lasts from d
/// times the day's length, breaks included; the nights between are not counted.
struct RunTask {
  RunWork work = RunWork::weigh;
  int batch = 0;  ///< index into RunPlan::batches
  int pour = -1;  ///< demold, finish: which pieces
  int count = 0;  ///< demold: how many; finish: how many are done at the end of it, 0 when one is only begun
  Duration from, to;
};

/// A limit, and what the run would gain if there were more of it.
struct RunAdvice {
  std::string limit;  ///< "bucket", "scale", "working time", "shelf", "molds", "colour order"
  int mold = -1;      ///< molds: which
  int more = 0;       ///< molds: how many more
  int batches_saved = 0;
  Duration time_saved;  ///< working hours
  int days_saved = 0;
};

struct RunPlan {
  std::vector<RunBatch> batches;  ///< in pouring order
  int lower_bound = 0;            ///< of the number of batches
  bool batches_proven = false, waste_proven = false, day_proven = false;
  Mass residue;
  std::vector<RunTask> tasks;  ///< in order of time; empty when nothing takes time
  Duration finish;             ///< last piece out and finished, last bucket clean
  int days = 1;
  std::vector<RunAdvice> advice;
};

struct RunOptions {
  PackOptions pack;
  int search = 20'000;  ///< plans compared before the best is taken
  bool advise = true;
};

/// The plan with the fewest batches; of those with the least residue; of those that are done soonest; of
/// those that go back to a lighter base least often; of those with the fewest orders spread over batches. The
/// number of batches is exact when `batches_proven`; small runs are compared exhaustively, larger ones
/// improved step by step. A batch has room and time for the cups of its own pieces. Fails when one pour alone
/// passes a limit, or an index or number is senseless.
Expected<RunPlan> plan_run(const RunOrder& order, const RunOptions& options = {});

// ---- what to buy --------------------------------------------------------------

struct PackChoice {
  std::vector<std::int64_t> counts;  ///< by pack size
  Mass bought;
  std::optional<Amount> cost;  ///< when every size has a price
};
/// The packs that cover `need` at the least cost; of those the least mass, then the fewest packs. Without
/// prices the least mass. Exact up to 200,000 units of the sizes' greatest common divisor; of more, the
/// bulk is bought in the size with the lowest price per gram. Sizes are positive; without any the choice is
/// empty.
PackChoice cheapest_packs(Mass need, const std::vector<PackSize>& sizes);

}  // namespace pourwright

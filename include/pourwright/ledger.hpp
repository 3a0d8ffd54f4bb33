// SPDX-License-Identifier: GPL-3.0-or-later
// What a workshop has measured, kept in one SQLite file. Records are only ever added; a mistaken one is
// withdrawn by a further record. The clock and the file's place are the caller's: nothing here reads either
// by itself.
//
// Laws. A record has a number, which is never given twice, and never changes. What `add` has returned
// survives a killed process and a power cut as far as the disk keeps its word (SQLite with full
// synchronisation). Whoever is interrupted leaves the file as it was. Two programs may write at once; one
// waits. An export that is imported into an empty file gives the same records.
//
// Units: masses are whole micrograms in memory and grams in exports; volumes are kept in millilitres.
// Errors: ledger_busy (try again), ledger_full, ledger_unwritable, ledger_corrupt, ledger_too_new,
// record_unknown and record_invalid. Every record is checked by `implausible` before it is kept and when it
// is read from an export.
#pragma once

#include <pourwright/material.hpp>
#include <pourwright/money.hpp>
#include <pourwright/units.hpp>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace pourwright {

/// Seconds since 1970-01-01 00:00 UTC.
using Moment = std::int64_t;
/// "2026-10-12T09:30:00Z"; years 1970 to 9999.
std::string moment_text(Moment at);
Expected<Moment> parse_moment(std::string_view text);

/// A mold filled with water to its brim and weighed.
struct WaterFill {
  std::string mold;
  std::string content;  ///< key of the mesh file's bytes; empty when the mold was only named
  Mass water;
  Temperature temperature;
  Mass scale_step;  ///< zero: not said
  std::string note;
  bool believed = false;  ///< right, however far it lies from what was expected
  bool operator==(const WaterFill&) const = default;
};

/// A cup of known volume filled with fresh mix and weighed: the density of what is poured, air included.
struct DensityCup {
  std::string mix;  ///< the mix's key
  Volume volume;
  Mass mass;
  Mass scale_step;
  std::string note;
  std::string lot = {};  ///< of the powder; empty: not said
  bool believed = false;
  bool operator==(const DensityCup&) const = default;
};

/// Copies of one mold, by name and by the content of its file.
struct PouredMold {
  std::string mold, content;
  int copies = 1;
  bool operator==(const PouredMold&) const = default;
};

/// One batch mixed and poured. `mixed - left` went into the molds and stayed in the cups.
struct TestPour {
  std::vector<PouredMold> molds;
  std::string mix;
  Ratio ratio;
  Mass mixed, left;
  int cups = 1;            ///< that it was mixed and poured in: each keeps its own residue
  bool ran_short = false;  ///< the molds were not full: they needed at least what was mixed
  std::optional<Temperature> room;
  Mass scale_step;
  std::string defects, note;
  std::string lot = {};  ///< of the powder; empty: not said
  bool believed = false;
  bool operator==(const TestPour&) const = default;
};

/// What was weighed for one job, in enough detail to do it again: nothing else is needed, not even the
/// catalogue it was made from, which may have changed since.
struct BatchSheet {
  struct Amount {
    std::string name;
    std::optional<PartKind> kind;  ///< nothing in sheets that were kept before kinds were
    Mass mass;
    bool operator==(const Amount&) const = default;
  };
  struct Mold {
    std::string mold;
    int copies = 1;
    Mass mix;  ///< for all copies
    bool operator==(const Mold&) const = default;
  };
  struct Dose {
    std::string pigment;
    Ratio dose;
    bool operator==(const Dose&) const = default;
  };
  struct Cup {
    std::string name;
    Ratio share;
    Mass mix;
    std::vector<Dose> doses;
    bool operator==(const Cup&) const = default;
  };
  /// One technique of a split, so that it can be laid out again in another size.
  struct Step {
    std::string name, technique;
    std::vector<Ratio> shares;  ///< of its cups, which follow one another in `cups`
    Mass plain;                 ///< taken from the bucket
    bool all = false;           ///< that was all there was
    bool carry = false;         ///< went on with what the step before left
    Mass pour;                  ///< what was to be poured; zero: all of it
    int portions = 0;           ///< layers or drops; zero: as usual
    Duration time;              ///< zero: as usual
    bool operator==(const Step&) const = default;
  };
  std::string title;
  std::string mix;  ///< key
  Ratio ratio;
  Density density;
  Ratio allowance;
  Mass scale_step;
  std::optional<Temperature> room;
  std::vector<Amount> parts;
  std::vector<Mold> molds;
  std::vector<Cup> cups;
  std::vector<Step> steps;  ///< none: cups alone
  Mass residue;             ///< of every cup, where there are steps
  Duration mixing;          ///< until the first of them
  std::string dry_colour;   ///< how it looked once dry
  std::string note;
  bool operator==(const BatchSheet&) const = default;
};

/// Material that came in, was used up, or was weighed as it stands on the shelf. What a pour takes is known
/// from its own record.
struct StockChange {
  enum class Kind : std::uint8_t { bought, used, counted };
  std::string supply;  ///< as recipes call it: a liquid, a powder, a pigment
  Kind kind = Kind::bought;
  Mass mass;
  std::optional<Amount> cost;  ///< bought: what was paid for it
  std::string currency;        ///< of the cost
  std::string note;
  bool operator==(const StockChange&) const = default;
};
std::string_view name(StockChange::Kind kind);

/// Another lot of a powder is open from now on: what was learned of the density holds for the one before.
struct LotOpened {
  std::string supply;  ///< as recipes call it
  std::string lot;
  std::string note;
  bool operator==(const LotOpened&) const = default;
};

/// Takes an earlier record out of every estimate. The record itself stays.
struct Withdrawal {
  std::int64_t record = 0;  ///< its number; in add_all, -n is the n-th of the records added together
  std::string why;
  bool operator==(const Withdrawal&) const = default;
};

using What = std::variant<WaterFill, DensityCup, TestPour, Withdrawal, BatchSheet, StockChange, LotOpened>;
/// The words of `Query::kind` and of the exports, in the order of What.
inline constexpr std::string_view kind_names[] = {"water", "cup",   "pour", "withdrawal",
                                                  "sheet", "stock", "lot"};

/// What is kept. Withdrawn records stay and are left out of queries unless asked for.
struct Record {
  std::int64_t id = 0;
  Moment at = 0;
  What what;
  bool withdrawn = false;
};
/// What is to be kept.
struct NewRecord {
  Moment at = 0;
  What what;
};

/// Which records; those left empty do not restrict.
struct Query {
  std::string kind;  ///< one of kind_names
  // A question that no index answers is refused, so that no ledger is too long for it.
  std::string mold;                   ///< needs kind "water" or "pour"
  std::string mix;                    ///< needs kind "cup", "pour" or "sheet"
  std::string supply;                 ///< needs kind "lot"
  std::string text;                   ///< somewhere in a sheet; needs kind "sheet"
  std::int64_t after = 0;             ///< ids above this
  std::optional<Moment> from, until;  ///< from <= at < until
  std::size_t limit = 200;
  bool oldest_first = false;
  bool withdrawn_too = false;
};

/// One file, open. Movable, not shared between threads. The file is SQLite with an application number of its
/// own; its tables and their versions are in src/workshop/ledger/schema.cpp.
class Ledger {
 public:
  /// Opens the file for reading and adding; creates it when missing and brings older versions up to date,
  /// each in one transaction. A damaged or foreign file is refused and left as it is.
  static Expected<Ledger> open(const std::filesystem::path& file);
  /// Opens an existing file of the present version without ever writing records.
  static Expected<Ledger> open_to_read(const std::filesystem::path& file);
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;
  ~Ledger();

  /// Adds one record and returns its number. Once it returns, the record survives a killed process.
  Expected<std::int64_t> add(Moment at, const What& what);
  /// Adds all or none.
  Expected<std::vector<std::int64_t>> add_all(const std::vector<NewRecord>& records);
  /// Each kind is found through an index, so the answer takes time in the records returned, not in those
  /// kept.
  Expected<std::vector<Record>> records(const Query& query) const;
  Expected<Record> record(std::int64_t id) const;
  Expected<std::int64_t> count() const;
  /// Reads every page. Nothing when the ledger is whole.
  std::optional<Problem> check() const;

  class Store;

 private:
  explicit Ledger(std::unique_ptr<Store> store);
  std::unique_ptr<Store> store_;
};

/// Why a record cannot be true, or nothing: a mass of nothing or above 1000 t, more left than was mixed, a
/// temperature at which water is no liquid, a text that is too long or holds control characters. O(size of
/// the record).
std::optional<Problem> implausible(const What& what);

/// Every record with its number, in order. One JSON document; one CSV table (RFC 4180, UTF-8). O(records),
/// all in memory: a workshop that pours ten times a day has 40,000 in ten years.
Expected<std::string> export_json(const Ledger& ledger);
Expected<std::string> export_csv(const Ledger& ledger);

struct Imported {
  std::size_t added = 0;
  std::size_t known = 0;  ///< left out, because the same record is there already
};
/// Adds what an export holds and the ledger does not; all or nothing. Importing twice adds nothing. Equal is
/// equal in time and in every field; numbers are given anew. O(records in both).
Expected<Imported> import_json(Ledger& ledger, std::string_view text);
Expected<Imported> import_csv(Ledger& ledger, std::string_view text);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Errors and notes as values. Libraries return them; only the shells turn them into words and exit codes.
//
// A Problem prevented a result; a Note travels with one. Both have a code that programs rely on: a kebab-case
// word that is never renamed. What a code means in general is explained once (a problem's in
// src/units/problem.cpp, a note's in src/report/notes.cpp); the text beside it says what it means here, with
// the place and the numbers. A test reads the sources: every code that is emitted is explained, and every one
// that is explained is emitted.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace pourwright {

/// Every cause the program can name. A further one is a line here, a line at the same place of that table,
/// and the renewed docs/error_codes.md. The order groups them by stage; the slugs and the long texts that
/// `explain` prints live in one table in src/units/problem.cpp.
enum class Code : std::uint8_t {
  // the command line and configuration
  usage,               ///< words that no command or option takes
  bad_number,          ///< not a number, or with a thousands separator
  bad_quantity,        ///< a number in the wrong unit, or beyond what is poured
  unknown_name,        ///< no mix, pigment, command or currency of that name
  config_missing,      ///< a workshop or run file that is not there
  config_syntax,       ///< not TOML
  config_unknown_key,  ///< a key nobody reads; the nearest is named
  config_bad_value,    ///< a key whose value cannot be
  // files
  file_missing,     ///< nothing at that path
  file_unreadable,  ///< no permission, a device, a folder
  nothing_found,    ///< a folder without a mesh
  output_exists,    ///< would be overwritten; --force
  output_failed,    ///< could not be written whole; what was there stays
  // intake
  format_unknown,         ///< content and name are no mesh we know
  format_switched_off,    ///< one of the further formats; --more-formats
  format_not_built,       ///< this build cannot read it
  file_empty,             ///< no byte
  file_truncated,         ///< ends in the middle
  file_malformed,         ///< against the rules of its format
  index_out_of_range,     ///< a corner that is not in the file
  coordinate_not_finite,  ///< NaN, infinity, or beyond a double
  too_large,              ///< more than the limits of reading
  no_triangles,           ///< points or lines only
  reader_failed,          ///< the child that reads further formats ended
  // solid
  not_closed,         ///< open edges that could not be closed
  not_oriented,       ///< sides of the surface disagree
  overlaps_itself,    ///< bodies that could not be united
  shells_contradict,  ///< shells inside each other with the same side out
  no_volume,          ///< everything lies in a plane
  too_uncertain,      ///< wider than --max-uncertainty
  // cavity
  reading_in_doubt,   ///< a mold as likely as a piece; --read-as
  holds_nothing,      ///< no cavity in this position
  fill_out_of_range,  ///< a level above the brim or below the floor
  // recipe
  amount_not_positive,   ///< nothing to weigh
  pigment_over_ceiling,  ///< more than the mix bears
  shares_invalid,        ///< cups that do not add up
  // run and price
  does_not_fit,      ///< one piece larger than the bucket
  price_impossible,  ///< fees and margin leave nothing
  // ledger
  ledger_busy,        ///< another program writes; try again
  ledger_full,        ///< no room on the disk
  ledger_unwritable,  ///< no permission
  ledger_corrupt,     ///< its checks do not agree
  ledger_too_new,     ///< written by a later version
  record_unknown,     ///< no record of that number
  record_invalid,     ///< cannot be, or is there already
  // run limits and our own bugs
  time_limit,    ///< --time-limit of one file
  memory_limit,  ///< --memory-limit of one file, or the machine's
  internal,      ///< our own bug; please report it
};

/// What kind of failure a code is; the shells map it to an exit status (sysexits.h, and docs/manual.md), and
/// the cache keeps only answers that the content of a file decides: bad_data.
enum class Kind : std::uint8_t {
  usage,          ///< 64
  bad_data,       ///< 65
  input_missing,  ///< 66
  not_installed,  ///< 69
  internal,       ///< 70
  cannot_create,  ///< 73
  io,             ///< 74
  config,         ///< 78
  limit,          ///< 124, 137 or 2
  temporary,      ///< 75
};

struct CodeInfo {
  Code code;
  std::string_view slug;  ///< stable word, e.g. "not-closed"; never renamed
  Kind kind;
  std::string_view explain;  ///< the long text of `explain`
};

/// O(1). Every code has an entry.
const CodeInfo& info(Code code);
/// All codes in stage order.
std::span<const CodeInfo> all_codes();

/// What went wrong, where, and what to do about it. Three short sentences a person can act on. Lower case and
/// without a full stop, because the shells put them into a line of their own.
struct Problem {
  Code code = Code::internal;
  std::string text;  ///< what is wrong, with the place when there is one
  std::string hint;  ///< what to do; may be empty
};

/// What a note is about, for reports that give a subject a place of its own.
enum class Topic : std::uint8_t {
  general,
  unit,
  reading,  ///< what was taken to be cast
  mending,
  walls,    ///< walls and release in short
  ratio,    ///< how far rounding moved it
  limit,    ///< what more room in a limit would save
  pigment,  ///< of one cup
};

/// Something that was assumed, changed or noticed while a result was made. Data, not output: nothing may
/// depend on its code or text, and a stage never reads another stage's notes. A warning is what `--strict`
/// turns into exit code 1.
struct Note {
  std::string code;  ///< stable kebab-case word
  std::string text;  ///< one sentence
  bool warning = false;
  Topic topic = Topic::general;
  std::string brief = {};  ///< the sentence without what is true of one file alone; empty: the same
};
using Notes = std::vector<Note>;

/// A result or the Problem that prevented it. Test it, then use `*`, `->` or `error()`; the wrong one of the
/// two throws, which is a bug of ours.
template <class T>
class [[nodiscard]] Expected {
 public:
  Expected(T value) : state_(std::in_place_index<0>, std::move(value)) {}  // NOLINT: implicit on purpose
  Expected(Problem problem) : state_(std::in_place_index<1>, std::move(problem)) {}  // NOLINT
  bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }
  T& operator*() & { return std::get<0>(state_); }
  const T& operator*() const& { return std::get<0>(state_); }
  T&& operator*() && { return std::get<0>(std::move(state_)); }
  T* operator->() { return &std::get<0>(state_); }
  const T* operator->() const { return &std::get<0>(state_); }
  const Problem& error() const { return std::get<1>(state_); }

 private:
  std::variant<T, Problem> state_;
};

/// `return fail(Code::not_closed, "…", "…");`
inline Problem fail(Code code, std::string text, std::string hint = {}) {
  return Problem{code, std::move(text), std::move(hint)};
}

}  // namespace pourwright

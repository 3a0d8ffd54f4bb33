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
  usage,
  bad_number,
  bad_quantity,
  unknown_name,
  config_missing,
  config_syntax,
  config_unknown_key,
  config_bad_value,
  // files
  file_missing,
  file_unreadable,
  nothing_found,
  output_exists,
  output_failed,
  // intake
  format_unknown,
  format_switched_off,
  format_not_built,
  file_empty,
  file_truncated,
  file_malformed,
  index_out_of_range,
  coordinate_not_finite,
  too_large,
  no_triangles,
  reader_failed,
  // solid
  not_closed,
  not_oriented,
  overlaps_itself,
  shells_contradict,
  no_volume,
  too_uncertain,
  // cavity
  reading_in_doubt,
  holds_nothing,
  fill_out_of_range,
  // recipe
  amount_not_positive,
  pigment_over_ceiling,
  shares_invalid,
  // run and price
  does_not_fit,
  price_impossible,
  // ledger
  ledger_busy,
  ledger_full,
  ledger_unwritable,
  ledger_corrupt,
  ledger_too_new,
  record_unknown,
  record_invalid,
  // run limits and our own bugs
  time_limit,
  memory_limit,
  internal,
};

/// What kind of failure a code is; the shells map it to an exit status (sysexits.h, and docs/manual.md), and
/// the cache keeps only answers that the content of a file decides: bad_data.
enum class Kind : std::uint8_t {
  usage,
  bad_data,
  input_missing,
  not_installed,
  internal,
  cannot_create,
  io,
  config,
  limit,
  temporary,
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

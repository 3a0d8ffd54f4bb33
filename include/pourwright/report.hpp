// SPDX-License-Identifier: GPL-3.0-or-later
// Results as plain values, and their rendering: text for the bench, JSON for programs. Nothing here knows a
// triangle or opens a file; both wings can be reported on without the other.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/material.hpp>
#include <pourwright/recipe.hpp>
#include <pourwright/split.hpp>
#include <pourwright/units.hpp>

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// Everything `measure` knows of one file.
struct MeasureRow {
  std::string path;  ///< bytes as given
  LengthUnit unit = LengthUnit::mm;
  UnitFrom unit_from = UnitFrom::assumed;
  std::size_t triangles = 0, shells = 0;     ///< as read
  bool closed = false;                       ///< as read
  std::optional<Decision<Reading>> reading;  ///< nothing: it did not come to that
  Point up{0, 0, 1};
  std::optional<std::array<Point, 2>> bounds;
  struct Body {
    Interval<Volume> volume;
    std::optional<Area> area;  ///< nothing: only the volume could be told
  };
  std::optional<Body> solid;
  std::vector<Cavity> cavities;
  std::optional<Interval<Volume>> fill;      ///< in the filled cavities at the level asked for
  std::optional<std::vector<Drain>> drains;  ///< nothing: neither drains nor air traps were looked for
  std::optional<Ceiling> ceiling;
  std::vector<TiltLoss> tilt;
  std::vector<Mended> mended;
  std::vector<Alternative> doubt;  ///< what else the file could be; empty when that is sure
  Notes notes;
  std::optional<Problem> error;

  bool ok() const { return !error.has_value(); }
  bool read_as(Reading r) const { return reading && reading->chosen == r; }
};

struct MeasureReport {
  std::vector<MeasureRow> files;
};

/// One mold on the pour card.
struct CardMold {
  std::string path;
  bool by_name = false;  ///< there is no file: `path` is the mold's name
  int copies = 1;
  Interval<Volume> fill;  ///< of one copy
  MoldRow weighed;        ///< of all copies, on the scale's step
  std::string level;      ///< "to the brim", "to 2 mm below the brim", "the piece's own volume", …
  std::string how;        ///< the same with number of cavities and depth: "to the brim, 38 mm deep"
  Notes notes;            ///< assumptions and warnings of this file
  /// What each cavity of one copy takes, without what is added; of molds with several.
  struct Share {
    int cavity = 0;
    Mass mix;
  };
  std::vector<Share> shares;
  std::vector<TiltLoss> tilt;  ///< what a bench that is not level costs
  Notes bench;                 ///< the same in words
  struct Table {
    int cavity = 0;
    Length floor;
    std::vector<FillMark> marks;
  };
  std::vector<Table> fill_tables;  ///< when asked for
};

/// What the parts of a batch cost. `missing` are those without a price; they are not in the total.
struct BatchCost {
  Currency currency;
  Money total;
  std::vector<std::string> missing;
};

/// How likely a batch runs short: what stays in the cups and how pours scatter are counted.
struct RunningShort {
  double chance = 0;        ///< of the batch as weighed
  Ratio stated;             ///< that was asked for
  bool fixed = false;       ///< the allowance is a share that the user set
  Mass expected, residue;   ///< what the batch will need, and of that what stays in the cups
  int pours = 0, cups = 0;  ///< records it rests on; none: common practice
  bool covered() const { return chance <= stated.value() * 1.001; }
};
/// "1 time in 100", "1 time in 4", "more often than not"
std::string chance_text(double chance);

/// A file of which it is not clear what is cast: each answer with what it would take. Nothing of it is in the
/// card's total.
struct Question {
  struct Answer {
    std::string says;    ///< "a mold", "the piece itself", "a mold, standing with +y up"
    std::string option;  ///< what settles it: "--read-as mold"
    Interval<Volume> fill;
    Recipe recipe;  ///< for all copies, on the scale's step
  };
  std::string path;
  int copies = 1;
  double doubt = 0;              ///< chance that the first answer is wrong
  std::vector<Answer> answers;   ///< at least two, the likelier first
  std::vector<std::string> why;  ///< the evidence, a phrase each
  bool refused = false;          ///< nobody can answer: it is among the errors too
};

struct CardReport {
  Mix mix;
  Mass scale_step;
  std::string scale;                          ///< its name; empty: not known
  Ratio allowance;                            ///< added to what the molds hold, as a share of it
  std::optional<RunningShort> running_short;  ///< nothing: no mold could be weighed
  std::vector<CardMold> molds;
  std::vector<Question> questions;
  Recipe total;
  std::vector<std::string> cautions;
  std::optional<BatchCost> cost;
  Habits habits;
  Notes notes;  ///< of the whole tray
  struct Failure {
    std::string path;
    Problem problem;
  };
  std::vector<Failure> errors;
};

/// One batch without a mold. Masses are whole steps of the scale; the recipe's parts add up to its mix.
struct MixReport {
  Mix mix;
  Mass scale_step;
  std::string scale;  ///< its name; empty: not known
  Recipe recipe;
  std::vector<std::string> cautions;
  std::optional<BatchCost> cost;
};

/// What the page can show. Renderers read nothing else of the terminal: the shells have asked it.
struct TextStyle {
  int width = 80;
  bool colour = false;
  bool unicode = true;  ///< large digits and rules; plain ASCII otherwise
  char decimal = '.';
  bool us = false;       ///< ounces beside grams
  std::string workshop;  ///< said in titles: one that was not named by the command; empty: nothing is said
  /// The reader has seen these cautions in full today: one line says where they are.
  bool cautions_known = false;
};

// Pages for a person. Each is O(size of the report), at most `width` cells wide where names allow, and ends
// with a line break. Names from outside are made harmless in them.
std::string measure_text(const MeasureReport& report, const TextStyle& style, bool fill_tables = false);
std::string card_text(const CardReport& report, const TextStyle& style);
std::string mix_text(const MixReport& report, const TextStyle& style);
std::string mixes_text(const Catalogue& catalogue, const TextStyle& style);
std::string explain_text(std::string_view code, std::string_view explain, const TextStyle& style);

/// Words from outside (names, messages about them) made fit for a terminal: nothing in them can steer it, and
/// without Unicode the signs used here get their plain spelling.
std::string for_terminal(std::string_view text, bool unicode);

/// JSON documents, one line break at the end. Numbers are finite, keys carry units, grams are exact decimals,
/// a missing thing is null; every weighed part carries its kind beside its name. The schemas are in
/// docs/schema/ and tested against the built program; a key is never renamed within a schema number.
std::string measure_json(const MeasureReport& report);
std::string card_json(const CardReport& report);
std::string mix_json(const MixReport& report);
/// For a command that failed as a whole.
std::string problem_json(const Problem& problem);
std::string mixes_json(const Catalogue& catalogue);
/// `path` is empty when it was written nowhere.
std::string template_json(std::string_view path, std::string_view text);

/// Every note code with what it means, in alphabetical order; the codes of problems are in `all_codes()`. A
/// further note is pushed where it is noticed, explained in src/report/notes.cpp, and the page
/// docs/error_codes.md is renewed.
struct NoteInfo {
  std::string_view code;
  std::string_view explain;
};
std::span<const NoteInfo> all_notes();
/// What this build can do.
struct SelfDescription {
  std::string version;
  bool geometry = false;
  std::vector<std::string> formats;  ///< mesh formats with a reader of our own
  std::size_t mixes = 0;
  struct Workshop {
    std::string folder;
    bool remembered = false;         ///< by `setup`, not named by the command
    std::vector<std::string> mixes;  ///< that are its own, or that it has changed
    std::size_t pigments = 0, scales = 0, leftover_molds = 0, supplies = 0;
    std::string ledger;  ///< empty: nothing is recorded yet
    std::int64_t records = 0;
    std::optional<Problem> damage;  ///< of the ledger
  };
  std::optional<Workshop> workshop;  ///< the one asked about
};
std::string doctor_text(const SelfDescription& self);
std::string doctor_json(const SelfDescription& self);
std::string version_json(std::string_view version);
std::string completion_json(std::string_view shell, std::string_view script);

/// The codes given and what they mean.
std::string explain_json(const std::vector<NoteInfo>& codes);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What every command needs: the parsed line, how to show things, options read into settings, and refusals.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/pipeline_picture.hpp>
#include <pourwright/pipeline_split.hpp>

#include "cli/options.hpp"
#include "cli/run.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace pourwright::cli {

class Session {
 public:
  Session(const CommandLine& line, const Surroundings& around);

  const CommandLine& line() const { return line_; }
  const TextStyle& style() const { return style_; }
  /// Somebody looks at the result and can be asked; not a script, and not who wants no doubt (--strict).
  bool may_ask() const { return around_.output_is_terminal && !json() && !line_.has("strict"); }
  /// The same with the workshop's habits.
  TextStyle style_for(const Habits& habits) const;
  /// The same for a page with cautions, which are about to be shown: in full with --cautions, in whatever is
  /// no terminal, and where they were not shown today.
  TextStyle style_for(const Habits& habits, const std::vector<std::string>& cautions) const;
  /// For a report whose file named another workshop than the one that was found.
  void say_workshop(const std::string& used);
  std::int64_t now() const { return now_; }
  bool can_ask() const { return around_.ask != nullptr; }
  std::optional<std::string> ask(const std::string& question);
  /// A line between questions.
  void tell(const std::string& text);
  const std::string& home() const { return around_.home; }
  const std::string& config_folder() const { return around_.config_folder; }
  std::int64_t utc_offset() const { return utc_offset_; }
  bool json() const { return line_.has("json"); }

  /// Parses one option when it was given; the first problem is kept and `problem()` tells it.
  template <class T, class Parse>
  void read(std::string_view option, std::optional<T>& into, Parse parse) {
    const auto text = line_.get(option);
    if (!text || problem_) return;
    auto v = parse(*text);
    if (v)
      into = *v;
    else
      complain(option, v.error());
  }
  void complain(std::string_view option, const Problem& p);
  const std::optional<Problem>& problem() const { return problem_; }

  /// With the workshop that is named, lies beside the files, or is remembered; titles say one that was found.
  MixSettings mix_settings();
  /// The workshop for this command; a problem is kept as of an option.
  void find_workshop(MixSettings& settings);
  MeasureSettings measure_settings();
  /// The same with the cache, for commands that may be asked again for what they know.
  MeasureSettings remembering_settings();
  /// The files named on the line; fails when there is none.
  Expected<std::vector<FoundFile>> files() const;
  /// The same, where a mold without a file may be meant by its name.
  Expected<std::vector<FoundFile>> files_and_names(const MixSettings& settings) const;

  /// The message and, with --json, the document of a command that failed as a whole.
  Outcome refuse(const Problem& p) const;
  /// How a batch went.
  struct Tally {
    std::size_t files = 0;
    std::vector<std::pair<std::string, Problem>> failures;  ///< path and problem
    bool warned = false;
  };
  /// Exit code: a single file's own code, 1 for some of several, 1 for a warning if strict. Says the failures
  /// on standard error unless a text report does.
  void settle(Outcome& out, const Tally& tally) const;
  /// With --record: keeps the sheet that `make` builds for the title and says its number in `notes`.
  std::optional<Problem> keep_sheet(const MixSettings& settings,
                                    const std::function<BatchSheet(const std::string&)>& make,
                                    Notes& notes) const;
  /// Writes `text` to the file that the option names; an existing one only with --force.
  std::optional<Problem> write_where(std::string_view option, std::string_view text) const;
#ifdef POURWRIGHT_GEOMETRY
  /// Writes the pictures that --png and --svg ask for. A file without its picture is a failure of that file,
  /// unless it is one already.
  std::optional<Problem> write_pictures_of(const std::vector<FoundFile>& files, PictureSettings settings,
                                           Tally& tally) const;
#endif
  int strict(const Notes& notes) const;  ///< the exit code when nothing failed

 private:
  std::string said(const std::string& path, const Problem& p) const;

  const CommandLine& line_;
  TextStyle style_;
  std::int64_t now_ = 0, utc_offset_ = 0;
  std::string told_;           ///< goes before the next question
  std::string found_;          ///< folder of a workshop that was not named
  const Surroundings around_;  // a copy: callers may hand over a temporary
  std::optional<Problem> problem_;
};

// Readers of option values.
Expected<PigmentDose> parse_dose(const std::string& text);     ///< "Kelp=2%"
Expected<int> parse_count(const std::string& text);            ///< a whole number from 1 up
Expected<Duration> parse_time_limit(const std::string& text);  ///< "90s"
Expected<std::int64_t> parse_bytes(const std::string& text);   ///< "4GB"; a bare number is megabytes
Expected<Length> parse_wall(const std::string& text);          ///< above 0 to 1 m
Expected<Duration> parse_age(const std::string& text);         ///< above 0 to 30 days
/// A reader that accepts one of `words` and suggests the nearest.
inline auto one_of(std::vector<std::string> words) {
  return [words = std::move(words)](const std::string& text) -> Expected<std::string> {
    std::string all;
    for (const std::string& w : words) {
      if (w == text) return text;
      all += (all.empty() ? "" : ", ") + w;
    }
    const std::string_view near = nearest_name(text, words);
    return fail(Code::usage, "“" + text + "” is not one of " + all,
                near.empty() ? std::string() : "did you mean “" + std::string(near) + "”?");
  };
}
Problem stray(const std::string& word);  ///< a word where only options belong
bool has_warning(const Notes& notes);

}  // namespace pourwright::cli

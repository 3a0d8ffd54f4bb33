// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace pourwright::cli {

/// What the process around the program is like; `main` fills it in, tests set it.
struct Surroundings {
  bool output_is_terminal = false;
  int terminal_width = 80;
  bool utf8 = true;
  bool no_colour = false;       ///< NO_COLOR is set
  bool force_colour = false;    ///< CLICOLOR_FORCE is set
  bool comma = false;           ///< the locale's numbers have a decimal comma
  std::int64_t now = 0;         ///< seconds since 1970 UTC
  std::int64_t utc_offset = 0;  ///< of local time, in seconds
  std::string data_folder;      ///< for what the program keeps; empty: nowhere
  std::string config_folder;    ///< for what the program is told once; empty: nowhere
  std::string home;             ///< of the person; empty: not known
  std::string cache_folder;     ///< for what it can make again; empty: nowhere
  std::string state_folder;     ///< for what its reader has seen; empty: nowhere
  std::string build;            ///< told from every other build of the program
  /// Shows how far a folder is; only where somebody watches.
  std::function<void(std::size_t done, std::size_t all)> progress;
  /// Asks a person who sits there and gives the answer, or nothing at the end of the input; empty: nobody is
  /// there.
  std::function<std::optional<std::string>(const std::string& question)> ask;
  /// Where the work can be taken up again after an interruption, its command shall be said then.
  std::function<void(bool)> resumable;
};

struct Outcome {
  int exit_code = 0;
  std::string out;  ///< for standard output
  std::string err;  ///< for standard error
};

/// The whole program but for reading its surroundings and writing its output.
Outcome run(const std::vector<std::string>& words, const Surroundings& around);

}  // namespace pourwright::cli

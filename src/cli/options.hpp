// SPDX-License-Identifier: GPL-3.0-or-later
// Command lines to settings. One table describes every option: parsing, help, suggestions and completion read
// it.
#pragma once

#include <pourwright/problem.hpp>

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright::cli {

struct OptionInfo {
  std::string_view name;   ///< without the dashes
  std::string_view value;  ///< what it takes, "" for a switch
  std::string_view help;
  std::string_view commands;  ///< the commands it does something for, separated by blanks; "*" all
  std::string_view also =
      {};  ///< commands that take it without effect, so that one set of options serves several
};
std::span<const OptionInfo> option_table();

struct CommandInfo {
  std::string_view name;
  std::string_view arguments;
  std::string_view help;
  std::string_view examples;  ///< lines ready to paste
};
std::span<const CommandInfo> command_table();

/// A parsed command line.
struct CommandLine {
  std::string command;
  std::vector<std::string> arguments;                            ///< what is not an option
  std::multimap<std::string, std::string, std::less<>> options;  ///< name → value ("" for switches)
  /// The first word is neither a command nor a file: what to say unless it is the name of a mold.
  std::optional<Problem> unsure;

  bool has(std::string_view name) const { return options.find(name) != options.end(); }
  std::optional<std::string> get(std::string_view name) const;  ///< the last one given
  std::vector<std::string> all(std::string_view name) const;
};

/// `pourwright FILE…` is `pourwright card FILE…`. Suggests names for unknown commands and options.
Expected<CommandLine> parse_command_line(const std::vector<std::string>& words);

std::string help_text(std::string_view command);  ///< "" for the program as a whole

}  // namespace pourwright::cli

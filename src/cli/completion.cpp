// SPDX-License-Identifier: GPL-3.0-or-later
// Scripts that complete commands and options in a shell. They are made from the two tables of options.cpp,
// so a new option is completed the day it is added. Functions as bash, zsh and fish document them.
#include "cli/completion.hpp"

#include "cli/options.hpp"

#include <fmt/format.h>

namespace pourwright::cli {

namespace {

/// Fit to stand between single quotes in fish.
std::string quoted(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    out += c;
  }
  return out;
}

}  // namespace

Expected<std::string> completion_script(std::string_view shell) {
  std::string commands, options;
  for (const CommandInfo& c : command_table())
    commands += fmt::format("{}{}", commands.empty() ? "" : " ", c.name);
  for (const OptionInfo& o : option_table())
    options += fmt::format("{}--{}", options.empty() ? "" : " ", o.name);
  if (shell == "bash")
    return fmt::format(
        "_pourwright() {{\n"
        "  local word=\"${{COMP_WORDS[COMP_CWORD]}}\"\n"
        "  if [[ \"$word\" == -* ]]; then\n"
        "    COMPREPLY=($(compgen -W \"{}\" -- \"$word\"))\n"
        "  elif [[ $COMP_CWORD -eq 1 ]]; then\n"
        "    COMPREPLY=($(compgen -W \"{}\" -- \"$word\") $(compgen -f -- \"$word\"))\n"
        "  else\n"
        "    COMPREPLY=($(compgen -f -- \"$word\"))\n"
        "  fi\n"
        "}}\n"
        "complete -o filenames -F _pourwright pourwright\n",
        options, commands);
  if (shell == "zsh")
    return fmt::format(
        "#compdef pourwright\n"
        "if [[ $PREFIX == -* ]]; then\n  compadd -- {}\n"
        "elif (( CURRENT == 2 )); then\n  compadd -- {}; _files\n"
        "else\n  _files\nfi\n",
        options, commands);
  if (shell == "fish") {
    std::string out = fmt::format("complete -c pourwright -n __fish_use_subcommand -a '{}'\n", commands);
    for (const OptionInfo& o : option_table())
      out += fmt::format("complete -c pourwright -l {} {}-d '{}'\n", o.name, o.value.empty() ? "" : "-r ",
                         quoted(o.help));
    return out;
  }
  return fail(Code::usage, fmt::format("completion is written for bash, zsh or fish, not “{}”", shell),
              "for example: pourwright completion bash");
}

}  // namespace pourwright::cli

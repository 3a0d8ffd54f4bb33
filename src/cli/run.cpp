// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/run.hpp"

#include <fmt/format.h>

#include "cli/completion.hpp"
#include "cli/exit_status.hpp"
#include "cli/session.hpp"

namespace pourwright::cli {
namespace {

Outcome run_explain(Session& session) {
  Outcome out;
  std::vector<std::string> slugs;
  for (const CodeInfo& c : all_codes()) slugs.emplace_back(c.slug);
  if (session.line().arguments.empty()) {
    for (const CodeInfo& c : all_codes()) out.out += fmt::format("{}\n", c.slug);
    return out;
  }
  for (const CodeInfo& c : all_codes())
    if (c.slug == session.line().arguments[0]) {
      out.out = fmt::format("{}\n\n{}\n", c.slug, c.explain);
      return out;
    }
  const std::string_view near = nearest_name(session.line().arguments[0], slugs);
  return session.refuse(fail(Code::usage, fmt::format("there is no code “{}”", session.line().arguments[0]),
                     near.empty() ? "pourwright explain lists them all" : fmt::format("did you mean “{}”?", near)));
}

Outcome run_doctor(Session& session) {
  Outcome out;
#ifdef POURWRIGHT_GEOMETRY
  constexpr bool with_geometry = true;
#else
  constexpr bool with_geometry = false;
#endif
  out.out = fmt::format("pourwright {}\ngeometry wing   {}\nmesh formats    {}\n", POURWRIGHT_VERSION,
                         with_geometry ? "built in" : "left out", with_geometry ? "stl obj ply off 3mf" : "none");
  const auto catalogue = load_catalogue(session.line().get("workshop").value_or(""));
  if (!catalogue) return session.refuse(catalogue.error());
  out.out += fmt::format("mixes           {}\n", catalogue->mixes.size());
  return out;
}

Outcome run_completion(Session& session) {
  Outcome out;
  const auto script = completion_script(session.line().arguments.empty() ? "" : session.line().arguments[0]);
  if (!script) return session.refuse(script.error());
  out.out = *script;
  return out;
}

struct Command {
  std::string_view name;
  Outcome (*run)(Session&);
};
constexpr Command commands[] = {
    {"mix", run_mix},
    {"split", run_split},
    {"explain", run_explain},
    {"doctor", run_doctor},
    {"completion", run_completion},
#ifdef POURWRIGHT_GEOMETRY
    {"measure", run_measure},
    {"card", run_card},
#endif
};

}  // namespace

Outcome run(const std::vector<std::string>& words, const Surroundings& around) {
  const auto line = parse_command_line(words);
  if (!line) return Session(CommandLine{}, around).refuse(line.error());
  Session session(*line, around);
  Outcome out;
  if (line->has("version")) {
    out.out = fmt::format("pourwright {}, GPL-3.0-or-later\n", POURWRIGHT_VERSION);
    return out;
  }
  if (line->has("help") || line->command.empty()) {
    out.out = help_text(line->command);
    if (!line->has("help")) out.exit_code = usage_error;
    return out;
  }
  if (session.problem()) return session.refuse(*session.problem());
  for (const Command& c : commands)
    if (c.name == line->command) return c.run(session);
  return session.refuse(fail(Code::format_not_built,
                             fmt::format("this build cannot {}: it was made without the geometry wing", line->command),
                             "install the geometry libraries and build again; mix and split work"));
}

}  // namespace pourwright::cli

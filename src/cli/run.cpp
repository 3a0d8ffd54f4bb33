// SPDX-License-Identifier: GPL-3.0-or-later
// From the words of a command line to text and an exit code: finds the command, lets it run, and turns a
// Problem into what the person sees. Nothing here prints or exits; main.cpp does.
#include "cli/run.hpp"

#include <pourwright/mesh_format.hpp>
#include <pourwright/pipeline_learn.hpp>

#include "cli/completion.hpp"
#include "cli/exit_status.hpp"
#include "cli/session.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::cli {
// The commands; one file each, or each family. A further one is its file, a line here and in the table below,
// and a line in the table of options.cpp.
Outcome run_mix(Session& session);
Outcome run_split(Session& session);
Outcome run_leftover(Session& session);
Outcome run_records(Session& session);
Outcome run_repeat(Session& session);
Outcome run_blend(Session& session);
Outcome run_run(Session& session);
Outcome run_price(Session& session);
Outcome run_learn(Session& session);
Outcome run_setup(Session& session);
Outcome run_measure(Session& session);
Outcome run_card(Session& session);
Outcome run_mend(Session& session);
Outcome run_inspect(Session& session);

namespace {

/// Errors first, as they come in the work; then notes.
std::vector<NoteInfo> codes_of_everything() {
  std::vector<NoteInfo> out;
  for (const CodeInfo& c : all_codes()) out.push_back({c.slug, c.explain});
  for (const NoteInfo& n : all_notes())
    if (std::none_of(out.begin(), out.end(), [&](const NoteInfo& c) { return c.code == n.code; }))
      out.push_back(n);
  return out;
}

Outcome run_explain(Session& session) {
  const std::vector<std::string>& arguments = session.line().arguments;
  if (arguments.size() > 1) return session.refuse(stray(arguments[1]));
  std::vector<NoteInfo> codes = codes_of_everything();
  if (!arguments.empty()) {
    const auto found =
        std::find_if(codes.begin(), codes.end(), [&](const NoteInfo& c) { return c.code == arguments[0]; });
    if (found == codes.end()) {
      std::vector<std::string> names;
      for (const NoteInfo& c : codes) names.emplace_back(c.code);
      const std::string_view near = nearest_name(arguments[0], names);
      return session.refuse(
          fail(Code::usage, fmt::format("there is no code “{}”", arguments[0]),
               near.empty() ? "pourwright explain lists them all" : fmt::format("did you mean “{}”?", near)));
    }
    codes = {*found};
  }
  Outcome out;
  if (session.json())
    out.out = explain_json(codes);
  else if (codes.size() == 1)
    out.out = explain_text(codes[0].code, codes[0].explain, session.style());
  else
    for (const NoteInfo& c : codes) out.out += fmt::format("{}\n", c.code);
  return out;
}

Outcome run_doctor(Session& session) {
  if (!session.line().arguments.empty()) return session.refuse(stray(session.line().arguments[0]));
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return session.refuse(catalogue.error());
#ifdef POURWRIGHT_GEOMETRY
  SelfDescription self{POURWRIGHT_VERSION, true, {}, catalogue->mixes.size(), {}};
  for (const MeshFormatInfo& f : mesh_formats)
    if (f.own && !f.ending.empty()) self.formats.emplace_back(f.ending.substr(1));
#else
  SelfDescription self{POURWRIGHT_VERSION, false, {}, catalogue->mixes.size(), {}};
#endif
  Outcome out;
  if (!settings.workshop.empty()) {
    auto workshop = look_over(settings);
    if (!workshop) return session.refuse(workshop.error());
    self.workshop = std::move(*workshop);
    if (self.workshop->damage) out.exit_code = exit_status(self.workshop->damage->code);
  }
  out.out = session.json() ? doctor_json(self) : doctor_text(self);
  return out;
}

Outcome run_completion(Session& session) {
  const std::vector<std::string>& arguments = session.line().arguments;
  if (arguments.size() > 1) return session.refuse(stray(arguments[1]));
  const std::string shell = arguments.empty() ? std::string() : arguments[0];
  const auto script = completion_script(shell);
  if (!script) return session.refuse(script.error());
  Outcome out;
  out.out = session.json() ? completion_json(shell, *script) : *script;
  return out;
}

struct Command {
  std::string_view name;
  Outcome (*run)(Session&);
};
constexpr Command handlers[] = {
    {"mix", run_mix},         {"split", run_split},   {"leftover", run_leftover},
    {"records", run_records}, {"repeat", run_repeat}, {"blend", run_blend},
    {"learn", run_learn},     {"run", run_run},       {"price", run_price},
    {"explain", run_explain}, {"doctor", run_doctor}, {"completion", run_completion},
    {"setup", run_setup},
#ifdef POURWRIGHT_GEOMETRY
    {"measure", run_measure}, {"card", run_card},     {"mend", run_mend},
    {"inspect", run_inspect},
#endif
};

}  // namespace

Outcome run(const std::vector<std::string>& words, const Surroundings& around) {
  const auto line = parse_command_line(words);
  if (!line) {
    // The line could not be parsed, but who asked for JSON shall not have to read anything else.
    CommandLine unread;
    const auto names = std::find(words.begin(), words.end(), "--");
    if (std::find(words.begin(), names, "--json") != names) unread.options.emplace("json", "");
    return Session(unread, around).refuse(line.error());
  }
  Session session(*line, around);
  Outcome out;
  if (line->has("version")) {
    out.out = session.json() ? version_json(POURWRIGHT_VERSION)
                             : fmt::format("pourwright {}, GPL-3.0-or-later\n", POURWRIGHT_VERSION);
    return out;
  }
  if (line->has("help") || line->command.empty()) {
    const std::string help = help_text(line->command);
    // Without a command it is a reminder, not a result.
    std::string& to = line->has("help") ? out.out : out.err;
    for (std::string_view rest = help; !rest.empty(); rest.remove_prefix(rest.find('\n') + 1))
      to += for_terminal(rest.substr(0, rest.find('\n')), session.style().unicode) + "\n";
    if (line->has("help")) return out;
    if (session.json()) out.out = problem_json(fail(Code::usage, "there is no command and no file"));
    out.exit_code = usage_error;
    return out;
  }
  if (session.problem()) return session.refuse(*session.problem());
  for (const Command& c : handlers)
    if (c.name == line->command) return c.run(session);
  if (line->unsure) return session.refuse(*line->unsure);
  return session.refuse(
      fail(Code::format_not_built,
           fmt::format("this build cannot {}: it was made without reading meshes", line->command),
           "install the geometry libraries and build again; mix and split work"));
}

}  // namespace pourwright::cli

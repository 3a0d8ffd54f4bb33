// SPDX-License-Identifier: GPL-3.0-or-later
// setup: a workshop by five questions on a terminal, or by options; which one is used from then on.
#include <pourwright/pipeline_setup.hpp>

#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

constexpr int tries = 5;

/// Asks until `read` takes the answer. Nothing: the input ended, or it was never understood.
template <class Read>
bool answered(Session& session, const std::string& question, Read read) {
  for (int i = 0; i < tries; ++i) {
    const auto answer = session.ask(question);
    if (!answer) return false;
    const std::optional<Problem> problem = read(*answer);
    if (!problem) return true;
    session.tell(problem->text + (problem->hint.empty() ? "" : "; " + problem->hint));
  }
  return false;
}

/// Into `value`, unless the answer is empty.
template <class T, class Parse>
std::optional<Problem> take(const std::string& answer, T& value, Parse parse) {
  if (answer.find_first_not_of(" \t\r") == std::string::npos) return std::nullopt;
  auto v = parse(answer);
  if (!v) return v.error();
  value = std::move(*v);
  return std::nullopt;
}

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r");
  return first == std::string::npos ? std::string()
                                    : text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

/// "~/casting" as the shell would have read it.
std::string at_home(const Session& session, std::string path) {
  if (path == "~" || path.starts_with("~/")) path.replace(0, 1, session.home());
  return path;
}

Expected<SetupAnswers> by_questions(Session& session) {
  SetupAnswers a;
  const std::string usual = session.home().empty() ? "casting" : session.home() + "/casting";
  const Problem ended =
      fail(Code::usage, "the questions were not answered, and nothing was written",
           "or answer by options: pourwright setup ~/casting --ratio 3.2 --scale \"1 g to 5 kg\"");
  session.tell("Five questions; Enter takes what stands in brackets.");
  if (!answered(session, fmt::format("1  Folder for the workshop [{}]: ", usual),
                [&](const std::string& answer) {
                  const std::string folder = trimmed(answer);
                  a.folder = at_home(session, folder.empty() ? usual : folder);
                  return std::optional<Problem>();
                }))
    return ended;
  if (is_workshop(a.folder)) return a;
  std::pair<std::string, std::string> names;
  const bool all =
      answered(session, "2  What you call liquid and powder [acrylic liquid, mineral powder]: ",
               [&](const std::string& t) { return take(t, names, parse_part_names); }) &&
      answered(session, "3  Grams of powder to 1 g of liquid [3.2]: ",
               [&](const std::string& t) {
                 return take(t, a.ratio, [](const std::string& s) { return parse_ratio(s); });
               }) &&
      answered(session,
               "4  Steps your scales read, and what they carry (1 g to 5 kg, 0.01 g to 200 g) [none named]: ",
               [&](const std::string& t) { return take(t, a.scales, parse_scales); }) &&
      answered(
          session,
          "5  A cup you filled with mix and weighed, the cup's own weight off (200 ml = 372 g) [none yet]: ",
          [&](const std::string& t) { return take(t, a.cup, parse_first_cup); });
  if (!all) return ended;
  a.liquid = names.first;
  a.powder = names.second;
  return a;
}

Expected<SetupAnswers> by_options(Session& session) {
  const CommandLine& line = session.line();
  SetupAnswers a;
  if (line.arguments.empty())
    return fail(Code::usage, "say where the workshop shall be",
                "for example: pourwright setup ~/casting --ratio 3.2");
  a.folder = at_home(session, line.arguments[0]);
  a.liquid = line.get("liquid-name").value_or("");
  a.powder = line.get("powder-name").value_or("");
  session.read("ratio", a.ratio, [](const std::string& t) { return parse_ratio(t); });
  for (const std::string& text : line.all("scale")) {
    auto scales = parse_scales(text);
    if (scales)
      a.scales.insert(a.scales.end(), scales->begin(), scales->end());
    else
      session.complain("scale", scales.error());
  }
  std::optional<Volume> volume;
  std::optional<Mass> grams;
  session.read("ml", volume, [](const std::string& t) { return parse_volume(t); });
  session.read("grams", grams, [](const std::string& t) { return parse_mass(t); });
  if (session.problem()) return *session.problem();
  if (volume.has_value() != grams.has_value())
    return fail(Code::usage, "a cup test is what the cup holds and what that weighs: --ml and --grams",
                "for example --ml 200 --grams 372g");
  if (volume) a.cup = FirstCup{*volume, *grams};
  return a;
}

}  // namespace

Outcome run_setup(Session& session) {
  const CommandLine& line = session.line();
  if (line.arguments.size() > 1) return session.refuse(stray(line.arguments[1]));
  bool options = !line.arguments.empty();
  for (const std::string_view name : {"liquid-name", "powder-name", "ratio", "scale", "ml", "grams"})
    options = options || line.has(name);
  if (line.has("forget") && options)
    return session.refuse(fail(Code::usage, "--forget stands alone", "pourwright setup --forget"));
  Expected<SetupReport> report = [&]() -> Expected<SetupReport> {
    if (line.has("forget")) return forget_workshop(session.config_folder());
    if (!options && !session.can_ask())
      return fail(Code::usage, "nobody is there to answer questions",
                  "for example: pourwright setup ~/casting --ratio 3.2");
    const auto answers = options ? by_options(session) : by_questions(session);
    if (!answers) return answers.error();
    return set_up(*answers, session.now(), session.config_folder());
  }();
  if (!report) return session.refuse(report.error());
  Outcome out;
  if (session.json())
    out.out = setup_json(*report);
  else if (!line.has("quiet"))
    out.out = setup_text(*report, session.style());
  out.exit_code = session.strict(report->notes);
  return out;
}

}  // namespace pourwright::cli

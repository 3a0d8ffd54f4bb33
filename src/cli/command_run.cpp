// SPDX-License-Identifier: GPL-3.0-or-later
// run and price: whole orders.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_run.hpp>
#include <pourwright/report_csv.hpp>

#include "cli/session.hpp"

#include <filesystem>

namespace pourwright::cli {
namespace {

namespace fs = std::filesystem;

RunSettings run_settings(Session& session) {
  RunSettings s;
  s.mix = session.mix_settings();
  session.read("mixer-max", s.mixer_max, [](const std::string& t) { return parse_mass(t); });
  std::optional<int> copies;
  session.read("copies", copies, parse_count);
  s.copies = copies.value_or(1);
  return s;
}

MeasureMolds measuring_molds([[maybe_unused]] Session& session) {
#ifdef POURWRIGHT_GEOMETRY
  return measuring(session.remembering_settings());
#else
  return [](const std::vector<MoldSource>& molds) {
    return std::vector<Expected<MoldVolume> >(
        molds.size(),
        fail(Code::format_not_built, "this build cannot measure meshes: it was made without reading meshes",
             "say what the mold takes: holds = \"58 ml\" or mix = \"120 g\""));
  };
#endif
}

Expected<RunReport> planned(Session& session, const RunSettings& settings, const MeasureMolds& measure) {
  if (const auto pieces = session.line().get("pieces")) {
    if (!session.line().arguments.empty()) return stray(session.line().arguments[0]);
    return run_pieces(*pieces, settings);
  }
  if (session.line().arguments.empty())
    return fail(Code::usage, "say what to make: a folder of molds, a run file, or --pieces FILE.csv",
                "for example: pourwright run autumn.toml");
  if (session.line().arguments.size() > 1) return stray(session.line().arguments[1]);
  const fs::path path = session.line().arguments[0];
  std::error_code error;
  if (!fs::exists(path, error)) {
    std::vector<FoundFile> named{
        {path, 0,
         fail(Code::file_missing, fmt::format("there is no file “{}”", path.string()),
              "check the name and the folder"),
         false}};
    if (auto problem = find_by_name(named, settings.mix)) return *problem;
    if (named[0].problem) return *named[0].problem;
    RunSettings once = settings;
    if (named[0].copies > 0) once.copies = named[0].copies;
    return run_from_molds({named[0].path}, once, measure);
  }
  if (!fs::is_directory(path, error)) return run_from_file(path, settings, measure);
#ifdef POURWRIGHT_GEOMETRY
  return run_from_folder(path, settings, measure);
#else
  return fail(Code::format_not_built,
              "this build cannot measure the molds of a folder: it was made without reading meshes",
              "name a run file whose molds say what they hold, or use --pieces");
#endif
}

void settle(const Session& session, Outcome& out, const std::vector<CardReport::Failure>& errors,
            const Notes& notes, bool anything) {
  Session::Tally tally;
  tally.files = errors.size() + (anything ? 1 : 0);
  for (const auto& e : errors) tally.failures.emplace_back(e.path, e.problem);
  tally.warned = has_warning(notes);
  session.settle(out, tally);
}

}  // namespace

Outcome run_run(Session& session) {
  const RunSettings settings = run_settings(session);
  const MeasureMolds measure = measuring_molds(session);
  if (session.problem()) return session.refuse(*session.problem());
  const auto r = planned(session, settings, measure);
  if (!r) return session.refuse(r.error());
  session.say_workshop(r->workshop);
  if (session.line().has("svg")) {
    const std::string picture = run_svg(*r);
    if (picture.empty())
      return session.refuse(fail(Code::usage, "there is no day to draw: this run has no hours",
                                 "a run file with [hours] has; see docs/run.md"));
    if (const auto problem = session.write_where("svg", picture)) return session.refuse(*problem);
  }
  if (session.line().has("csv"))
    if (const auto problem = session.write_where("csv", run_csv(*r, session.style().decimal)))
      return session.refuse(*problem);
  Outcome out;
  if (session.json())
    out.out = run_json(*r);
  else if (!r->batches.empty())
    out.out = run_text(*r, session.style_for({}, r->cautions));
  settle(session, out, r->errors, r->notes, !r->batches.empty());
  return out;
}

Outcome run_price(Session& session) {
  const RunSettings settings = run_settings(session);
  const MeasureMolds measure = measuring_molds(session);
  if (session.problem()) return session.refuse(*session.problem());
  if (session.line().arguments.size() != 1)
    return session.refuse(session.line().arguments.empty()
                              ? fail(Code::usage, "say which product line: a run file with [price]",
                                     "for example: pourwright price autumn.toml")
                              : stray(session.line().arguments[1]));
  fs::path path = session.line().arguments[0];
  std::error_code error;
  if (fs::is_directory(path, error)) {
    path /= "run.toml";
    if (!fs::exists(path, error))
      return session.refuse(
          fail(Code::config_missing,
               "prices need a file run.toml in the folder, with [price] and what materials cost",
               "docs/run.md shows one"));
  }
  const auto r = prices_from_file(path, settings, session.line().all("set"), measure);
  if (!r) return session.refuse(r.error());
  session.say_workshop(r->workshop);
  if (session.line().has("csv"))
    if (const auto problem = session.write_where("csv", price_csv(*r, session.style().decimal)))
      return session.refuse(*problem);
  if (session.line().has("xlsx")) {
    const auto sheet = price_xlsx(*r);
    if (!sheet) return session.refuse(sheet.error());
    if (const auto problem = session.write_where("xlsx", *sheet)) return session.refuse(*problem);
  }
  Outcome out;
  if (session.json())
    out.out = price_json(*r);
  else if (!r->list.lines.empty())
    out.out = price_text(*r, session.style());
  settle(session, out, r->errors, r->notes, !r->list.lines.empty());
  return out;
}

}  // namespace pourwright::cli

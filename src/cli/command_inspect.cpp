// SPDX-License-Identifier: GPL-3.0-or-later
// inspect: whether a piece will stand, part from its mold and pass the limits that a script sets. A limit
// that is broken is an exit code of its own, so that a folder of designs can be sorted without reading text.
#ifdef POURWRIGHT_GEOMETRY
#include <pourwright/pipeline_inspect.hpp>
#include <pourwright/report_csv.hpp>

#include "cli/exit_status.hpp"
#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {

Outcome run_inspect(Session& session) {
  InspectSettings settings;
  settings.measure = session.remembering_settings();
  settings.mix = session.mix_settings();
  std::optional<std::string> of;
  session.read("of", of, one_of({"piece", "mold"}));
  settings.of_mold = of == "mold";
  session.read("min-wall", settings.min_wall, parse_wall);
  session.read("pull", settings.pull, parse_direction);
  session.read("stretch", settings.stretch, [](const std::string& t) { return parse_percent(t); });
  session.read("age", settings.age, parse_age);
  for (const std::string& text : session.line().all("fail-if")) {
    auto limit = parse_limit(text);
    if (limit)
      settings.limits.push_back(std::move(*limit));
    else
      session.complain("fail-if", limit.error());
  }
  if (session.problem()) return session.refuse(*session.problem());
  const auto files = session.files();
  if (!files) return session.refuse(files.error());
  const auto r = inspect_files(*files, settings);
  if (!r) return session.refuse(r.error());
  if (session.line().has("csv"))
    if (const auto problem = session.write_where("csv", inspect_csv(*r, session.style().decimal)))
      return session.refuse(*problem);

  Session::Tally tally;
  tally.files = r->files.size();
  tally.warned = has_warning(r->notes);
  std::string exceeded;
  for (const InspectRow& f : r->files) {
    if (f.measured.error) tally.failures.emplace_back(f.measured.path, *f.measured.error);
    tally.warned |= has_warning(f.measured.notes);
    for (const LimitRow& l : f.limits)
      if (l.exceeded)
        exceeded +=
            for_terminal(fmt::format("pourwright: {}: {} is exceeded: {}", f.measured.path, l.limit, l.text),
                         session.style().unicode) +
            "\n";
  }
  PictureSettings pictures;
  pictures.measure = settings.measure;
  pictures.limit = settings.min_wall.value_or(r->mix.min_wall);
  pictures.of_mold = settings.of_mold;
  if (const auto problem = session.write_pictures_of(*files, std::move(pictures), tally))
    return session.refuse(*problem);
  Outcome out;
  if (session.json())
    out.out = inspect_json(*r);
  else if (tally.failures.empty() || tally.files > 1)
    out.out = inspect_text(*r, session.style());
  session.settle(out, tally);
  if (exceeded.empty()) return out;
  if (!session.line().has("quiet")) out.err += exceeded;
  // The question asked has its answer, whatever became of other files.
  out.exit_code = limit_exceeded;
  return out;
}

}  // namespace pourwright::cli
#endif

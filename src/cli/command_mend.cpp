// SPDX-License-Identifier: GPL-3.0-or-later
// mend: one damaged file in, a closed one out. Nothing is written over without --force.
#ifdef POURWRIGHT_GEOMETRY
#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {

Outcome run_mend(Session& session) {
  MeasureSettings settings = session.measure_settings();
  if (session.problem()) return session.refuse(*session.problem());
  settings.without_air = session.line().has("without-air");
  if (settings.without_air && !session.line().has("piece"))
    return session.refuse(fail(Code::usage, "--without-air is about the cast piece", "add --piece"));
  const auto files = session.files();
  if (!files) return session.refuse(files.error());
  if (files->size() != 1) return session.refuse(fail(Code::usage, "mend takes one file at a time"));
  const auto name = session.line().get("output");
  if (!name)
    return session.refuse(
        fail(Code::usage, "say where to: -o OUT", "for example: pourwright mend scan.ply -o mended.ply"));
  auto r = mend(files->front(), *name, session.line().has("piece"), session.line().has("force"), settings);
  if (!r) return session.refuse(r.error());
  Outcome out;
  const MeasureReport report{{std::move(r->row)}};
  out.out = session.json() ? measure_json(report) : measure_text(report, session.style());
  for (const std::string& w : r->written)
    (session.json() ? out.err : out.out) +=
        fmt::format("{}wrote “{}”\n", session.json() ? "pourwright: " : "", w);
  return out;
}

}  // namespace pourwright::cli
#endif

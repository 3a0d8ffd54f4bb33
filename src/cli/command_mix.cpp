// SPDX-License-Identifier: GPL-3.0-or-later
// mix: the bench without a mesh.
#include <pourwright/pipeline_run.hpp>
#include <pourwright/pipeline_split.hpp>

#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

Outcome list_mixes(Session& session) {
  MixSettings settings;
  session.find_workshop(settings);
  if (session.problem()) return session.refuse(*session.problem());
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return session.refuse(catalogue.error());
  Outcome out;
  out.out = session.json() ? mixes_json(*catalogue) : mixes_text(*catalogue, session.style());
  return out;
}

/// A commented file to start a workshop from.
Outcome write_template(Session& session) {
  Outcome out;
  const auto to = session.line().get("output");
  if (to)
    if (auto problem = write_file(*to, catalogue_template(), session.line().has("force")))
      return session.refuse(*problem);
  if (session.json())
    out.out = template_json(to.value_or(""), catalogue_template());
  else if (!to)
    out.out = catalogue_template();
  else if (!session.line().has("quiet"))
    out.out = for_terminal(
        fmt::format("Written to {}: change it to what you use, and name its folder with --workshop.\n", *to),
        session.style().unicode);
  return out;
}

}  // namespace

Outcome run_mix(Session& session) {
  Outcome out;
  if (session.line().has("list")) return list_mixes(session);
  if (session.line().has("template")) return write_template(session);
  MixRequest request;
  session.read("ml", request.volume, [](const std::string& t) { return parse_volume(t); });
  session.read("grams", request.total, [](const std::string& t) { return parse_mass(t); });
  session.read("liquid", request.liquid, [](const std::string& t) { return parse_mass(t); });
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  if (!session.line().arguments.empty()) return session.refuse(stray(session.line().arguments[0]));
  auto r = mix(request, settings);
  if (!r) return session.refuse(r.error());
  if (auto problem = session.keep_sheet(
          settings, [&](const std::string& title) { return sheet_of(title, r->report, settings); },
          r->report.recipe.notes))
    return session.refuse(*problem);
  out.out = session.json() ? mix_json(r->report)
                           : mix_text(r->report, session.style_for(r->chosen.habits, r->report.cautions));
  out.exit_code = session.strict(r->report.recipe.notes);
  return out;
}

}  // namespace pourwright::cli

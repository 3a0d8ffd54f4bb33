// SPDX-License-Identifier: GPL-3.0-or-later
// mix and split: the bench without a mesh.
#include <pourwright/pipeline_run.hpp>

#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

Outcome list_mixes(Session& session) {
  const auto catalogue = load_catalogue(session.line().get("workshop").value_or(""));
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

Expected<Cup> parse_cup(const std::string& text) {
  Cup cup;
  std::string_view rest = text;
  for (bool first = true; !rest.empty() || first; first = false) {
    // A comma between digits is a decimal comma: "Kelp=1,5%".
    std::size_t comma = 0;
    for (; comma < rest.size(); ++comma) {
      const auto digit = [&](std::size_t i) { return i < rest.size() && rest[i] >= '0' && rest[i] <= '9'; };
      if (rest[comma] == ',' && !(comma > 0 && digit(comma - 1) && digit(comma + 1))) break;
    }
    const std::string piece(rest.substr(0, comma));
    rest = comma < rest.size() ? rest.substr(comma + 1) : std::string_view();
    if (first) {
      const auto equals = piece.rfind('=');
      cup.name = piece.substr(0, equals);
      if (cup.name.empty())
        return fail(Code::usage, fmt::format("the cup “{}” has no name", text),
                    "write NAME=SHARE, for example sea=60%");
      if (equals != std::string::npos) {
        const auto share = parse_percent(piece.substr(equals + 1));
        if (!share) return share.error();
        cup.share = *share;
      }
    } else {
      const auto dose = parse_dose(piece);
      if (!dose) return dose.error();
      cup.pigments.push_back(*dose);
    }
  }
  return cup;
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
  const auto r = mix(request, settings);
  if (!r) return session.refuse(r.error());
  out.out = session.json() ? mix_json(r->report) : mix_text(r->report, session.style_for(r->chosen.habits));
  out.exit_code = session.strict(r->report.recipe.notes);
  return out;
}

Outcome run_split(Session& session) {
  Outcome out;
  std::optional<Mass> total, pigment_step;
  session.read("grams", total, [](const std::string& t) { return parse_mass(t); });
  session.read("pigment-step", pigment_step, [](const std::string& t) { return parse_mass(t); });
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  if (!session.line().arguments.empty()) return session.refuse(stray(session.line().arguments[0]));
  if (!total)
    return session.refuse(
        fail(Code::usage, "say how much mix there is: --grams", "for example --grams 640g"));
  const auto chosen = choose_mix(settings);
  if (!chosen) return session.refuse(chosen.error());
  std::vector<Cup> cups;
  for (const std::string& text : session.line().all("cup")) {
    const auto cup = parse_cup(text);
    if (!cup) return session.refuse(cup.error());
    cups.push_back(*cup);
  }
  SplitOptions options;
  options.scale_step = chosen->scale_step;
  if (pigment_step) options.pigment_step = *pigment_step;
  options.pigment_ceiling = chosen->mix.pigment_ceiling;
  const auto r = split_mix(*total, cups, options);
  if (!r) return session.refuse(r.error());
  out.out = session.json() ? split_json(*r) : split_text(*r, session.style());
  out.exit_code = session.strict(r->notes);
  return out;
}

}  // namespace pourwright::cli

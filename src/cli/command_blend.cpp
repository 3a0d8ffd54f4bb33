// SPDX-License-Identifier: GPL-3.0-or-later
// blend: what colour a mix of pigments will dry to.
#include <pourwright/report_colour.hpp>

#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

Expected<Swatch> parse_swatch(const std::string& text) {
  const auto colon = text.rfind(':');
  if (colon == std::string::npos)
    return fail(Code::bad_quantity, fmt::format("“{}” is not NAME=DOSE:COLOUR", text),
                "for example Kelp=2%:#5f8a62");
  const auto dose = parse_dose(text.substr(0, colon));
  if (!dose) return dose.error();
  const auto dried = parse_colour(text.substr(colon + 1));
  if (!dried) return dried.error();
  return Swatch{*dose, *dried};
}

}  // namespace

Outcome run_blend(Session& session) {
  std::optional<Colour> base, target;
  session.read("base", base, [](const std::string& t) { return parse_colour(t); });
  session.read("target", target, [](const std::string& t) { return parse_colour(t); });
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  if (!session.line().arguments.empty()) return session.refuse(stray(session.line().arguments[0]));
  if (!base)
    return session.refuse(
        fail(Code::usage, "say how the mix dries without pigment: --base",
             "for example --base #ece7db, read off a photo in daylight or with an instrument"));
  if (target && !settings.pigments.empty())
    return session.refuse(
        fail(Code::usage, "--pigment gives the doses and --target looks for them", "give one of the two"));
  const auto chosen = choose_mix(settings);
  if (!chosen) return session.refuse(chosen.error());
  std::vector<Swatch> swatches;
  for (const std::string& text : session.line().all("swatch")) {
    const auto swatch = parse_swatch(text);
    if (!swatch) return session.refuse(swatch.error());
    swatches.push_back(*swatch);
  }
  const auto found = target ? match(*base, swatches, *target, chosen->mix.pigment_ceiling)
                            : blend(*base, swatches, settings.pigments);
  if (!found) return session.refuse(found.error());
  const BlendReport report{chosen->mix.name, *found, target};
  Outcome out;
  out.out = session.json() ? blend_json(report) : blend_text(report, session.style());
  out.exit_code = session.strict(found->notes);
  return out;
}

}  // namespace pourwright::cli

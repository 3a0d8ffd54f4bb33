// SPDX-License-Identifier: GPL-3.0-or-later
// A guessed blend as text and JSON.
#include <pourwright/report_colour.hpp>

#include "report/json_values.hpp"
#include "report/phrases.hpp"

#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string lab_text(const Colour& c) {
  const Lab v = lab(c);
  return fmt::format("L* {:.1f}, a* {:.1f}, b* {:.1f}", v.l, v.a + 0.0, v.b + 0.0);
}

/// A patch of the colour itself where the terminal can show it.
std::string patch(const Colour& c, const TextStyle& style) {
  const std::string h = hex(c);
  if (!style.colour) return h;
  const auto channel = [&](std::size_t at) { return std::stoi(h.substr(at, 2), nullptr, 16); };
  return fmt::format("\x1b[48;2;{};{};{}m      \x1b[0m {}", channel(1), channel(3), channel(5), h);
}

void row(Page& page, std::string_view label, const Colour& c) {
  page.line(left(label, 11) + patch(c, page.style()) + "   " + localized(lab_text(c), page.style().decimal));
}

std::string how_near(double e) {
  return e < 1   ? "passes as the same"
         : e < 3 ? "close; side by side one sees it"
                 : "anyone sees the difference";
}

json::Json colour_json(const Colour& c) {
  const Lab v = lab(c);
  return {{"hex", hex(c)}, {"lab", {json::number(v.l), json::number(v.a), json::number(v.b)}}};
}

}  // namespace

std::string blend_text(const BlendReport& r, const TextStyle& style) {
  Page page(style);
  page.title("Colour", harmless(r.mix));
  std::string doses;
  for (const PigmentDose& d : r.blend.doses)
    doses += fmt::format("{}{} {:.4g} %", doses.empty() ? "" : ", ", d.name, d.dose.in_percent());
  page.entry("Pigment", localized(doses.empty() ? "none" : doses + " of the mix", style.decimal));
  row(page, "Dried", r.blend.dried);
  row(page, "Damp", r.blend.damp);
  if (r.target) {
    row(page, "Wanted", *r.target);
    const double e = difference(lab(r.blend.dried), lab(*r.target));
    page.entry("Off by", localized(fmt::format("{:.1f} (CIEDE2000): {}", e, how_near(e)), style.decimal));
  }
  for (const Note& n : r.blend.notes) page.entry("Watch", localized(n.text, style.decimal), true);
  page.entry(
      "Take care",
      "A guess from dried swatches: a screen does not show the cast colour, and a wet mix looks different "
      "again. Cast and dry a swatch of the blend before a batch.");
  return page.take();
}

std::string blend_json(const BlendReport& r) {
  json::Json doses = json::Json::array();
  for (const PigmentDose& d : r.blend.doses)
    doses.push_back({{"name", d.name}, {"kind", name(PartKind::pigment)}, {"dose", d.dose.value()}});
  json::Json j{{"schema", "pourwright.blend/1"},    {"mix", r.mix},
               {"pigments", std::move(doses)},      {"dried", colour_json(r.blend.dried)},
               {"damp", colour_json(r.blend.damp)}, {"target", nullptr},
               {"difference_ciede2000", nullptr},   {"notes", json::notes(r.blend.notes)}};
  if (r.target) {
    j["target"] = colour_json(*r.target);
    j["difference_ciede2000"] = json::number(difference(lab(r.blend.dried), lab(*r.target)));
  }
  return json::finish(j);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What a person reads who mixes without a mold at hand.
#include <pourwright/report.hpp>

#include "report/phrases.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
using namespace phrases;

namespace {

/// "1.4 % retarder, 0.05 water to 1 of liquid"
std::string parts_of(const Mix& mix) {
  std::string out;
  for (const Component& c : mix.components) {
    if (!out.empty()) out += ", ";
    out += c.share > Ratio() ? fmt::format("{:.4g} % {}", c.share.in_percent(), c.name)
                             : fmt::format("{:.4g} {} to 1 of liquid", c.per_liquid.value(), c.name);
  }
  return out;
}

}  // namespace

std::string mix_text(const MixReport& r, const TextStyle& style) {
  Page page(style);
  page.title("Mix", fmt::format("{}, {}", mix_name(r.mix), scale_text(r.scale, r.scale_step, style)));
  weights(page, r.recipe, r.scale_step, price_of(r.cost, style));
  page.line();
  notes(page, r.recipe.notes, true, "Watch");
  page.entry("Makes",
             volume_text(r.recipe.mix / r.mix.density, style) +
                 localized(fmt::format(" at {} g/ml", fixed(in_grams_per_millilitre(r.mix.density), 2)),
                           style.decimal));
  times(page, r.mix);
  page.entry("Ratio", localized(ratio_text(r.recipe), style.decimal));
  notes(page, r.recipe.notes, false, "Assumed");
  cautions(page, r.cautions);
  return page.take();
}

std::string mixes_text(const Catalogue& catalogue, const TextStyle& style) {
  Page page(style);
  page.line(page.faint(left("mix", 28) + "powder : liquid" + right("density", 17)));
  for (const Mix& m : catalogue.mixes) {
    const bool chosen = m.key == catalogue.default_mix;
    page.line(left(shortened(m.name, 27, style.unicode), 28) +
              localized(right(fmt::format("{:.6g} : 1", m.ratio.value()), 15) +
                            right(fmt::format("{} g/ml", fixed(in_grams_per_millilitre(m.density), 2)), 17),
                        style.decimal) +
              (chosen ? "   default" : ""));
    if (!m.components.empty()) page.line("    with " + harmless(localized(parts_of(m), style.decimal)));
    if (!m.description.empty())
      for (const std::string& l : wrapped(harmless(m.description), style.width - 4)) page.line("    " + l);
  }
  return page.take();
}

}  // namespace pourwright

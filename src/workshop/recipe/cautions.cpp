// SPDX-License-Identifier: GPL-3.0-or-later
// What to say for safety beside every batch. A further caution is a line here.
#include <pourwright/recipe.hpp>

#include <fmt/format.h>

namespace pourwright {

// Burns from 49 °C within minutes: M. J. Hutchinson, M. R. Hutchinson, Factors contributing to the
// temperature beneath plaster or fiberglass cast material, J. Orthop. Surg. Res. 3:10 (2008). The 100 g
// threshold is common practice.
std::vector<std::string> cautions_for(const Mix& mix, Mass batch) {
  std::vector<std::string> out;
  out.emplace_back("Powder is dust: wear a mask and goggles, pour it low, sand only wet.");
  if (batch >= Mass::grams(100))
    out.push_back(fmt::format(
        "It heats as it sets{}: never encase any part of a body; 49 °C burns within minutes.",
        mix.set_temperature ? fmt::format(", to about {:.0f} °C", in_celsius(*mix.set_temperature)) : ""));
  out.emplace_back("Never rinse mix into a drain: let it harden, then bin it.");
  out.emplace_back("Décor only: not for food, drink or standing water, nor to bear loads.");
  out.insert(out.end(), mix.cautions.begin(), mix.cautions.end());
  out.emplace_back("The supplier's safety data sheet and local rules come first.");
  return out;
}

}  // namespace pourwright

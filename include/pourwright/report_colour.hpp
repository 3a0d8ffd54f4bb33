// SPDX-License-Identifier: GPL-3.0-or-later
// A guessed colour as text and JSON. Colours are those of colour.hpp: linear sRGB under daylight (D65),
// compared as CIE L*a*b*. The guess and how sure it is come from there. No promise: a dried swatch decides.
#pragma once

#include <pourwright/colour.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>

namespace pourwright {

/// A blend of doses, or the doses found for a colour.
struct BlendReport {
  std::string mix;  ///< name
  Blend blend;
  std::optional<Colour> target;  ///< when doses were looked for
};
std::string blend_text(const BlendReport& report, const TextStyle& style);
std::string blend_json(const BlendReport& report);

}  // namespace pourwright

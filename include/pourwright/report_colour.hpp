// SPDX-License-Identifier: GPL-3.0-or-later
// A guessed colour as text and JSON.
#pragma once

#include <pourwright/colour.hpp>
#include <pourwright/report.hpp>

#include <optional>
#include <string>

namespace pourwright {

struct BlendReport {
  std::string mix;  ///< name
  Blend blend;
  std::optional<Colour> target;  ///< when doses were looked for
};
std::string blend_text(const BlendReport& report, const TextStyle& style);
std::string blend_json(const BlendReport& report);

}  // namespace pourwright

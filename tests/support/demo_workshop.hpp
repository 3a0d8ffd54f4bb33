// SPDX-License-Identifier: GPL-3.0-or-later
// The demo workshop Tern Hollow, whose mixes were weighed (in the story): for tests that want a density that
// is known.
#pragma once

#include <pourwright/material.hpp>

#include "support/source_folder.hpp"

namespace support {

inline std::filesystem::path demo_workshop() {
  return source_folder() / "docs/examples/tern";
}
inline const pourwright::Catalogue& demo_catalogue() {
  static const pourwright::Catalogue catalogue = *pourwright::load_catalogue(demo_workshop());
  return catalogue;
}
inline pourwright::Mix demo_mix(std::string_view name = "boathouse-3.2") {
  return *pourwright::find_mix(demo_catalogue(), name);
}

}  // namespace support

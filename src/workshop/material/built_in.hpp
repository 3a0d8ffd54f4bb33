// SPDX-License-Identifier: GPL-3.0-or-later
// The catalogue the program carries, as the TOML text a user could have written.
#pragma once

#include <string_view>

namespace pourwright::material {

std::string_view built_in_text();

}  // namespace pourwright::material

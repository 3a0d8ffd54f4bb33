// SPDX-License-Identifier: GPL-3.0-or-later
// One [[mix]] of a catalogue.
#pragma once

#include <pourwright/material.hpp>

#include <string_view>

#include <toml++/toml.h>

namespace pourwright::material {

Expected<Mix> read_mix(const toml::table& table, std::string_view label);

}  // namespace pourwright::material

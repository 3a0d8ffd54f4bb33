// SPDX-License-Identifier: GPL-3.0-or-later
// A measured file as bytes, for the cache and for what a child process sends. Bytes of one build are read by
// the same build only.
#pragma once

#include "pipeline/measure.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace pourwright::codec {

/// All of it but meshes.
std::string bytes_of(const Measured& measured);
/// Nothing when the bytes are not such.
std::optional<Measured> measured_from(std::string_view bytes);

/// Everything in the settings that changes what is measured.
std::string bytes_of(const MeasureSettings& settings);

}  // namespace pourwright::codec

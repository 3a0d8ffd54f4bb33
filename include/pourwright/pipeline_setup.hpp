// SPDX-License-Identifier: GPL-3.0-or-later
// A workshop's folder from five answers; where the program remembers which workshop is used.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/report_setup.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// A full cup of the mix on a scale, the cup's own weight taken off.
struct FirstCup {
  Volume volume;
  Mass mass;
};

/// What a workshop begins with. What is left out is common practice, and the file says so.
struct SetupAnswers {
  std::filesystem::path folder;
  std::string liquid, powder;  ///< empty: "acrylic liquid", "mineral powder"
  std::optional<Ratio> ratio;
  std::vector<Scale> scales;  ///< a capacity of zero: not said
  std::optional<FirstCup> cup;
  /// Whether anything but the folder was answered.
  bool any() const { return !liquid.empty() || !powder.empty() || ratio || !scales.empty() || cup; }
};

/// "acrylic liquid, mineral powder": the two names.
Expected<std::pair<std::string, std::string>> parse_part_names(std::string_view text);
/// "1 g to 5 kg, 0.01 g to 200 g"; what a scale carries may be left out.
Expected<std::vector<Scale>> parse_scales(std::string_view text);
/// "200 ml = 372 g"
Expected<FirstCup> parse_first_cup(std::string_view text);

/// Makes the workshop's folder whole or not at all (a new folder is written beside its place and moved
/// there), keeps the cup as its first record, and remembers it. A folder that is a workshop already is only
/// remembered. `config` is the program's own folder for settings; it is made for its owner alone.
Expected<SetupReport> set_up(const SetupAnswers& answers, std::int64_t now,
                             const std::filesystem::path& config);

/// The workshop that `config` remembers; nothing when there is none. Fails when what is written there cannot
/// be understood, or the workshop is not there any more: going on without it would weigh another mix.
Expected<std::optional<std::filesystem::path>> remembered_workshop(const std::filesystem::path& config);
/// Remembers none any more.
Expected<SetupReport> forget_workshop(const std::filesystem::path& config);

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Walls, release and early demolding as one call.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/report_inspect.hpp>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// What a limit is about.
enum class Limited : std::uint8_t {
  wall,
  p05,
  median,
  thin,
  stress,
  risk,
  draft,
  undercut,
  depth,
  trap,
  ceiling
};

/// "wall<2mm", "undercut>=5%", "risk>=watch": what a piece fails by.
struct Limit {
  std::string text;  ///< as given
  Limited what = Limited::wall;
  enum class Sign : std::uint8_t { less, at_most, more, at_least, equal } sign = Sign::less;
  double value = 0;       ///< mm, degrees, MPa, ml, mm², the share for per cent, or the number of the risk
  bool is_share = false;  ///< of undercut, thin and ceiling: a share instead of an area
};
Expected<Limit> parse_limit(std::string_view text);
/// Holds a limit against what was found; what was not measured is an error that says why.
Expected<LimitRow> check_limit(const Limit& limit, const InspectRow& row);

struct InspectSettings {
  MeasureSettings measure;
  MixSettings mix;
  bool of_mold = false;            ///< measure the mold's own walls instead of the piece's
  std::optional<Length> min_wall;  ///< nothing: the mix's
  std::optional<Point> pull;       ///< nothing: out of the opening
  std::optional<Ratio> stretch;    ///< that a flexible mold bears
  std::optional<Duration> age;     ///< from pouring to demolding; nothing: the mix's demold time
  std::vector<Limit> limits;
};

/// Inspects every file; one that fails is a row with an error. Fails as a whole only when the mix or a
/// setting is wrong.
Expected<InspectReport> inspect_files(const std::vector<FoundFile>& files, const InspectSettings& settings);

}  // namespace pourwright

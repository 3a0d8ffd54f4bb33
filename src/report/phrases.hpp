// SPDX-License-Identifier: GPL-3.0-or-later
// What the pages for the bench have in common.
#pragma once

#include <pourwright/report.hpp>

#include "report/layout.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace pourwright {
struct SplitReport;
struct FilledStep;
}  // namespace pourwright

namespace pourwright::phrases {

std::string millilitre_text(Volume v);
/// With fluid ounces behind it where the reader uses them.
std::string volume_text(Volume v, const TextStyle& style);
/// "±0.3 %" of the wider side, or nothing when it is too small to matter at a bench.
std::string doubt(const Interval<Volume>& v);
/// "326.4 g" in the reader's decimal sign; a mass off the step is shown whole.
std::string grams(Mass m, Mass step, const TextStyle& style);
/// "11.51 oz", "2 lb 3.27 oz": as fine as the step.
std::string ounces(Mass m, Mass step, const TextStyle& style);
/// Grams, with ounces behind them where the reader uses them.
std::string mass_text(Mass m, Mass step, const TextStyle& style);
std::string ratio_text(const Recipe& r);
/// The mix by name, and that nobody has weighed it where that is so.
std::string mix_name(const Mix& mix);
std::string scale_text(const std::string& name, Mass step, const TextStyle& style);

/// The parts side by side in large numerals, where they fit: liquid first, then powder, then what it makes.
/// More parts than that follow as a list in the order of weighing.
void large_parts(Page& page, const Recipe& recipe, Mass step);
void title(Page& page, std::string_view what, std::string_view right_side);
/// Notes are said as one sentence without its point.
std::string sentence(const std::string& text, char decimal);
/// The line with the ratio says this already.
bool is_said_elsewhere(const Note& n);
void notes(Page& page, const Notes& list, bool warnings, std::string_view label);
void times(Page& page, const Mix& mix);
void cost(Page& page, const std::optional<BatchCost>& cost);
void cautions(Page& page, const std::vector<std::string>& list);
/// First column to the left and cut to what the others leave it; the others to the right, as wide as they
/// need.
void table(Page& page, const std::vector<std::vector<std::string>>& rows);

/// One step of a split: its cups, and what the hands do.
void split_step(Page& page, const SplitReport& r, const FilledStep& s, std::size_t number);

}  // namespace pourwright::phrases

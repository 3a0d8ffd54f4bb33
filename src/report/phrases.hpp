// SPDX-License-Identifier: GPL-3.0-or-later
// What the pages for the bench have in common.
#pragma once

#include <pourwright/report.hpp>

#include "report/layout.hpp"

#include <functional>
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

/// The parts side by side in large numerals, where they fit, and every weight as plain text below them: a
/// sentence, or where there are many parts, several scales or no room a list in the order of weighing.
/// `price` may be empty.
void weights(Page& page, const Recipe& recipe, Mass step, const std::string& price = {});
/// Notes are said as one sentence without its point.
std::string sentence(const std::string& text, char decimal);
/// The line with the ratio says this already.
bool is_said_elsewhere(const Note& n);
void notes(Page& page, const Notes& list, bool warnings, std::string_view label);
void times(Page& page, const Mix& mix);
/// "costs 1.77 EUR", or nothing.
std::string price_of(const std::optional<BatchCost>& cost, const TextStyle& style);
/// In full, or one line that says where they are.
void cautions(Page& page, const std::vector<std::string>& list);

using Rows = std::vector<std::vector<std::string>>;
struct TableStyle {
  int indent = 0;
  bool heading = true;                           ///< the first row is one
  bool bold = false;                             ///< all rows below it
  std::function<bool(std::size_t)> warned = {};  ///< rows that warn
  std::function<void(std::size_t)> after = {};   ///< writes what belongs below a row
};
/// First column to the left, the others to the right. Names too long for their column stand above their
/// numbers; numbers too wide for the page stand under their names with their headings.
void table(Page& page, const Rows& rows, const TableStyle& style = {});

/// One step of a split: its cups, and what the hands do.
void split_step(Page& page, const SplitReport& r, const FilledStep& s, std::size_t number);

}  // namespace pourwright::phrases

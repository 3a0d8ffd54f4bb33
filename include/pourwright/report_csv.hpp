// SPDX-License-Identifier: GPL-3.0-or-later
// Results as tables of RFC 4180 for spreadsheets. With a decimal comma columns are separated by semicolons; a
// text that a spreadsheet would take for a formula is disarmed with an apostrophe.
#pragma once

#include <pourwright/report_inspect.hpp>
#include <pourwright/report_run.hpp>

#include <string>

namespace pourwright {

/// A row for each mold, and the total.
std::string card_csv(const CardReport& report, char decimal = '.');
/// A row for each file.
std::string inspect_csv(const InspectReport& report, char decimal = '.');
/// A row for every kind of piece in every batch.
std::string run_csv(const RunReport& report, char decimal = '.');
/// A row for each product.
std::string price_csv(const PriceReport& report, char decimal = '.');

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Values as JSON, the same in every document.
#pragma once

#include <pourwright/recipe.hpp>

#include <optional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace pourwright::json {

using Json = nlohmann::ordered_json;

/// Finite or null: RFC 8259 has no other numbers.
Json number(double v);
Json grams(Mass m);
Json interval(const Interval<Volume>& v);  ///< in mm³
Json interval(const Interval<Mass>& v);    ///< in g
/// Any byte string is a file name; JSON is UTF-8. The exact bytes are given beside a readable form.
void put_path(Json& j, const std::string& path);
Json notes(const Notes& list);
Json problem(const std::optional<Problem>& p);
Json parts(const std::vector<Part>& list);
/// The document as text with a line break at the end.
std::string finish(const Json& j);

}  // namespace pourwright::json

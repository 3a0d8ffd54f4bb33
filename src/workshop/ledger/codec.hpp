// SPDX-License-Identifier: GPL-3.0-or-later
// Records as flat JSON objects: one shape for the exports, the imports and the sheets kept in the file.
#pragma once

#include <pourwright/ledger.hpp>

#include <nlohmann/json.hpp>

namespace pourwright::ledger {

using Json = nlohmann::ordered_json;

/// Columns of an export in order. `text` ones hold text, the others a number, true or false, or a list.
struct Column {
  std::string_view name;
  bool text;
};
inline constexpr Column columns[] = {
    {"id", false},        {"at", true},      {"kind", true},          {"mold", true},     {"content", true},
    {"molds", false},     {"mix", true},     {"ratio", false},        {"water_g", false}, {"celsius", false},
    {"volume_ml", false}, {"mass_g", false}, {"mixed_g", false},      {"left_g", false},  {"cups", false},
    {"ran_short", false}, {"room_c", false}, {"scale_step_g", false}, {"defects", true},  {"record", false},
    {"sheet", false},     {"supply", true},  {"change", true},        {"cost", true},     {"currency", true},
    {"note", true},       {"lot", true},     {"believed", false},
};

Json to_json(const What& what);  ///< "kind" first, then its fields; empty ones are left out
/// The reverse; the message names the field. Checks types and ranges, then `implausible`.
Expected<What> from_json(const Json& object);

std::optional<StockChange::Kind> stock_kind(std::string_view word);

Json sheet_json(const BatchSheet& sheet);
Expected<BatchSheet> sheet_from_json(const Json& object);

}  // namespace pourwright::ledger

// SPDX-License-Identifier: GPL-3.0-or-later
// Prices and pack sizes as they stand in a file.
#pragma once

#include <pourwright/material.hpp>

#include "workshop/material/entry.hpp"

#include <string_view>

namespace pourwright::material {

/// "5 kg = 17.50": a quantity and its price; without one where prices may be missing.
Expected<PackSize> parse_pack(std::string_view text, const Currency& currency, bool priced);

/// An amount in quotes; nothing when the key is absent.
Amount money(Entry& entry, std::string_view key, const Currency& currency);

Expected<SupplyPrice> read_supply_price(const toml::table& table, std::string_view label,
                                        const Currency& currency);

}  // namespace pourwright::material

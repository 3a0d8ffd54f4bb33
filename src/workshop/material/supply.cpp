// SPDX-License-Identifier: GPL-3.0-or-later
// What a supply costs by the kilogram, from its price or its packs.
#include "workshop/material/supply.hpp"

#include <fmt/format.h>

namespace pourwright::material {

Expected<PackSize> parse_pack(std::string_view text, const Currency& currency, bool priced) {
  const auto equals = text.find('=');
  const auto size = parse_mass(text.substr(0, equals));
  if (!size) return size.error();
  if (*size <= Mass()) return fail(Code::bad_quantity, fmt::format("“{}” is an empty pack", text));
  PackSize out{*size, std::nullopt};
  if (equals == std::string_view::npos) {
    if (priced) return fail(Code::bad_quantity, fmt::format("“{}” has no price", text));
    return out;
  }
  const auto price = parse_amount(text.substr(equals + 1), currency);
  if (!price) return price.error();
  if (*price < Amount()) return fail(Code::bad_number, fmt::format("“{}” has a negative price", text));
  out.price = *price;
  return out;
}

Amount money(Entry& entry, std::string_view key, const Currency& currency) {
  const std::string text = entry.text(key, "0");
  const auto a = parse_amount(text, currency);
  if (a && *a >= Amount()) return *a;
  entry.refuse(key,
               a ? fmt::format("“{}” is “{}”, less than nothing", key, text)
                 : fmt::format("“{}”: {}", key, a.error().text),
               a ? fmt::format("write it in quotes, like {} = \"1.30\"", key) : a.error().hint);
  return {};
}

Expected<SupplyPrice> read_supply_price(const toml::table& table, std::string_view label,
                                        const Currency& currency) {
  Entry e(table, "[[supply]]", label);
  SupplyPrice s;
  s.name = e.required("name", "\"mineral powder\"");
  for (const std::string& line : e.lines("packs")) {
    const auto pack = parse_pack(line, currency, false);
    if (pack)
      s.packs.push_back(*pack);
    else
      e.refuse("packs", fmt::format("“packs”: {}", pack.error().text),
               "write it like packs = [\"5 kg = 17.50\"]");
  }
  if (e.has("price")) s.per_kilogram = money(e, "price", currency);
  if (auto p = e.finish()) return *p;
  return s;
}

}  // namespace pourwright::material

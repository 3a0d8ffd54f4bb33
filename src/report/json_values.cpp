// SPDX-License-Identifier: GPL-3.0-or-later
// Values as JSON, the same in every document. The law: grams are exact decimals, so that printed parts add up
// to printed totals; what is not finite is null.
#include "report/json_values.hpp"

#include <cmath>

#include <fmt/format.h>

namespace pourwright::json {

Json number(double v) {
  return std::isfinite(v) ? Json(v + 0.0) : Json(nullptr);
}  // + 0.0: no "-0"
Json grams(Mass m) {
  return m.in_micrograms() % 1'000'000 == 0 ? Json(m.in_micrograms() / 1'000'000) : Json(m.in_grams());
}

Json interval(const Interval<Volume>& v) {
  return {{"value", number(in_cubic_millimetres(v.value))},
          {"low", number(in_cubic_millimetres(v.low))},
          {"high", number(in_cubic_millimetres(v.high))}};
}
Json interval(const Interval<Mass>& v) {
  return {{"value", grams(v.value)}, {"low", grams(v.low)}, {"high", grams(v.high)}};
}

namespace {

bool is_utf8(std::string_view s) {
  try {
    (void)Json(std::string(s)).dump();
    return true;
  } catch (const Json::type_error&) {
    return false;
  }
}

std::string base64(std::string_view s) {
  static constexpr char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < s.size(); i += 3) {
    const std::size_t n = std::min<std::size_t>(3, s.size() - i);
    std::uint32_t v = 0;
    for (std::size_t k = 0; k < 3; ++k) v = v << 8 | (k < n ? static_cast<unsigned char>(s[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k) out += k <= n ? digits[v >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

}  // namespace

void put_path(Json& j, const std::string& path) {
  j["path"] = path;
  if (!is_utf8(path)) j["path_base64"] = base64(path);
}

Json notes(const Notes& list) {
  Json out = Json::array();
  for (const Note& n : list) out.push_back({{"code", n.code}, {"text", n.text}, {"warning", n.warning}});
  return out;
}

Json problem(const std::optional<Problem>& p) {
  if (!p) return nullptr;
  return {{"code", info(p->code).slug}, {"text", p->text}, {"hint", p->hint}};
}

Json parts(const std::vector<Part>& list) {
  Json out = Json::array();
  for (const Part& p : list) {
    out.push_back({{"name", p.name}, {"kind", name(p.kind)}, {"g", grams(p.mass)}});
    if (!p.scale.empty()) out.back()["scale"] = p.scale;
  }
  return out;
}

namespace {

/// The library's own writer is not always shortest (0.000649 becomes 0.0006489999999999999), so that printed
/// parts would not add up; fmt's is. Malformed UTF-8 in strings becomes U+FFFD.
void write(const Json& j, std::string& out, std::size_t indent) {
  if (j.is_number_float()) {
    out += fmt::format("{}", j.get<double>());
  } else if (j.is_structured() && !j.empty()) {
    const std::string margin(indent + 1, ' ');
    std::string_view before = j.is_object() ? "{\n" : "[\n";
    for (const auto& [key, value] : j.items()) {
      out += before;
      out += margin;
      if (j.is_object()) out += Json(key).dump(-1, ' ', false, Json::error_handler_t::replace) + ": ";
      write(value, out, indent + 1);
      before = ",\n";
    }
    out += "\n" + std::string(indent, ' ') + (j.is_object() ? "}" : "]");
  } else {
    out += j.dump(-1, ' ', false, Json::error_handler_t::replace);
  }
}

}  // namespace

std::string finish(const Json& j) {
  std::string out;
  write(j, out, 0);
  return out + "\n";
}

}  // namespace pourwright::json

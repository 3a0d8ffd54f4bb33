// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities are read as people type them and kept as exact integers or doubles in one unit. A number that
// could mean two things in two countries is refused. Grams are rounded once, to nearest, halves to even, in
// integers.
#include <pourwright/units.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>
#include <optional>

#include <fmt/format.h>

namespace pourwright {
namespace {

__extension__ using Wide = __int128;

/// a/b to nearest, exact halves to even; b > 0.
Wide divide_half_even(Wide a, Wide b) {
  Wide q = a / b, r = a % b;
  if (r < 0) {
    r += b;
    --q;
  }
  const Wide twice = 2 * r;
  if (twice > b || (twice == b && (q & 1) != 0)) ++q;
  return q;
}

std::string_view trim(std::string_view s) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; };
  while (!s.empty() && blank(s.front())) s.remove_prefix(1);
  while (!s.empty() && blank(s.back())) s.remove_suffix(1);
  return s;
}

std::string lower(std::string_view s) {
  std::string out(s);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

/// A decimal number taken apart: value = sign · digits · 10^exponent, digits without binary rounding.
struct Decimal {
  bool negative = false;
  std::string digits;  // significant digits, no leading zeros
  int exponent = 0;
  bool grouped = false;  // "1,000": a decimal comma, or a thousand
};

/// Length of the numeric prefix, and its parts. Accepts "12", "-1.5", "1,5", ".5", "1e3".
std::optional<std::pair<Decimal, std::size_t>> scan_decimal(std::string_view s) {
  Decimal d;
  std::size_t i = 0;
  if (i < s.size() && (s[i] == '+' || s[i] == '-')) d.negative = s[i++] == '-';
  bool any = false, point = false;
  for (; i < s.size(); ++i) {
    const char c = s[i];
    if (c >= '0' && c <= '9') {
      any = true;
      if (point) --d.exponent;
      if (c != '0' || !d.digits.empty()) d.digits.push_back(c);
    } else if ((c == '.' || c == ',') && !point) {
      point = true;
    } else {
      break;
    }
  }
  if (!any || (i < s.size() && (s[i] == '.' || s[i] == ','))) return std::nullopt;
  const std::size_t comma = s.substr(0, i).find(','), start = s[0] == '+' || s[0] == '-' ? 1 : 0;
  d.grouped = comma != std::string_view::npos && i - comma == 4 && comma > start && comma - start <= 3 &&
              s[start] != '0';
  if (i + 1 < s.size() && (s[i] == 'e' || s[i] == 'E')) {
    int e = 0;
    const char* first = s.data() + i + 1;
    const bool plus = *first == '+';
    if (plus) ++first;
    const auto [end, ec] = std::from_chars(first, s.data() + s.size(), e);
    if (ec == std::errc{} && !(plus && *first == '-') && e > -400 && e < 400) {
      d.exponent += e;
      i = static_cast<std::size_t>(end - s.data());
    }
  }
  return std::pair{d, i};
}

/// d · 10^scale as an integer, halves to even; nothing when it does not fit.
std::optional<std::int64_t> to_integer(const Decimal& d, int scale) {
  int e = d.exponent + scale;
  std::string digits = d.digits;
  if (digits.empty()) return 0;
  if (e >= 0) {
    if (digits.size() + static_cast<std::size_t>(e) > 18) return std::nullopt;
    digits.append(static_cast<std::size_t>(e), '0');
    e = 0;
  }
  Wide kept = 0;
  const std::size_t drop = static_cast<std::size_t>(-e);
  const std::size_t keep = digits.size() > drop ? digits.size() - drop : 0;
  if (keep > 18) return std::nullopt;
  for (std::size_t i = 0; i < keep; ++i) kept = kept * 10 + (digits[i] - '0');
  if (drop > 0) {
    // Leading dropped digit decides, the rest only break the tie.
    const char first = drop <= digits.size() ? digits[keep] : '0';
    bool rest = false;
    for (std::size_t i = keep + (drop <= digits.size() ? 1 : 0); i < digits.size(); ++i)
      rest |= digits[i] != '0';
    if (first > '5' || (first == '5' && (rest || (kept & 1) != 0))) ++kept;
  }
  const auto v = static_cast<std::int64_t>(kept);
  return d.negative ? -v : v;
}

std::optional<double> to_double(const Decimal& d) {
  const std::string text =
      fmt::format("{}{}e{}", d.negative ? "-" : "", d.digits.empty() ? "0" : d.digits, d.exponent);
  double v = 0;
  const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), v);
  if (ec != std::errc{} || !std::isfinite(v)) return std::nullopt;
  return v;
}

Problem not_a_number(std::string_view text) {
  return fail(Code::bad_number, fmt::format("“{}” is not a number", text),
              "write it like 2.5 or 2,5, without thousands separators");
}

/// Three digits behind a comma are a decimal fraction to one half of the world and a thousand to the other.
Problem two_readings(std::string_view text, const Decimal& d) {
  std::string whole = d.digits,
              part = d.digits.substr(0, d.digits.size() - 3) + "." + d.digits.substr(d.digits.size() - 3);
  part.erase(part.find_last_not_of('0') + 1);
  if (part.back() == '.') part.pop_back();
  return fail(Code::bad_number, fmt::format("“{}” can be {} or {}", text, part, whole),
              fmt::format("write {} or {}: no separator between thousands", part, whole));
}

struct UnitFactor {
  std::string_view word;
  double factor;
};

// Volumes in mm³. US measures from the gallon of 231 cubic inches, exact: NIST Handbook 44, Appendix C. Each
// is the double nearest to its decimal value, which a product of rounded factors would miss.
constexpr double cubic_inch = 16387.064;
constexpr double gallon = 3785411.784;
constexpr double uk_gallon = 4546090;  // by definition 4.54609 litres
constexpr std::array volume_units{
    UnitFactor{"ml", 1e3},
    UnitFactor{"milliliter", 1e3},
    UnitFactor{"millilitre", 1e3},
    UnitFactor{"cl", 1e4},
    UnitFactor{"dl", 1e5},
    UnitFactor{"l", 1e6},
    UnitFactor{"cm3", 1e3},
    UnitFactor{"cm³", 1e3},
    UnitFactor{"cc", 1e3},
    UnitFactor{"mm3", 1},
    UnitFactor{"mm³", 1},
    UnitFactor{"in3", cubic_inch},
    UnitFactor{"in³", cubic_inch},
    UnitFactor{"gal", gallon},
    UnitFactor{"floz", gallon / 128},
    UnitFactor{"fl oz", gallon / 128},
    UnitFactor{"fl.oz", gallon / 128},
    UnitFactor{"cup", gallon / 16},
    UnitFactor{"cups", gallon / 16},
    UnitFactor{"pt", gallon / 8},
    UnitFactor{"qt", gallon / 4},
    UnitFactor{"tbsp", gallon / 256},
    UnitFactor{"tsp", gallon / 768},
    UnitFactor{"ukgal", uk_gallon},
    UnitFactor{"ukpt", uk_gallon / 8},
    UnitFactor{"ukfloz", uk_gallon / 160},
};
constexpr std::array length_units{
    UnitFactor{"mm", 1},     UnitFactor{"cm", 10},     UnitFactor{"m", 1000},
    UnitFactor{"in", 25.4},  UnitFactor{"inch", 25.4}, UnitFactor{"\"", 25.4},
    UnitFactor{"ft", 304.8}, UnitFactor{"um", 1e-3},   UnitFactor{"µm", 1e-3},
};
constexpr std::array density_units{
    UnitFactor{"g/ml", 1}, UnitFactor{"g/cm3", 1},  UnitFactor{"g/cm³", 1},    UnitFactor{"g/cc", 1},
    UnitFactor{"kg/l", 1}, UnitFactor{"kg/dm3", 1}, UnitFactor{"kg/m3", 1e-3}, UnitFactor{"kg/m³", 1e-3},
};
constexpr std::array duration_units{
    UnitFactor{"s", 1},        UnitFactor{"sec", 1},     UnitFactor{"min", 60},     UnitFactor{"minute", 60},
    UnitFactor{"minutes", 60}, UnitFactor{"h", 3600},    UnitFactor{"hour", 3600},  UnitFactor{"hours", 3600},
    UnitFactor{"d", 86400},    UnitFactor{"day", 86400}, UnitFactor{"days", 86400},
};
// Micrograms; the pound is 453.59237 g exactly.
struct MassUnit {
  std::string_view word;
  std::int64_t micrograms_numerator, denominator;
};
constexpr std::array mass_units{
    MassUnit{"g", 1'000'000, 1},    MassUnit{"kg", 1'000'000'000, 1}, MassUnit{"mg", 1'000, 1},
    MassUnit{"ug", 1, 1},           MassUnit{"gram", 1'000'000, 1},   MassUnit{"grams", 1'000'000, 1},
    MassUnit{"lb", 453'592'370, 1}, MassUnit{"lbs", 453'592'370, 1},  MassUnit{"oz", 453'592'370, 16},
};

template <class Table>
const auto* find_unit(const Table& units, std::string_view word) {
  const auto it = std::find_if(units.begin(), units.end(), [&](const auto& u) { return u.word == word; });
  return it == units.end() ? nullptr : &*it;
}

template <class Table>
Expected<double> parse_with(const Table& units, std::string_view text, std::string_view bare,
                            std::string_view what, std::string_view known) {
  const std::string_view t = trim(text);
  const auto scanned = scan_decimal(t);
  if (!scanned) return not_a_number(text);
  // A density has no thousands but in kg/m3, where three decimals have no sense.
  if (scanned->first.grouped && what != "density") return two_readings(text, scanned->first);
  const std::string word = lower(trim(t.substr(scanned->second)));
  const auto* unit = find_unit(units, word.empty() ? bare : std::string_view(word));
  if (unit == nullptr)
    return fail(Code::bad_quantity, fmt::format("“{}” is not a {} unit", word, what),
                fmt::format("use one of {}", known));
  const auto v = to_double(scanned->first);
  if (!v || !std::isfinite(*v * unit->factor)) return not_a_number(text);
  return *v * unit->factor;
}

}  // namespace

std::int64_t multiply_divide(std::int64_t numerator, std::int64_t a, std::int64_t b) {
  return static_cast<std::int64_t>(divide_half_even(Wide{numerator} * a, b));
}

Mass operator*(Mass m, Ratio r) {
  return Mass::micrograms(multiply_divide(m.in_micrograms(), r.in_millionths(), 1'000'000));
}
Mass operator*(Volume v, Density d) {
  return Mass::grams(in_millilitres(v) * in_grams_per_millilitre(d));
}
Volume operator/(Mass m, Density d) {
  return millilitres(m.in_grams() / in_grams_per_millilitre(d));
}

Mass round_to(Mass m, Mass step) {
  return step * static_cast<std::int64_t>(divide_half_even(m.in_micrograms(), step.in_micrograms()));
}
Mass round_up_to(Mass m, Mass step) {
  const auto s = step.in_micrograms();
  return Mass::micrograms((m.in_micrograms() + s - 1) / s * s);
}

Expected<double> parse_number(std::string_view text) {
  const std::string_view t = trim(text);
  const auto scanned = scan_decimal(t);
  if (!scanned || scanned->second != t.size()) return not_a_number(text);
  const auto v = to_double(scanned->first);
  if (!v) return not_a_number(text);
  return *v;
}

Expected<DecimalDigits> parse_decimal(std::string_view text, int places) {
  const std::string_view t = trim(text);
  const auto scanned = scan_decimal(t);
  if (!scanned || scanned->second != t.size()) return not_a_number(text);
  const Decimal& d = scanned->first;
  if (d.grouped) return two_readings(text, d);
  const auto v = to_integer(d, places);
  if (!v) return fail(Code::bad_number, fmt::format("“{}” is too large", text));
  const std::size_t end = d.digits.find_last_not_of('0');
  const std::size_t trailing = end == std::string::npos ? d.digits.size() : d.digits.size() - end - 1;
  return DecimalDigits{*v, d.digits.empty() || d.exponent + static_cast<int>(trailing) + places >= 0};
}

Expected<Ratio> parse_ratio(std::string_view text) {
  const std::string_view t = trim(text);
  // "3.2:1" and "320/100" are parts of powder to parts of liquid.
  if (const auto colon = t.find_first_of(":/"); colon != std::string_view::npos) {
    const auto powder = parse_ratio(t.substr(0, colon)), liquid = parse_ratio(t.substr(colon + 1));
    const bool once = t.find_first_of(":/", colon + 1) == std::string_view::npos;
    if (!once || !powder || !liquid || *liquid <= Ratio())
      return fail(Code::bad_number, fmt::format("“{}” is not a ratio", text),
                  "write parts of powder to parts of liquid, like 3.2:1, or 3.2");
    if (powder->in_millionths() > 1'000'000'000'000)
      return fail(Code::bad_number, fmt::format("“{}” is too large", text));
    return Ratio::millionths(multiply_divide(powder->in_millionths(), 1'000'000, liquid->in_millionths()));
  }
  const auto scanned = scan_decimal(t);
  if (!scanned || scanned->second != t.size()) return not_a_number(text);
  const auto v = to_integer(scanned->first, 6);
  if (!v) return fail(Code::bad_number, fmt::format("“{}” is too large", text));
  return Ratio::millionths(*v);
}

Expected<Ratio> parse_percent(std::string_view text) {
  std::string_view t = trim(text);
  if (!t.empty() && t.back() == '%') t = trim(t.substr(0, t.size() - 1));
  const auto scanned = scan_decimal(t);
  if (!scanned || scanned->second != t.size()) return not_a_number(text);
  const auto v = to_integer(scanned->first, 4);
  if (!v) return fail(Code::bad_number, fmt::format("“{}” is too large", text));
  return Ratio::millionths(*v);
}

Expected<Mass> parse_mass(std::string_view text) {
  const std::string_view t = trim(text);
  const auto scanned = scan_decimal(t);
  if (!scanned) return not_a_number(text);
  if (scanned->first.grouped) return two_readings(text, scanned->first);
  const std::string word = lower(trim(t.substr(scanned->second)));
  const auto* unit = find_unit(mass_units, word.empty() ? std::string_view("g") : std::string_view(word));
  if (unit == nullptr)
    return fail(Code::bad_quantity, fmt::format("“{}” is not a mass unit", word), "use one of g kg mg oz lb");
  // Exact: the decimal as an integer of 10^-9, times the unit, divided once.
  const auto nano = to_integer(scanned->first, 9);
  if (!nano) return fail(Code::bad_number, fmt::format("“{}” is too large", text));
  const Wide ug =
      divide_half_even(Wide{*nano} * unit->micrograms_numerator, Wide{1'000'000'000} * unit->denominator);
  if (ug > std::numeric_limits<std::int64_t>::max() || ug < std::numeric_limits<std::int64_t>::min())
    return fail(Code::bad_number, fmt::format("“{}” is too large", text));
  return Mass::micrograms(static_cast<std::int64_t>(ug));
}

Expected<Volume> parse_volume(std::string_view text) {
  const auto v = parse_with(volume_units, text, "ml", "volume", "ml cl l cm3 mm3 in3 floz cup tbsp tsp");
  if (!v) return v.error();
  return cubic_millimetres(*v);
}

Expected<Length> parse_length(std::string_view text) {
  const auto v = parse_with(length_units, text, "mm", "length", "mm cm m in ft");
  if (!v) return v.error();
  return millimetres(*v);
}

Expected<Density> parse_density(std::string_view text) {
  const auto v = parse_with(density_units, text, "g/ml", "density", "g/mL g/cm3 kg/L kg/m3");
  if (!v) return v.error();
  return grams_per_millilitre(*v);
}

Expected<Duration> parse_duration(std::string_view text) {
  const auto v = parse_with(duration_units, text, "min", "time", "s min h d");
  if (!v) return v.error();
  return Duration(*v);
}

Expected<Temperature> parse_temperature(std::string_view text) {
  std::string_view number = trim(text);
  char unit = 'C';
  if (!number.empty() && std::string_view("CcFf").find(number.back()) != std::string_view::npos) {
    unit = number.back();
    number.remove_suffix(1);
    number = trim(number);
    if (number.ends_with("°")) number.remove_suffix(std::string_view("°").size());
  }
  const auto v = parse_number(trim(number));
  if (!v)
    return fail(Code::bad_quantity, fmt::format("“{}” is not a temperature", text),
                "write it like 17C or 63F");
  return celsius(unit == 'F' || unit == 'f' ? (*v - 32) / 1.8 : *v);
}

Expected<LengthUnit> parse_length_unit(std::string_view text) {
  const std::string word = lower(trim(text));
  using enum LengthUnit;
  for (const LengthUnit u : {mm, cm, m, in, ft})
    if (word == name(u)) return u;
  if (word == "inch" || word == "inches") return in;
  if (word == "millimeter" || word == "millimetre") return mm;
  return fail(Code::bad_quantity, fmt::format("“{}” is not a length unit a mesh can be in", text),
              "use one of mm cm m in ft");
}

std::string_view name(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::mm:
      return "mm";
    case LengthUnit::cm:
      return "cm";
    case LengthUnit::m:
      return "m";
    case LengthUnit::in:
      return "in";
    case LengthUnit::ft:
      return "ft";
  }
  return "mm";
}

double millimetres_in(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::mm:
      return 1;
    case LengthUnit::cm:
      return 10;
    case LengthUnit::m:
      return 1000;
    case LengthUnit::in:
      return 25.4;
    case LengthUnit::ft:
      return 304.8;
  }
  return 1;
}

std::string fixed(double value, int decimals) {
  std::string s = fmt::format("{:.{}f}", value, decimals);
  // "-0.00" says nothing that "0.00" does not.
  if (s.front() == '-' && s.find_first_not_of("-0.") == std::string::npos) s.erase(0, 1);
  return s;
}

std::string grams_text(Mass m, Mass step) {
  int decimals = 6;
  for (std::int64_t s = step.in_micrograms(), v = m.in_micrograms();
       decimals > 0 && s % 10 == 0 && v % 10 == 0; s /= 10, v /= 10)
    --decimals;
  const std::int64_t ug = m.in_micrograms();
  const std::uint64_t a = ug < 0 ? 0 - static_cast<std::uint64_t>(ug) : static_cast<std::uint64_t>(ug);
  std::string out = fmt::format("{}{}", ug < 0 ? "-" : "", a / 1'000'000);
  if (decimals > 0)
    out += "." + fmt::format("{:06}", a % 1'000'000).substr(0, static_cast<std::size_t>(decimals));
  return out;
}

std::string_view nearest_name(std::string_view word, const std::vector<std::string>& candidates) {
  const std::string a = lower(word);
  std::string_view best;
  std::size_t best_distance = std::min<std::size_t>(3, std::max<std::size_t>(2, a.size() / 2));
  for (const std::string& candidate : candidates) {
    const std::string b = lower(candidate);
    if (b.size() > a.size() + 2 || a.size() > b.size() + 2) continue;
    // Damerau–Levenshtein, optimal string alignment: one row per letter of a.
    std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
    for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i)
      for (std::size_t j = 1; j <= b.size(); ++j) {
        const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
        d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + change});
        if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
          d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
      }
    if (d[a.size()][b.size()] < best_distance) {
      best_distance = d[a.size()][b.size()];
      best = candidate;
    }
  }
  return best;
}

}  // namespace pourwright

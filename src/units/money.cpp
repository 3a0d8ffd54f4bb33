// SPDX-License-Identifier: GPL-3.0-or-later
// Money as a whole number of a currency's smallest parts, with the arithmetic of prices: exact, rounded
// once, refused where it would overflow. Currencies and their decimals are those of ISO 4217.
#include <pourwright/money.hpp>

#include <algorithm>
#include <array>
#include <limits>

#include <fmt/format.h>

namespace pourwright {
namespace {

using Wide = Amount::Wide;

constexpr std::int64_t billion = 1'000'000'000;

struct Exponent {
  int exponent;
  std::string_view codes;
};
// ISO 4217, the codes in use. MGA and MRU are listed with two decimals although their subunit is a fifth.
constexpr std::array exponents{
    Exponent{0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"},
    Exponent{3, "BHD IQD JOD KWD LYD OMR TND"},
    Exponent{4, "CLF UYW"},
    Exponent{2,
             "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD "
             "CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD "
             "GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD "
             "MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP "
             "PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS "
             "TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD YER ZAR ZMW"},
};

std::int64_t power_of_ten(int n) {
  std::int64_t p = 1;
  for (int i = 0; i < n; ++i) p *= 10;
  return p;
}

std::int64_t narrowed(Wide v) {
  constexpr Wide most = std::numeric_limits<std::int64_t>::max();
  return static_cast<std::int64_t>(std::clamp(v, -most, most));
}

/// a/b to an integer; b > 0.
Wide divide(Wide a, Wide b, Rounding rule) {
  Wide q = a / b, r = a % b;
  if (r < 0) {
    r += b;
    --q;
  }
  if (r == 0) return q;
  const Wide twice = 2 * r;
  const bool half = twice == b, more = twice > b;
  switch (rule) {
    case Rounding::half_even:
      return more || (half && (q & 1) != 0) ? q + 1 : q;
    case Rounding::half_up:
      return more || (half && a > 0) ? q + 1 : q;
    case Rounding::up:
      return q + 1;
    case Rounding::down:
      return q;
  }
  return q;
}

std::string_view without_spaces(std::string_view s) {
  while (!s.empty() && s.front() == ' ') s.remove_prefix(1);
  while (!s.empty() && s.back() == ' ') s.remove_suffix(1);
  return s;
}

std::string upper(std::string_view s) {
  std::string out(s);
  for (char& c : out)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return out;
}

/// The number of `text` without the currency's code before or after it.
std::string_view without_code(std::string_view text, const Currency& currency) {
  const std::string letters = upper(text);
  const std::size_t n = currency.code.size();
  if (letters.starts_with(currency.code)) return without_spaces(text.substr(n));
  if (letters.ends_with(currency.code)) return without_spaces(text.substr(0, text.size() - n));
  return text;
}

std::string decimal_text(Wide value, int decimals) {
  const bool negative = value < 0;
  const Wide a = negative ? -value : value;
  const Wide unit = power_of_ten(decimals);
  std::string out = fmt::format("{}{}", negative ? "-" : "", narrowed(a / unit));
  if (decimals > 0) out += fmt::format(".{:0{}}", static_cast<std::int64_t>(a % unit), decimals);
  return out;
}

}  // namespace

Expected<Currency> find_currency(std::string_view code) {
  const std::string wanted = upper(without_spaces(code));
  std::vector<std::string> known;
  for (const Exponent& e : exponents)
    for (std::string_view rest = e.codes; rest.size() >= 3;
         rest.remove_prefix(std::min<std::size_t>(4, rest.size()))) {
      if (rest.substr(0, 3) == wanted) return Currency{wanted, e.exponent};
      known.emplace_back(rest.substr(0, 3));
    }
  const std::string_view near = nearest_name(wanted, known);
  return fail(Code::unknown_name, fmt::format("“{}” is not a currency of ISO 4217", code),
              near.empty() ? "write its three letters, like EUR" : fmt::format("did you mean “{}”?", near));
}

Amount Amount::of(Money m, const Currency& currency) {
  return billionths(Wide{m.in_minor()} * power_of_ten(9 - currency.exponent));
}

Amount proportion(Amount amount, std::int64_t part, std::int64_t whole) {
  return Amount::billionths(divide(amount.in_billionths() * part, whole, Rounding::half_even));
}
Amount operator*(Amount a, Ratio r) {
  return proportion(a, r.in_millionths(), 1'000'000);
}
Amount cost_of(Mass mass, Amount per_kilogram) {
  return proportion(per_kilogram, mass.in_micrograms(), billion);
}
Amount cost_of(Duration time, Amount per_hour) {
  return proportion(per_hour, std::llround(time.base() * 1000), 3'600'000);
}

Money rounded(Amount amount, const Currency& currency, Rounding rule) {
  return Money::minor(narrowed(divide(amount.in_billionths(), power_of_ten(9 - currency.exponent), rule)));
}
Money rounded(Money money, Money step, Rounding rule) {
  return Money::minor(narrowed(divide(money.in_minor(), step.in_minor(), rule) * step.in_minor()));
}

Expected<Amount> parse_amount(std::string_view text, const Currency& currency) {
  const std::string_view number = without_code(without_spaces(text), currency);
  const auto value = parse_decimal(number, 9);
  if (!value && number.find(',') != std::string_view::npos) return value.error();
  if (value && value->exact) return Amount::billionths(value->digits);
  return fail(Code::bad_number,
              fmt::format("“{}” is not an amount in {} under a thousand million with at most nine decimals",
                          text, currency.code),
              fmt::format("write it like 1.30 or 1.30 {}", currency.code));
}

std::string money_text(Money money, const Currency& currency) {
  return decimal_text(money.in_minor(), currency.exponent);
}

std::string amount_text(Amount amount, const Currency& currency) {
  Wide v = amount.in_billionths();
  int decimals = 9;
  for (; decimals > currency.exponent && v % 10 == 0; --decimals) v /= 10;
  return decimal_text(v, decimals);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// Money without binary fractions. `Money` is whole minor units (cents), what is on a price tag; `Amount` is
// money on its way there, in billionths of the major unit. One rule: amounts are carried unrounded and
// rounded once, to Money, at the end of a line; sums are sums of rounded lines.
//
// Units: the major unit is what prices are said in (euro, yen, dinar); the minor one is its 10^-exponent.
// Neither value carries its currency: a list has one, and mixing two is the caller's mistake. Range: Money
// ±9.2e18 minor units, Amount ±1.7e29 major ones; what is typed stays under a thousand million, so that no
// product of four such runs over. Everything is O(1). Errors: only reading fails, with bad_number or
// unknown_name.
#pragma once

#include <pourwright/problem.hpp>
#include <pourwright/units.hpp>

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

namespace pourwright {

/// A currency and its ISO 4217 exponent: a minor unit is 10^-exponent of the major one.
struct Currency {
  std::string code = "EUR";
  int exponent = 2;  ///< 0 to 4
};
/// "EUR", "eur". Fails with the nearest known code. The exponents are those of ISO 4217, kept in
/// src/units/money.cpp.
Expected<Currency> find_currency(std::string_view code);

/// How the last digit is decided. `half_even` is ISO 80000-1 rule A, `half_up` (away from zero) its rule B;
/// `up` goes to the next multiple above, `down` to the next below.
enum class Rounding : std::uint8_t { half_even, half_up, up, down };

/// Whole minor units of one currency, which the value itself does not carry: what can be paid. Addition and
/// whole multiples are exact; there is no division, because a rest would be lost (see `spread` in price.hpp).
class Money {
 public:
  constexpr Money() = default;
  static constexpr Money minor(std::int64_t v) {
    Money m;
    m.minor_ = v;
    return m;
  }
  constexpr std::int64_t in_minor() const { return minor_; }

  constexpr Money operator+(Money o) const { return minor(minor_ + o.minor_); }
  constexpr Money operator-(Money o) const { return minor(minor_ - o.minor_); }
  constexpr Money operator-() const { return minor(-minor_); }
  constexpr Money operator*(std::int64_t k) const { return minor(minor_ * k); }
  constexpr Money& operator+=(Money o) {
    minor_ += o.minor_;
    return *this;
  }
  /// By amount; only of one currency.
  constexpr auto operator<=>(const Money&) const = default;

 private:
  std::int64_t minor_ = 0;
};

/// Money before rounding, in billionths of the major unit, 128 bits wide: unit prices, costs, products of
/// them. Addition and whole multiples are exact; every other operation rounds once, by half a billionth at
/// most.
class Amount {
 public:
  __extension__ using Wide = __int128;
  constexpr Amount() = default;
  static constexpr Amount billionths(Wide v) {
    Amount a;
    a.nano_ = v;
    return a;
  }
  /// Exact: every exponent divides the billionths.
  static Amount of(Money m, const Currency& currency);
  constexpr Wide in_billionths() const { return nano_; }

  constexpr Amount operator+(Amount o) const { return billionths(nano_ + o.nano_); }
  constexpr Amount operator-(Amount o) const { return billionths(nano_ - o.nano_); }
  constexpr Amount operator-() const { return billionths(-nano_); }
  constexpr Amount operator*(std::int64_t k) const { return billionths(nano_ * k); }
  constexpr Amount& operator+=(Amount o) {
    nano_ += o.nano_;
    return *this;
  }
  constexpr auto operator<=>(const Amount&) const = default;

 private:
  Wide nano_ = 0;
};

/// amount · part / whole, exact halves to even. Precondition: whole > 0.
Amount proportion(Amount amount, std::int64_t part, std::int64_t whole);
/// The same with a ratio's millionths.
Amount operator*(Amount a, Ratio r);
/// What a mass costs at a price per kilogram.
Amount cost_of(Mass mass, Amount per_kilogram);
/// What a time costs at a price per hour; times are taken to the millisecond.
Amount cost_of(Duration time, Amount per_hour);

/// To whole minor units: the one rounding at the end of a line.
Money rounded(Amount amount, const Currency& currency, Rounding rule = Rounding::half_even);
/// To whole multiples of `step`, for prices that end in .00, .50 or .95 steps. Precondition: step > 0.
Money rounded(Money money, Money step, Rounding rule);

/// "1.30", "1,30", "1.30 EUR", "EUR 1.30"; never a thousands separator. Under a thousand million,
/// with at most nine decimals: more are refused, not rounded.
Expected<Amount> parse_amount(std::string_view text, const Currency& currency);

/// "12.50"; "13" where there are no minor units.
std::string money_text(Money money, const Currency& currency);
/// An amount with as many decimals as it needs, at least the currency's: "0.0085", "1.30".
std::string amount_text(Amount amount, const Currency& currency);

}  // namespace pourwright

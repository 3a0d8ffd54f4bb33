// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities as types. Density is the only door from a volume to a mass; masses are whole micrograms,
// ratios are whole millionths, so that sums of rounded parts are exact.
//
// Laws. Geometry is real (doubles): lengths, areas, volumes, densities, times, temperatures. What is weighed,
// shared or priced is whole (64-bit): masses, ratios, money. A real number becomes a whole one in one place,
// with one rounding: by halves to even (ISO 80000-1:2009 rule A) wherever a sum must come out again, so that
// no side is favoured. Nothing here allocates but text; everything is O(1) or O(length of the text).
//
// Errors. Reading refuses with bad_number or bad_quantity, naming the text and the unit that was meant;
// arithmetic does not check: nothing the program accepts comes near the limits, which are 9.2e12 g and ratios
// of 9.2e12.
#pragma once

#include <pourwright/problem.hpp>

#include <cmath>
#include <compare>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// A real quantity of one kind, in the base unit beside its name. Made and read only through the named
/// functions below it, so that no number passes from one unit to another unseen. Quantities of a kind add,
/// scale by a number, and divide to a number; kinds do not mix. The operators round as doubles do.
template <class Kind>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double base) : base_(base) {}
  constexpr double base() const { return base_; }

  constexpr Quantity operator-() const { return Quantity(-base_); }
  constexpr Quantity operator+(Quantity o) const { return Quantity(base_ + o.base_); }
  constexpr Quantity operator-(Quantity o) const { return Quantity(base_ - o.base_); }
  constexpr Quantity operator*(double k) const { return Quantity(base_ * k); }
  constexpr Quantity operator/(double k) const { return Quantity(base_ / k); }
  constexpr double operator/(Quantity o) const { return base_ / o.base_; }
  constexpr Quantity& operator+=(Quantity o) {
    base_ += o.base_;
    return *this;
  }
  constexpr Quantity& operator-=(Quantity o) {
    base_ -= o.base_;
    return *this;
  }
  constexpr auto operator<=>(const Quantity&) const = default;

 private:
  double base_ = 0;
};

using Length = Quantity<struct LengthKind>;            // mm
using Area = Quantity<struct AreaKind>;                // mm²
using Volume = Quantity<struct VolumeKind>;            // mm³
using Density = Quantity<struct DensityKind>;          // g/mL
using Duration = Quantity<struct DurationKind>;        // s
using Temperature = Quantity<struct TemperatureKind>;  // °C

// One pair for each unit the program speaks; what is typed in other units is converted where it is read.
constexpr Length millimetres(double v) {
  return Length(v);
}
constexpr double in_millimetres(Length v) {
  return v.base();
}
constexpr Area square_millimetres(double v) {
  return Area(v);
}
constexpr double in_square_millimetres(Area v) {
  return v.base();
}
constexpr Volume cubic_millimetres(double v) {
  return Volume(v);
}
constexpr double in_cubic_millimetres(Volume v) {
  return v.base();
}
/// 1 ml = 1 cm³ = 1000 mm³, exact since 1964.
constexpr Volume millilitres(double v) {
  return Volume(v * 1000.0);
}
constexpr double in_millilitres(Volume v) {
  return v.base() / 1000.0;
}
constexpr Density grams_per_millilitre(double v) {
  return Density(v);
}
constexpr double in_grams_per_millilitre(Density v) {
  return v.base();
}
constexpr Duration minutes(double v) {
  return Duration(v * 60.0);
}
constexpr double in_minutes(Duration v) {
  return v.base() / 60.0;
}
/// A point on the scale, not a difference.
constexpr Temperature celsius(double v) {
  return Temperature(v);
}
constexpr double in_celsius(Temperature v) {
  return v.base();
}

/// A mass in whole micrograms (±9.2e12 g). Addition is exact, so that parts in steps of a scale add up to
/// their total whatever the order; a microgram is a thousandth of what the finest scale of a workshop reads.
class Mass {
 public:
  constexpr Mass() = default;
  static constexpr Mass micrograms(std::int64_t v) {
    Mass m;
    m.ug_ = v;
    return m;
  }
  /// Nearest microgram, halves away from zero.
  static Mass grams(double v) { return micrograms(std::llround(v * 1e6)); }
  constexpr std::int64_t in_micrograms() const { return ug_; }
  /// Exact up to 9e9 g, a double's 53 bits.
  constexpr double in_grams() const { return static_cast<double>(ug_) / 1e6; }

  constexpr Mass operator+(Mass o) const { return micrograms(ug_ + o.ug_); }
  constexpr Mass operator-(Mass o) const { return micrograms(ug_ - o.ug_); }
  constexpr Mass operator-() const { return micrograms(-ug_); }
  constexpr Mass operator*(std::int64_t k) const { return micrograms(ug_ * k); }
  constexpr Mass& operator+=(Mass o) {
    ug_ += o.ug_;
    return *this;
  }
  constexpr Mass& operator-=(Mass o) {
    ug_ -= o.ug_;
    return *this;
  }
  constexpr auto operator<=>(const Mass&) const = default;

 private:
  std::int64_t ug_ = 0;
};

/// A decimal number in whole millionths: mixing ratios, shares, doses, allowances. 3.2 is exactly 3.2, which
/// no double is: powder for 102 g at 3.2 is 326.4 g, not one step less.
class Ratio {
 public:
  constexpr Ratio() = default;
  static constexpr Ratio millionths(std::int64_t v) {
    Ratio r;
    r.ppm_ = v;
    return r;
  }
  /// Nearest millionth, halves away from zero. 1 is the whole in `of`, 100 in `percent`.
  static Ratio of(double v) { return millionths(std::llround(v * 1e6)); }
  static Ratio percent(double v) { return millionths(std::llround(v * 1e4)); }
  constexpr std::int64_t in_millionths() const { return ppm_; }
  constexpr double value() const { return static_cast<double>(ppm_) / 1e6; }
  constexpr double in_percent() const { return static_cast<double>(ppm_) / 1e4; }
  constexpr Ratio operator+(Ratio o) const { return millionths(ppm_ + o.ppm_); }
  constexpr Ratio operator-(Ratio o) const { return millionths(ppm_ - o.ppm_); }
  constexpr auto operator<=>(const Ratio&) const = default;

 private:
  std::int64_t ppm_ = 0;
};

/// numerator·a/b rounded to the nearest integer, exact halves to even (ISO 80000-1 rule A): the one rounding
/// that weighing and pricing are made of. 128-bit inside, so that the product never runs over; the result
/// must fit 64. Precondition: b > 0.
std::int64_t multiply_divide(std::int64_t numerator, std::int64_t a, std::int64_t b);

/// Ratio of a mass, exact in micrograms, halves to even.
Mass operator*(Mass m, Ratio r);
/// The only door from volume to mass: ml · g/ml, in doubles, then to the nearest microgram.
Mass operator*(Volume v, Density d);
/// How much room a mass takes.
Volume operator/(Mass m, Density d);

/// Rounds to a whole number of `step`s, exact halves to even. Precondition: step > 0.
Mass round_to(Mass m, Mass step);
/// The smallest whole number of `step`s that is at least m. Precondition: step > 0, m >= 0.
Mass round_up_to(Mass m, Mass step);

/// Why an interval is as wide as it is.
struct Reason {
  std::string text;
  double share = 0;  ///< half width this reason alone would give, relative to the value
};

/// A value with the range in which the truth lies, and the reasons in order of size. low <= value <= high;
/// the two sides need not be alike. It is a bound, not a standard deviation: widths add, they are not added
/// in squares.
template <class T>
struct Interval {
  T value{};
  T low{};
  T high{};
  std::vector<Reason> reasons;
  static Interval exactly(T v) { return {v, v, v, {}}; }
};

// ---- reading what people type -------------------------------------------------------------------------
// A decimal point or one decimal comma; never a thousands separator, "nan", "inf" or hexadecimal. White space
// around is ignored, anything else that is left over is an error. Factors are exact: avoirdupois pound
// 453.59237 g (1959), US gallon 231 in³, inch 25.4 mm.

/// "2.5", "2,5", "-3", "1e3".
Expected<double> parse_number(std::string_view text);
/// The same text as a whole number of 10^-places, halves to even: "1.30" at 9 places is 1300000000. `exact`
/// says that nothing was rounded away. At most 18 digits.
struct DecimalDigits {
  std::int64_t digits = 0;
  bool exact = true;
};
Expected<DecimalDigits> parse_decimal(std::string_view text, int places);
/// The same text as whole millionths without passing through binary: "3.2" is 3200000 exactly.
Expected<Ratio> parse_ratio(std::string_view text);
/// "5%", "5 %", or a bare number taken as percent.
Expected<Ratio> parse_percent(std::string_view text);
/// "102g", "0.4kg", "12 oz", "1lb", "250mg"; a bare number is grams. Exact to the microgram.
Expected<Mass> parse_mass(std::string_view text);
/// "250ml", "0.25l", "8floz", "1cup", "12cm3", "500mm3", "1in3"; a bare number is millilitres.
Expected<Volume> parse_volume(std::string_view text);
/// "2mm", "1.5cm", "0.1m", "2in", "1ft"; a bare number is millimetres.
Expected<Length> parse_length(std::string_view text);
/// "1.82 g/mL", "1.82g/cm3", "1820 kg/m3"; a bare number is g/mL.
Expected<Density> parse_density(std::string_view text);
/// "14 min", "90 s", "1.5 h", "7 d"; a bare number is minutes.
Expected<Duration> parse_duration(std::string_view text);
/// "17C", "17 °C", "63F"; a bare number is degrees Celsius.
Expected<Temperature> parse_temperature(std::string_view text);

/// The length unit a mesh file is written in. Formats without one leave it to the caller.
enum class LengthUnit : std::uint8_t { mm, cm, m, in, ft };
Expected<LengthUnit> parse_length_unit(std::string_view text);
std::string_view name(LengthUnit unit);
/// Millimetres in one unit; exact by definition (inch 25.4 mm).
double millimetres_in(LengthUnit unit);

// ---- writing numbers ----------------------------------------------------------------------------------

/// Fixed decimals with '.', no trailing sign tricks: "12.50".
std::string fixed(double value, int decimals);
/// A mass in grams with as many decimals as its step needs: 326400000 µg on a 0.1 g scale is "326.4".
std::string grams_text(Mass m, Mass step);

/// The nearest of `candidates` within two edits (Damerau–Levenshtein), or nothing. For "did you mean".
std::string_view nearest_name(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace pourwright

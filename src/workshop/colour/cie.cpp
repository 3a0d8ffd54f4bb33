// SPDX-License-Identifier: GPL-3.0-or-later
// Colour as numbers: IEC 61966-2-1 (sRGB), CIE 15 (L*a*b*), CIEDE2000.
#include <pourwright/colour.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <optional>

#include <fmt/format.h>

namespace pourwright {
namespace {

// White of D65, CIE 15, Y = 1.
constexpr double white_x = 0.95047, white_z = 1.08883;
constexpr double epsilon = 216.0 / 24389, kappa = 24389.0 / 27;

double to_linear(double v) {
  return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
}
double to_screen(double v) {
  return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
}

double lab_curve(double t) {
  return t > epsilon ? std::cbrt(t) : (kappa * t + 16) / 116;
}
double lab_curve_inverse(double f) {
  return f * f * f > epsilon ? f * f * f : (116 * f - 16) / kappa;
}

Problem not_a_colour(std::string_view text) {
  return fail(Code::bad_quantity, fmt::format("“{}” is not a colour", text),
              "write #5f8a62, or lab(52 -18 14) from an instrument");
}

std::optional<Colour> parse_hex(std::string_view digits) {
  const bool shorthand = digits.size() == 3;
  if (!shorthand && digits.size() != 6) return {};
  std::array<double, 3> channel{};
  for (std::size_t i = 0; i < 3; ++i) {
    const std::string_view d = shorthand ? digits.substr(i, 1) : digits.substr(2 * i, 2);
    unsigned value = 0;
    const auto [end, ec] = std::from_chars(d.data(), d.data() + d.size(), value, 16);
    if (ec != std::errc{} || end != d.data() + d.size()) return {};
    channel[i] = to_linear((shorthand ? 17 * value : value) / 255.0);
  }
  return Colour{channel[0], channel[1], channel[2]};
}

std::optional<Lab> parse_lab(std::string_view inside) {
  std::array<double, 3> v{};
  for (std::size_t i = 0; i < 3; ++i) {
    inside.remove_prefix(std::min(inside.find_first_not_of(i ? " ," : " "), inside.size()));
    if (inside.starts_with('+')) inside.remove_prefix(1);
    const auto [end, ec] = std::from_chars(inside.data(), inside.data() + inside.size(), v[i]);
    if (ec != std::errc{} || !std::isfinite(v[i])) return {};
    inside.remove_prefix(static_cast<std::size_t>(end - inside.data()));
  }
  if (inside.find_first_not_of(' ') != std::string_view::npos) return {};
  return Lab{v[0], v[1], v[2]};
}

double degrees(double radians) {
  return radians * 180 / std::numbers::pi;
}
double radians(double degrees) {
  return degrees * std::numbers::pi / 180;
}

/// Hue angle in [0, 360), 0 for grey.
double hue(double a, double b) {
  if (a == 0 && b == 0) return 0;
  const double h = degrees(std::atan2(b, a));
  return h < 0 ? h + 360 : h;
}

double seventh(double c) {
  const double c7 = std::pow(c, 7);
  return std::sqrt(c7 / (c7 + std::pow(25.0, 7)));
}

}  // namespace

Expected<Colour> parse_colour(std::string_view text) {
  if (text.starts_with('#')) {
    const auto c = parse_hex(text.substr(1));
    if (c) return *c;
  } else if (text.starts_with("lab(") && text.ends_with(')')) {
    const auto l = parse_lab(text.substr(4, text.size() - 5));
    if (!l) return not_a_colour(text);
    const Colour c = from_lab(*l);
    constexpr double slack = 5e-3;  // the rounding of an instrument's display
    for (const double v : {c.red, c.green, c.blue})
      if (v < -slack || v > 1 + slack)
        return fail(Code::bad_quantity, fmt::format("“{}” is a colour that no screen shows", text),
                    "the guess works with three bands of light and has no number for it");
    return Colour{std::clamp(c.red, 0.0, 1.0), std::clamp(c.green, 0.0, 1.0), std::clamp(c.blue, 0.0, 1.0)};
  }
  return not_a_colour(text);
}

std::string hex(const Colour& colour) {
  std::string s = "#";
  for (const double v : {colour.red, colour.green, colour.blue})
    s += fmt::format("{:02x}", std::lround(255 * std::clamp(to_screen(std::clamp(v, 0.0, 1.0)), 0.0, 1.0)));
  return s;
}

Lab lab(const Colour& c) {
  const double x = 0.4124564 * c.red + 0.3575761 * c.green + 0.1804375 * c.blue;
  const double y = 0.2126729 * c.red + 0.7151522 * c.green + 0.0721750 * c.blue;
  const double z = 0.0193339 * c.red + 0.1191920 * c.green + 0.9503041 * c.blue;
  const double fx = lab_curve(x / white_x), fy = lab_curve(y), fz = lab_curve(z / white_z);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

Colour from_lab(const Lab& l) {
  const double fy = (l.l + 16) / 116;
  const double x = white_x * lab_curve_inverse(fy + l.a / 500), y = lab_curve_inverse(fy),
               z = white_z * lab_curve_inverse(fy - l.b / 200);
  return {3.2404542 * x - 1.5371385 * y - 0.4985314 * z, -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,
          0.0556434 * x - 0.2040259 * y + 1.0572252 * z};
}

double difference(const Lab& one, const Lab& other) {
  const double g = 0.5 * (1 - seventh((std::hypot(one.a, one.b) + std::hypot(other.a, other.b)) / 2));
  const double a1 = (1 + g) * one.a, a2 = (1 + g) * other.a;
  const double c1 = std::hypot(a1, one.b), c2 = std::hypot(a2, other.b);
  const double h1 = hue(a1, one.b), h2 = hue(a2, other.b);
  const bool grey = c1 * c2 == 0;

  double turn = grey ? 0 : h2 - h1;
  if (turn > 180) turn -= 360;
  if (turn < -180) turn += 360;
  const double dl = other.l - one.l, dc = c2 - c1, dh = 2 * std::sqrt(c1 * c2) * std::sin(radians(turn / 2));

  const double l = (one.l + other.l) / 2, c = (c1 + c2) / 2;
  double h = h1 + h2;
  if (!grey) h = std::abs(h1 - h2) <= 180 ? h / 2 : h < 360 ? (h + 360) / 2 : (h - 360) / 2;

  const double t = 1 - 0.17 * std::cos(radians(h - 30)) + 0.24 * std::cos(radians(2 * h)) +
                   0.32 * std::cos(radians(3 * h + 6)) - 0.20 * std::cos(radians(4 * h - 63));
  const double sl = 1 + 0.015 * (l - 50) * (l - 50) / std::sqrt(20 + (l - 50) * (l - 50));
  const double sc = 1 + 0.045 * c, sh = 1 + 0.015 * c * t;
  const double angle = (h - 275) / 25;
  const double rt = -2 * seventh(c) * std::sin(radians(60 * std::exp(-angle * angle)));
  const double l_part = dl / sl, c_part = dc / sc, h_part = dh / sh;
  return std::sqrt(l_part * l_part + c_part * c_part + h_part * h_part + rt * c_part * h_part);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// What people type about how a mesh is to be read, as values. Law: every word is either understood whole or
// refused with one that would do; nothing is guessed from a part of it.
#include <pourwright/door.hpp>

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {

Expected<Reading> parse_reading(std::string_view text) {
  for (const Reading r : {Reading::mold, Reading::piece, Reading::scan})
    if (text == name(r)) return r;
  return fail(Code::usage, fmt::format("“{}” is no reading of a file", text), "use mold, piece or scan");
}

Expected<Point> parse_direction(std::string_view text) {
  static constexpr std::string_view axes = "xyz";
  const auto bad = [&](std::string_view what) {
    return fail(Code::bad_quantity, fmt::format("“{}” {}", text, what),
                "use +z, -y or three numbers like 0,0,1");
  };
  Point p{0, 0, 0};
  const bool sign = !text.empty() && (text[0] == '+' || text[0] == '-');
  const std::string_view letter = text.substr(sign ? 1 : 0);
  if (letter.size() == 1 && axes.find(letter[0]) != std::string_view::npos) {
    p[axes.find(letter[0])] = text[0] == '-' ? -1 : 1;
    return p;
  }
  // Two commas exactly: a third would be taken for a decimal comma.
  if (std::count(text.begin(), text.end(), ',') != 2) return bad("is not a direction");
  std::string_view rest = text;
  for (double& x : p) {
    const auto comma = rest.find(',');
    const auto v = parse_number(rest.substr(0, comma));
    if (!v) return bad("is not a direction");
    x = *v;
    rest = comma == std::string_view::npos ? std::string_view() : rest.substr(comma + 1);
  }
  if (!(p[0] * p[0] + p[1] * p[1] + p[2] * p[2] > 1e-300)) return bad("points nowhere");
  return p;
}

Expected<FillLevel> parse_fill_level(std::string_view text) {
  if (text == "brim") return FillLevel{};
  FillLevel out;
  if (!text.empty() && text.back() == '%') {
    const auto share = parse_percent(text);
    if (!share) return share.error();
    out = {FillLevel::Kind::share, share->value()};
    if (out.value <= 0 || out.value > 1)
      return fail(Code::fill_out_of_range, fmt::format("a fill of {} is not between 0 % and 100 %", text));
    return out;
  }
  const auto length = parse_length(text);
  if (!length) {
    const auto volume = parse_volume(text);
    if (volume && *volume > Volume())
      return FillLevel{FillLevel::Kind::volume, in_cubic_millimetres(*volume)};
    return fail(Code::bad_quantity, fmt::format("“{}” is not a fill level", text),
                "use brim, -2mm, 35mm, 80% or 180ml");
  }
  const double mm = in_millimetres(*length);
  return mm <= 0 ? FillLevel{FillLevel::Kind::below_brim, -mm} : FillLevel{FillLevel::Kind::height, mm};
}

Expected<FillTo> parse_fill_to(std::string_view text) {
  if (text == "decide") return FillTo{};
  if (text == "brims") return FillTo{FillTo::Kind::brims, {}};
  if (text == "rim") return FillTo{FillTo::Kind::rim, {}};
  FillTo out{FillTo::Kind::chosen, {}};
  const char *at = text.data(), *end = at + text.size();
  while (true) {
    int id = 0;
    const auto [after, error] = std::from_chars(at, end, id);
    if (error != std::errc() || id < 1 || (after != end && *after != ','))
      return fail(Code::bad_quantity, fmt::format("“{}” names no cavities", text),
                  "use brims, rim, or numbers as measure lists them: 1,3");
    out.ids.push_back(id);
    if (after == end) return out;
    at = after + 1;
  }
}

Expected<CloseHoles> parse_close_holes(std::string_view text) {
  using Which = CloseHoles::Which;
  if (text == "decide") return CloseHoles{Which::decide, {}};
  if (text == "none") return CloseHoles{Which::nothing, {}};
  if (text == "all") return CloseHoles{Which::all, {}};
  std::string_view length = text;
  for (const std::string_view words : {"up-to ", "up-to="})
    if (text.starts_with(words)) length.remove_prefix(words.size());
  const auto size = parse_length(length);
  if (size && *size > Length()) return CloseHoles{Which::up_to, *size};
  return fail(Code::usage, fmt::format("“{}” does not say which holes to close", text),
              "use all, none, or up-to with a size: up-to 12mm");
}

Expected<Length> parse_gap(std::string_view text) {
  const auto gap = parse_length(text);
  if (gap && *gap < Length())
    return fail(Code::bad_quantity, fmt::format("{} is less than nothing", text),
                "give the widest gap to close, such as 0.1mm, or 0mm to close none");
  return gap;
}

namespace {

/// Half a unit in the last digit that was typed, relative to the number: 118 is 118 ± 0.5.
double implied_doubt(std::string_view number, double value) {
  int decimals = 0;
  bool point = false;
  for (const char c : number) {
    if (c == '.' || c == ',')
      point = true;
    else if (c < '0' || c > '9')
      break;
    else if (point)
      ++decimals;
  }
  return 0.5 * std::pow(10.0, -decimals) / value;
}

/// "0,0,0,12,5,3": two different points.
bool read_points(std::string_view text, Point& p, Point& q) {
  for (std::size_t i = 0; i < 6; ++i) {
    const auto comma = text.find(',');
    if ((comma == std::string_view::npos) != (i == 5)) return false;
    const auto n = parse_number(text.substr(0, comma));
    if (!n) return false;
    (i < 3 ? p : q)[i % 3] = *n;
    text = i < 5 ? text.substr(comma + 1) : std::string_view();
  }
  return p != q;
}

}  // namespace

Expected<KnownSize> parse_known_size(std::string_view text) {
  using enum KnownSize::Kind;
  static constexpr std::pair<std::string_view, KnownSize::Kind> sides[] = {
      {"x", x}, {"y", y}, {"z", z}, {"longest", longest}};
  const auto wrong = [&] {
    return fail(Code::bad_quantity, fmt::format("“{}” is not a known size", text),
                "write x=118mm, longest=118mm, capacity=186ml, or two points: 0,0,0,12,5,3=42mm");
  };
  const auto equals = text.find('=');
  if (equals == std::string_view::npos) return wrong();
  const std::string_view what = text.substr(0, equals), amount = text.substr(equals + 1);
  KnownSize k;
  k.text = text;
  if (what == "capacity") {
    const auto v = parse_volume(amount);
    if (!v) return v.error();
    k.kind = capacity;
    k.size = in_cubic_millimetres(*v);
  } else {
    const auto v = parse_length(amount);
    if (!v) return v.error();
    k.size = in_millimetres(*v);
    const auto* const side =
        std::find_if(std::begin(sides), std::end(sides), [&](const auto& s) { return s.first == what; });
    if (side != std::end(sides))
      k.kind = side->second;
    else if (read_points(what, k.p, k.q))
      k.kind = between;
    else
      return wrong();
  }
  if (!(k.size > 0)) return wrong();
  const auto typed = parse_number(amount.substr(0, amount.find_first_not_of("0123456789.,")));
  k.doubt = typed && *typed > 0 ? implied_doubt(amount, *typed) : 0.01;
  return k;
}

}  // namespace pourwright

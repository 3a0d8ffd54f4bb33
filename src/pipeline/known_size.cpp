// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/known_size.hpp"

#include <cmath>

#include <fmt/format.h>

namespace pourwright {
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

}  // namespace

Expected<KnownSize> parse_known_size(std::string_view text) {
  const auto equals = text.find('=');
  const auto wrong = [&] {
    return fail(Code::bad_quantity, fmt::format("“{}” is not a known size", text),
                "write x=118mm, longest=118mm, capacity=186ml, or two points: 0,0,0,12,5,3=42mm");
  };
  if (equals == std::string_view::npos) return wrong();
  const std::string_view what = text.substr(0, equals), amount = text.substr(equals + 1);
  KnownSize k;
  using enum KnownSize::Kind;
  if (what == "capacity") {
    k.kind = capacity;
    const auto v = parse_volume(amount);
    if (!v) return v.error();
    k.size = in_cubic_millimetres(*v);
  } else {
    const auto v = parse_length(amount);
    if (!v) return v.error();
    k.size = in_millimetres(*v);
    if (what == "x")
      k.kind = x;
    else if (what == "y")
      k.kind = y;
    else if (what == "z")
      k.kind = z;
    else if (what == "longest")
      k.kind = longest;
    else {
      k.kind = between;
      std::string_view rest = what;
      for (int i = 0; i < 6; ++i) {
        const auto comma = rest.find(',');
        if ((comma == std::string_view::npos) != (i == 5)) return wrong();
        const auto n = parse_number(rest.substr(0, comma));
        if (!n) return wrong();
        (i < 3 ? k.p : k.q)[i % 3] = *n;
        rest = i < 5 ? rest.substr(comma + 1) : std::string_view();
      }
      if (k.p == k.q) return wrong();
    }
  }
  if (!(k.size > 0)) return wrong();
  double typed = 0;
  if (const auto n = parse_number(amount.substr(0, amount.find_first_not_of("0123456789.,")))) typed = *n;
  k.doubt = typed > 0 ? implied_doubt(amount, typed) : 0.01;
  return k;
}

double scale_for(const KnownSize& known, double now) {
  return known.kind == KnownSize::Kind::capacity ? std::cbrt(known.size / now) : known.size / now;
}

double size_now(const KnownSize& known, const Box& box) {
  const Vec3 s = box.size();
  switch (known.kind) {
    case KnownSize::Kind::x:
      return s.x();
    case KnownSize::Kind::y:
      return s.y();
    case KnownSize::Kind::z:
      return s.z();
    case KnownSize::Kind::longest:
      return s.maxCoeff();
    case KnownSize::Kind::between:
      return (known.p - known.q).norm();
    case KnownSize::Kind::capacity:
      break;
  }
  return 0;
}

}  // namespace pourwright

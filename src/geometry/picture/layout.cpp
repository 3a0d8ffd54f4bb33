// SPDX-License-Identifier: GPL-3.0-or-later
// What stands beside the views: signs that differ by shape as well as by colour, bars of round lengths, the
// scale of tones.
#include "geometry/picture/layout.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::picture {
namespace {

using drawing::At;
using drawing::Ring;
using drawing::Shape;
using drawing::Stroke;

Ring moved(Ring ring, At by) {
  for (At& p : ring) p = {p.x + by.x, p.y + by.y};
  return ring;
}

/// A sign with a rim of paper round it, so that it shows on everything.
void put_sign(drawing::Sheet& sheet, std::vector<Ring> rings, bool closed, const drawing::Ink& ink,
              bool filled, double width) {
  sheet.items.push_back(Shape{rings, closed, {}, Stroke{panel, width + 3.5}});
  sheet.items.push_back(Shape{std::move(rings), closed,
                              filled ? std::optional(ink) : std::optional<drawing::Ink>(),
                              Stroke{ink, width}});
}

}  // namespace

void put_mark(drawing::Sheet& sheet, Mark mark, At at) {
  switch (mark) {
    case Mark::spill:
      // A drop that falls.
      return put_sign(
          sheet,
          {moved({{0, -9}, {4.2, -2}, {4.8, 1.6}, {3, 4.6}, {0, 5.8}, {-3, 4.6}, {-4.8, 1.6}, {-4.2, -2}},
                 at)},
          true, water, true, 1.4);
    case Mark::vent:
      sheet.items.push_back(Shape{{drawing::circle(at, 6.5)}, true, panel, {}});
      return put_sign(sheet, {drawing::circle(at, 6.5), drawing::circle(at, 1.6)}, true, water, false, 2);
    case Mark::drain:
      return put_sign(sheet, {moved({{-6, -7}, {6, -7}, {0, 7}}, at)}, true, alarm, true, 1.4);
    case Mark::thinnest:
      put_sign(sheet, {drawing::circle(at, 8)}, true, alarm, false, 2.2);
      return put_sign(sheet,
                      {moved({{-13, 0}, {-8, 0}}, at), moved({{8, 0}, {13, 0}}, at),
                       moved({{0, -13}, {0, -8}}, at), moved({{0, 8}, {0, 13}}, at)},
                      false, alarm, false, 2.2);
  }
}

double round_length(double most) {
  if (!(most > 0)) return 1;
  const double ten = std::pow(10, std::floor(std::log10(most)));
  for (const double f : {5.0, 2.0})
    if (f * ten <= most) return f * ten;
  return ten;
}

std::string number_text(double v, double step, char decimal) {
  const int digits = std::clamp(static_cast<int>(std::ceil(-std::log10(std::max(step, 1e-9)) - 1e-9)), 0, 9);
  std::string s = fmt::format("{:.{}f}", v, digits);
  if (s == "-0") s = "0";
  std::replace(s.begin(), s.end(), '.', decimal);
  return s;
}

std::string length_text(double mm, char decimal) {
  if (mm >= 1000) return number_text(mm / 1000, mm >= 10'000 ? 1 : 0.1, decimal) + " m";
  return number_text(mm, std::min(1.0, std::pow(10, std::floor(std::log10(std::max(mm, 1e-6)) + 1e-9))),
                     decimal) +
         " mm";
}

void put_words(drawing::Sheet& sheet, At at, double size, std::string text, const drawing::Ink& ink,
               drawing::Anchor anchor, bool bold) {
  if (!text.empty()) sheet.items.push_back(drawing::Words{at, size, std::move(text), ink, anchor, bold});
}

void put_line(drawing::Sheet& sheet, Ring line, const Stroke& stroke) {
  sheet.items.push_back(Shape{{std::move(line)}, false, {}, stroke});
}

void put_box(drawing::Sheet& sheet, const Place& a, const drawing::Ink& fill, std::optional<Stroke> edge) {
  sheet.items.push_back(
      Shape{{{{a.x, a.y}, {a.x + a.width, a.y}, {a.x + a.width, a.y + a.height}, {a.x, a.y + a.height}}},
            true,
            fill,
            edge});
}

void put_scale(drawing::Sheet& sheet, At left, double points_per_mm, char decimal) {
  const double mm = round_length(170 / points_per_mm), length = mm * points_per_mm;
  put_line(sheet, {{left.x, left.y - 4}, {left.x, left.y + 4}}, {text_ink, 1.6});
  put_line(sheet, {{left.x, left.y}, {left.x + length, left.y}}, {text_ink, 1.6});
  put_line(sheet, {{left.x + length, left.y - 4}, {left.x + length, left.y + 4}}, {text_ink, 1.6});
  put_words(sheet, {left.x + length + 9, left.y + 5}, 15, length_text(mm, decimal), text_ink);
}

void put_tones(drawing::Sheet& sheet, const Place& a, double most, std::optional<double> limit,
               const PictureWords& words) {
  const double step = a.height / drawing::tones;
  const auto y_of = [&](double mm) { return a.y + a.height * (1 - std::min(mm / most, 1.0)); };
  for (int k = 0; k < drawing::tones; ++k)
    put_box(sheet, {a.x, a.y + a.height - (k + 1) * step, a.width, step + 0.5}, drawing::tone(k));
  if (limit && *limit > 0) {
    const double y = y_of(*limit);
    const Ring thin = {{a.x, y}, {a.x + a.width, y}, {a.x + a.width, a.y + a.height}, {a.x, a.y + a.height}};
    // In bands, for a line that shows on one tone does not on another.
    for (int k = 0; k < 2; ++k) {
      const double border = std::clamp(a.y + a.height / 2, y, a.y + a.height);
      const Ring half = k == 0 ? Ring{{a.x, border}, {a.x + a.width, border}, thin[2], thin[3]}
                               : Ring{thin[0], thin[1], {a.x + a.width, border}, {a.x, border}};
      sheet.items.push_back(Shape{drawing::hatching({half}, 45, 8),
                                  false,
                                  {},
                                  Stroke{hatch_on(drawing::tone(k == 0 ? 0 : drawing::tones - 1)), 1.8}});
    }
    put_line(sheet, {{a.x - 5, y}, {a.x + a.width + 5, y}}, {alarm, 2.4});
  }
  put_box(sheet, a, {0, 0, 0, 0}, Stroke{text_ink, 1});
  const double tick = round_length(most / 3);
  for (double k = 0; k * tick <= most * (1 + 1e-9); ++k) {
    const double y = y_of(k * tick);
    put_line(sheet, {{a.x + a.width, y}, {a.x + a.width + 5, y}}, {text_ink, 1});
    if (limit && std::abs(y - y_of(*limit)) < 14) continue;
    const bool top = (k + 1) * tick > most * (1 + 1e-9);
    put_words(sheet, {a.x + a.width + 10, y + 5}, 14,
              number_text(k * tick, tick, words.decimal) + (top ? "+" : ""), text_ink);
  }
  if (limit && *limit > 0)
    put_words(sheet, {a.x + a.width + 10, y_of(*limit) + 5}, 14,
              number_text(*limit, *limit < 10 ? 0.1 : 1, words.decimal), alarm, drawing::Anchor::start, true);
  put_words(sheet, {a.x + a.width + 44, a.y - 16}, 14, words.thickness, soft_ink, drawing::Anchor::end);
}

}  // namespace pourwright::picture

// SPDX-License-Identifier: GPL-3.0-or-later
// SVG 1.1 as text. Law: whatever stands in the words, the document stays well-formed: the five signs of
// markup are spelled out, and what XML forbids (control characters, surrogates, malformed bytes) becomes
// U+FFFD.
#include <pourwright/drawing.hpp>

#include "drawing/lettering.hpp"

#include <variant>

#include <fmt/format.h>

namespace pourwright::drawing {
namespace {

std::string utf8(char32_t c) {
  std::string out;
  const auto more = [&](int shift) { out += static_cast<char>(0x80 | (c >> shift & 0x3F)); };
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | c >> 6);
    more(0);
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | c >> 12);
    more(6), more(0);
  } else {
    out += static_cast<char>(0xF0 | c >> 18);
    more(12), more(6), more(0);
  }
  return out;
}

/// Marks that turn the direction of writing would let a name rewrite its neighbours.
bool turns_writing(char32_t c) {
  return c == 0x200E || c == 0x200F || (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
}

std::string escaped(std::string_view text) {
  std::string out;
  for (const char32_t c : letters_of(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        continue;
      case '<':
        out += "&lt;";
        continue;
      case '>':
        out += "&gt;";
        continue;
      case '"':
        out += "&quot;";
        continue;
      case '\'':
        out += "&#39;";
        continue;
      default:
        break;
    }
    const bool control = c < 0x20 || (c >= 0x7F && c < 0xA0);
    const bool forbidden = (c >= 0xD800 && c < 0xE000) || (c & 0xFFFE) == 0xFFFE;
    out += utf8(control || forbidden || turns_writing(c) ? U'\uFFFD' : c);
  }
  return out;
}

std::string base64(std::string_view bytes) {
  static constexpr std::string_view signs =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve(bytes.size() * 4 / 3 + 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t v = 0;
    for (std::size_t k = 0; k < 3; ++k)
      v = v << 8 | (i + k < bytes.size() ? static_cast<std::uint8_t>(bytes[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k) out += i + k > bytes.size() ? '=' : signs[v >> (18 - 6 * k) & 63];
  }
  return out;
}

std::string hex(const Ink& i) {
  return fmt::format("#{:02x}{:02x}{:02x}", i.r, i.g, i.b);
}
std::string opacity(std::string_view what, const Ink& i) {
  return i.alpha < 1 ? fmt::format(" {}-opacity=\"{:.3g}\"", what, i.alpha) : std::string();
}
std::string number(double v) {
  std::string s = fmt::format("{:.2f}", v);
  while (s.ends_with('0')) s.pop_back();
  if (s.ends_with('.')) s.pop_back();
  return s == "-0" ? "0" : s;
}

std::string path(const Shape& shape) {
  std::string out;
  for (const Ring& ring : shape.rings) {
    for (std::size_t i = 0; i < ring.size(); ++i)
      out += fmt::format("{}{} {}", i == 0 ? "M" : "L", number(ring[i].x), number(ring[i].y));
    if (shape.closed && !ring.empty()) out += 'Z';
  }
  return out;
}

/// `<tag …/>`, or with the words for those who cannot see it inside.
std::string element(std::string_view tag, const std::string& attributes, std::string_view says) {
  if (says.empty()) return fmt::format("<{} {}/>\n", tag, attributes);
  return fmt::format("<{0} {1}><title>{2}</title></{0}>\n", tag, attributes, escaped(says));
}

std::string written(const Shape& s) {
  std::string a = fmt::format("d=\"{}\" fill=\"{}\"", path(s), s.fill ? hex(*s.fill) : "none");
  if (s.fill) a += opacity("fill", *s.fill);
  if (s.edge) {
    a += fmt::format(" stroke=\"{}\" stroke-width=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"",
                     hex(s.edge->ink), number(s.edge->width));
    a += opacity("stroke", s.edge->ink);
    if (s.edge->dash > 0) a += fmt::format(" stroke-dasharray=\"{}\"", number(s.edge->dash));
  }
  return element("path", a, s.says);
}

std::string written(const Words& w) {
  std::string_view anchor = w.anchor == Anchor::middle ? " text-anchor=\"middle\""
                            : w.anchor == Anchor::end  ? " text-anchor=\"end\""
                                                       : "";
  // The viewer's font is as wide as ours was when the sheet was laid out; letters that ours lacks are not
  // known.
  const std::string length = can_letter(w.text) && !w.text.empty()
                                 ? fmt::format(" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"",
                                               number(width_of(w.text, w.size, w.bold)))
                                 : std::string();
  return fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{}{}{}>{}</text>\n", number(w.at.x),
                     number(w.at.y), number(w.size), hex(w.ink), w.bold ? " font-weight=\"bold\"" : "",
                     anchor, length, escaped(w.text));
}

}  // namespace

Expected<std::string> svg_of(const Sheet& sheet) {
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{0}\" "
      "height=\"{1}\" viewBox=\"0 0 {0} {1}\" role=\"img\" font-family=\"sans-serif\">\n<title>{2}</title>\n",
      sheet.width, sheet.height, escaped(sheet.title));
  if (!sheet.says.empty()) out += fmt::format("<desc>{}</desc>\n", escaped(sheet.says));
  out += fmt::format("<rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n", hex(sheet.paper));
  for (const auto& item : sheet.items) {
    if (const auto* const words = std::get_if<Words>(&item)) out += written(*words);
    if (const auto* const shape = std::get_if<Shape>(&item)) out += written(*shape);
    if (const auto* const placed = std::get_if<Placed>(&item)) {
      const auto png = png_of(placed->raster);
      if (!png) return png.error();
      out += element(
          "image",
          fmt::format("x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" xlink:href=\"data:image/png;base64,{}\"",
                      placed->x, placed->y, placed->raster.width, placed->raster.height, base64(*png)),
          placed->says);
    }
  }
  return out + "</svg>\n";
}

}  // namespace pourwright::drawing

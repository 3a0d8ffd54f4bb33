// SPDX-License-Identifier: GPL-3.0-or-later
// Which format a file is in, by its first bytes; its name decides only where the content leaves it open. The
// trap is a binary STL that begins with the word `solid`: its length tells.
#include "geometry/intake/sniff.hpp"

#include <pourwright/file_content.hpp>

#include "geometry/intake/numbers.hpp"
#include "geometry/intake/scalars.hpp"
#include "geometry/intake/text_reader.hpp"
#include "geometry/intake/xml_reader.hpp"

#include <algorithm>
#include <array>

namespace pourwright::intake {
namespace {

/// Control characters that no text has. Letters beyond ASCII may be in any encoding.
bool is_text(std::string_view head) {
  return std::none_of(head.begin(), head.end(), [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return (u < 0x20 && c != '\t' && c != '\n' && c != '\v' && c != '\f' && c != '\r' && c != 0x1A) ||
           u == 0x7F;
  });
}

bool is_wide_text(std::string_view head) {
  return head.starts_with("\xFF\xFE") || head.starts_with("\xFE\xFF") ||
         head.starts_with(std::string_view("\0\0\xFE\xFF", 4));
}

bool exact_binary_stl(std::string_view head, std::uint64_t size) {
  if (head.size() < 84) return false;
  const std::uint64_t count = load_scalar<std::uint32_t, std::endian::little>(head.data() + 80);
  return count > 0 && size == 84 + 50 * count;
}

std::string_view next_word(std::string_view& rest) {
  const std::size_t at = std::min(rest.find_first_not_of(" \t\v\f"), rest.size());
  rest.remove_prefix(at);
  const std::size_t n = std::min(rest.find_first_of(" \t\v\f\r\n"), rest.size());
  const std::string_view word = rest.substr(0, n);
  rest.remove_prefix(n);
  return word;
}

/// Line by line: an OBJ is known by a vertex or face line among nothing but its own kind of words.
bool looks_like_obj(std::string_view text) {
  constexpr std::array<std::string_view, 10> words{"vn", "vt",     "vp",     "o", "g",
                                                   "s",  "mtllib", "usemtl", "l", "p"};
  while (!text.empty()) {
    const std::size_t n = std::min(text.find_first_of("\r\n"), text.size());
    std::string_view line = text.substr(0, n);
    text.remove_prefix(std::min(n + 1, text.size()));
    const std::string_view word = next_word(line);
    if (word.empty() || word[0] == '#') continue;
    if (is_word(word, "v") || is_word(word, "f")) {
      const std::string_view number = next_word(line);
      return !number.empty() &&
             (detail::is_digit(number[0]) || number[0] == '-' || number[0] == '+' || number[0] == '.');
    }
    if (std::none_of(words.begin(), words.end(), [&](std::string_view w) { return is_word(word, w); }))
      return false;
  }
  return false;
}

/// First word of the first line that is neither empty nor a comment.
std::string_view first_word(std::string_view text) {
  while (true) {
    const std::size_t at = text.find_first_not_of(" \t\v\f\r\n");
    if (at == std::string_view::npos) return {};
    text.remove_prefix(at);
    if (text[0] != '#') return next_word(text);
    text.remove_prefix(std::min(text.find_first_of("\r\n"), text.size()));
  }
}

bool contains_word(std::string_view text, std::string_view lower) {
  return std::search(text.begin(), text.end(), lower.begin(), lower.end(), [](char a, char b) {
           return (a >= 'A' && a <= 'Z' ? static_cast<char>(a - 'A' + 'a') : a) == b;
         }) != text.end();
}

/// With a stray control character in it, an ASCII STL must not be taken for a binary one: its letters would
/// make perfectly finite coordinates.
bool is_ascii_stl_with_flaws(std::string_view head) {
  const std::string_view start = head.substr(0, 4096);
  return is_word(first_word(start.substr(0, 200)), "solid") && contains_word(start, "facet") &&
         contains_word(start, "outer") && contains_word(start, "vertex");
}

bool is_off_word(std::string_view word) {
  return word.size() >= 3 && word.size() <= 8 && is_word(word.substr(word.size() - 3), "off") &&
         word.substr(0, word.size() - 3).find_first_not_of("STCN4n") == std::string_view::npos;
}

MeshFormat sniff_xml(std::string_view text) {
  ByteWindow window(memory_source(std::as_bytes(std::span(text.data(), text.size()))), text.size());
  XmlReader xml(window);
  if (xml.next() != XmlReader::Event::start) return MeshFormat::unknown;
  if (is_word(xml.name(), "amf")) return MeshFormat::amf;
  if (is_word(xml.name(), "x3d")) return MeshFormat::x3d;
  if (is_word(xml.name(), "collada")) return MeshFormat::collada;
  return MeshFormat::unknown;
}

MeshFormat sniff_text(std::string_view text, std::string_view ending) {
  const std::string_view word = first_word(text);
  if (is_word(word, "solid") || is_word(word, "facet")) return MeshFormat::stl_ascii;
  if (is_off_word(word)) return MeshFormat::off;
  if (word.starts_with('<')) return sniff_xml(text);
  if (word.starts_with('{'))
    return ending == ".gltf" || text.find("\"asset\"") != std::string_view::npos ? MeshFormat::gltf
                                                                                 : MeshFormat::unknown;
  if (looks_like_obj(text)) return MeshFormat::obj;
  const MeshFormat promised = promised_format(ending);
  if (promised == MeshFormat::stl_binary) return MeshFormat::stl_ascii;
  if (promised == MeshFormat::obj || promised == MeshFormat::off || promised == MeshFormat::ply)
    return promised;
  return MeshFormat::unknown;
}

}  // namespace

MeshFormat sniff(std::string_view head, std::uint64_t size, std::string_view ending) {
  if (is_wide_text(head)) return MeshFormat::wide_text;
  const std::string_view marked = head.substr(head.starts_with("\xEF\xBB\xBF") ? 3 : 0);
  if (marked.size() > 3 && is_word(marked.substr(0, 3), "ply") &&
      static_cast<unsigned char>(marked[3]) <= ' ')
    return MeshFormat::ply;
  if (head.starts_with("PK\x03\x04") || head.starts_with("PK\x05\x06")) return MeshFormat::three_mf;
  if (head.starts_with("glTF")) return MeshFormat::glb;
  if (exact_binary_stl(head, size)) return MeshFormat::stl_binary;
  if (!content_name(head, size).empty()) return MeshFormat::unknown;
  if (is_text(marked)) return sniff_text(marked, ending);
  if (is_ascii_stl_with_flaws(marked)) return MeshFormat::stl_ascii;
  if (is_off_word(first_word(head.substr(0, 16)))) return MeshFormat::off;
  if (ending == ".stl" || (head.size() >= 84 && is_word(head.substr(0, 5), "solid")))
    return MeshFormat::stl_binary;
  // Text with a stray control character: the reader will name the line.
  const MeshFormat promised = promised_format(ending);
  if (promised == MeshFormat::ply || promised == MeshFormat::obj || promised == MeshFormat::off) {
    const auto odd = static_cast<std::size_t>(std::count(head.begin(), head.end(), '\0'));
    if (odd == 0) return promised;
  }
  return MeshFormat::unknown;
}

}  // namespace pourwright::intake

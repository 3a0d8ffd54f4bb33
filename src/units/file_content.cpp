// SPDX-License-Identifier: GPL-3.0-or-later
// Magic numbers of common files. The law: only marks that no mesh, table or TOML file begins with by chance;
// short ones count together with a second mark. Sources: the formats' own specifications, as the comments of
// each row's group name them.
#include <pourwright/file_content.hpp>

#include <algorithm>
#include <array>

#include <fmt/format.h>

namespace pourwright {
namespace {

using namespace std::string_view_literals;

struct Mark {
  std::size_t at;
  std::string_view bytes;
  std::string_view name;
};
constexpr std::array marks{
    // ISO/IEC 10918-1 and JFIF; PNG (RFC 2083); GIF89a; TIFF 6.0; WebP and WAVE in RIFF; ISO/IEC 14496-12.
    Mark{0, "\xFF\xD8\xFF"sv, "a JPEG picture"},
    Mark{0, "\x89PNG\r\n\x1A\n"sv, "a PNG picture"},
    Mark{0, "GIF87a"sv, "a GIF picture"},
    Mark{0, "GIF89a"sv, "a GIF picture"},
    Mark{0, "II*\0"sv, "a TIFF picture"},
    Mark{0, "MM\0*"sv, "a TIFF picture"},
    Mark{8, "WEBPVP8"sv, "a WebP picture"},
    Mark{8, "WAVEfmt "sv, "a sound file"},
    Mark{8, "AVI LIST"sv, "a video"},
    Mark{4, "ftyphei"sv, "a HEIC picture"},
    Mark{4, "ftypmif"sv, "a HEIC picture"},
    Mark{4, "ftypavif"sv, "an AVIF picture"},
    Mark{4, "ftyp"sv, "a video"},
    Mark{0, "OggS\0"sv, "a sound file"},
    Mark{0, "fLaC\0"sv, "a sound file"},
    Mark{0, "\x1A\x45\xDF\xA3"sv, "a video"},
    // ISO 32000, PostScript, RTF, the compound files of old office programs, SQLite.
    Mark{0, "%PDF-"sv, "a PDF document"},
    Mark{0, "%!PS"sv, "a PostScript document"},
    Mark{0, "{\\rtf"sv, "an RTF document"},
    Mark{0, "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"sv, "an office document"},
    Mark{0, "SQLite format 3\0"sv, "a database"},
    // APPNOTE of ZIP; RFC 1952; bzip2; xz; RFC 8878; 7z; RAR; POSIX ustar.
    Mark{0, "PK\x03\x04"sv, "a ZIP archive"},
    Mark{0, "PK\x05\x06"sv, "an empty ZIP archive"},
    Mark{0, "\x1F\x8B\x08"sv, "a gzip archive"},
    Mark{0, "\xFD\x37zXZ\0"sv, "an xz archive"},
    Mark{0, "\x28\xB5\x2F\xFD"sv, "a Zstandard archive"},
    Mark{0, "7z\xBC\xAF\x27\x1C"sv, "a 7z archive"},
    Mark{0, "Rar!\x1A\x07"sv, "a RAR archive"},
    Mark{257, "ustar"sv, "a tar archive"},
    Mark{4, "1AY&SY"sv, "a bzip2 archive"},
    Mark{0, "\x7F\x45LF"sv, "a program"},
    // CAD exchange: ISO 10303-21, ISO/IEC 14772; the latter's comment is its header.
    Mark{0, "ISO-10303-21;"sv, "a STEP file"},
    Mark{0, "#VRML V"sv, "a VRML file"},
};

std::string lowered(std::string_view s) {
  std::string out(s);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::uint32_t little(std::string_view s, std::size_t at) {
  std::uint32_t v = 0;
  for (std::size_t i = 4; i-- > 0;) v = v << 8 | static_cast<unsigned char>(s[at + i]);
  return v;
}

/// The first element of a page of markup, behind its declaration and comments.
std::string_view markup_name(std::string_view head) {
  std::string text = lowered(head.substr(0, 4096));
  std::string_view rest = text;
  for (;;) {
    const std::size_t at = rest.find_first_not_of(" \t\r\n\v\f");
    if (at == std::string_view::npos || rest[at] != '<') return {};
    rest.remove_prefix(at);
    const bool comment = rest.starts_with("<!--");
    if (!comment && !rest.starts_with("<?xml")) break;
    const std::size_t end = rest.find(comment ? "-->" : "?>");
    if (end == std::string_view::npos) return {};
    rest.remove_prefix(end + (comment ? 3 : 2));
  }
  for (const std::string_view page : {"<!doctype html", "<html", "<head", "<body"})
    if (rest.starts_with(page)) return "a web page (HTML)";
  return rest.starts_with("<svg") || rest.starts_with("<!doctype svg") ? "an SVG picture" : "";
}

bool is_dxf(std::string_view head) {
  const std::size_t at = std::min(head.find_first_not_of(" \t\r\n"), head.size());
  const std::string_view text = head.substr(at);
  return text.starts_with("0\nSECTION") || text.starts_with("0\r\nSECTION");
}

}  // namespace

std::string_view content_name(std::string_view head, std::uint64_t size) {
  for (const Mark& m : marks)
    if (head.size() >= m.at + m.bytes.size() && head.substr(m.at, m.bytes.size()) == m.bytes) return m.name;
  // Two letters are too few: the size that the header states decides.
  if (head.size() >= 14 && head.starts_with("BM") && little(head, 2) == size) return "a BMP picture";
  if (head.size() >= 64 && head.starts_with("MZ") && little(head, 60) < 0x10000 &&
      head.substr(std::min<std::size_t>(little(head, 60), head.size()), 4) == "PE\0\0"sv)
    return "a program";
  if (head.size() > 4 && head.starts_with("ID3") && static_cast<unsigned char>(head[3]) < 0x10)
    return "a sound file";
  const std::string_view text = head.substr(head.starts_with("\xEF\xBB\xBF") ? 3 : 0);
  if (text.starts_with("%PDF-")) return "a PDF document";
  if (const std::string_view page = markup_name(text); !page.empty()) return page;
  if (is_dxf(text)) return "a DXF drawing";
  // Eighty-four of them are a binary STL without a triangle.
  if (size > 84 && std::all_of(head.begin(), head.end(), [](char c) { return c == '\0'; }))
    return "nothing but zero bytes";
  return {};
}

std::string content_hint(std::string_view content, std::string_view wanted) {
  if (content.ends_with("archive")) return fmt::format("unpack it, and name {} that is in it", wanted);
  if (content.starts_with("a web page"))
    return fmt::format("a page was saved in place of the file: download {} again", wanted);
  if (content.starts_with("nothing")) return fmt::format("it was not copied whole: copy {} again", wanted);
  return fmt::format("name {} itself; the file may have been renamed", wanted);
}

}  // namespace pourwright

// SPDX-License-Identifier: GPL-3.0-or-later
// The header of a PLY file: elements, their properties and counts. No count is believed that the rest of the
// file could not hold.
#include "geometry/intake/ply_header.hpp"

#include "geometry/intake/text_reader.hpp"

#include <array>

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

using enum PlyType;
struct TypeName {
  std::string_view word;
  PlyType type;
};
constexpr std::array type_names{
    TypeName{"char", int8},       TypeName{"int8", int8},       TypeName{"uchar", uint8},
    TypeName{"uint8", uint8},     TypeName{"short", int16},     TypeName{"int16", int16},
    TypeName{"ushort", uint16},   TypeName{"uint16", uint16},   TypeName{"int", int32},
    TypeName{"int32", int32},     TypeName{"uint", uint32},     TypeName{"uint32", uint32},
    TypeName{"float", float32},   TypeName{"float32", float32}, TypeName{"double", float64},
    TypeName{"float64", float64}, TypeName{"int64", int64},     TypeName{"uint64", uint64},
};

std::optional<PlyType> type_named(std::string_view word) {
  for (const TypeName& t : type_names)
    if (is_word(word, t.word)) return t.type;
  return std::nullopt;
}

/// The words of one line.
std::vector<std::string_view> split(std::string_view line) {
  std::vector<std::string_view> words;
  std::size_t i = 0;
  while (true) {
    i = line.find_first_not_of(" \t\v\f", i);
    if (i == std::string_view::npos) return words;
    const std::size_t end = std::min(line.find_first_of(" \t\v\f", i), line.size());
    words.push_back(line.substr(i, end - i));
    i = end;
  }
}

class HeaderReader {
 public:
  HeaderReader(std::string_view text, const Job& job) : rest_(text), job_(job) {}

  /// Header, and how many bytes it takes.
  Expected<std::pair<PlyHeader, std::size_t>> read() {
    const std::size_t all = rest_.size();
    const auto first = next_line(true);
    if (!first || split(*first).empty() || !is_word(split(*first)[0], "ply"))
      return wrong("the first line should be “ply”");
    while (true) {
      const auto line = next_line(false);
      if (!line) return cut_off(job_, "its header has no “end_header” line");
      const auto words = split(*line);
      if (words.empty() || is_word(words[0], "comment") || is_word(words[0], "obj_info")) continue;
      if (is_word(words[0], "end_header")) break;
      if (auto problem = take(words)) return *problem;
    }
    if (!encoding_) return wrong("there is no “format” line");
    header_.encoding = *encoding_;
    return std::pair{std::move(header_), all - rest_.size()};
  }

 private:
  Problem wrong(std::string_view what) const {
    return fail(
        Code::file_malformed,
        fmt::format("{}, header line {}: {}", job_.label, std::max<std::uint64_t>(1, header_.lines), what),
        "export the mesh again, or as STL");
  }

  /// All lines must end as the first does: after a lone CR a LF would be the first byte of the data.
  std::optional<std::string_view> next_line(bool first) {
    if (first) {
      const std::size_t at = std::min(rest_.find_first_of("\r\n"), rest_.size());
      line_end_ = rest_.substr(at, rest_.substr(at).starts_with("\r\n") ? 2 : 1);
    }
    const std::size_t at = line_end_.empty() ? std::string_view::npos : rest_.find(line_end_);
    if (at == std::string_view::npos) return std::nullopt;
    const std::string_view line = rest_.substr(0, at);
    rest_.remove_prefix(at + line_end_.size());
    ++header_.lines;
    return line;
  }

  std::optional<Problem> take(const std::vector<std::string_view>& words) {
    if (is_word(words[0], "format")) return take_format(words);
    if (is_word(words[0], "element")) return take_element(words);
    if (is_word(words[0], "property")) return take_property(words);
    return wrong(fmt::format("“{}” is not a header word", excerpt(words[0])));
  }

  std::optional<Problem> take_format(const std::vector<std::string_view>& words) {
    const std::string_view w = words.size() > 1 ? words[1] : std::string_view();
    if (is_word(w, "ascii"))
      encoding_ = PlyHeader::Encoding::ascii;
    else if (is_word(w, "binary_little_endian"))
      encoding_ = PlyHeader::Encoding::little;
    else if (is_word(w, "binary_big_endian"))
      encoding_ = PlyHeader::Encoding::big;
    else
      return wrong(fmt::format("unknown format “{}”", excerpt(w)));
    return std::nullopt;
  }

  std::optional<Problem> take_element(const std::vector<std::string_view>& words) {
    std::uint64_t count = 0;
    const bool fits =
        words.size() >= 3 && std::from_chars(words[2].data(), words[2].data() + words[2].size(), count) ==
                                 std::from_chars_result{words[2].data() + words[2].size(), std::errc{}};
    if (!fits) return wrong("an element needs a name and a count");
    if (header_.elements.size() >= 1000) return wrong("more than 1000 elements");
    header_.elements.push_back({std::string(words[1]), count, {}});
    return std::nullopt;
  }

  std::optional<Problem> take_property(const std::vector<std::string_view>& words) {
    if (header_.elements.empty()) return wrong("a property before any element");
    auto& properties = header_.elements.back().properties;
    if (properties.size() >= 1000) return wrong("more than 1000 properties");
    const bool list = words.size() > 1 && is_word(words[1], "list");
    if (words.size() < (list ? 5u : 3u)) return wrong("a property needs a type and a name");
    PlyProperty property;
    property.name = words[list ? 4 : 2];
    const auto type = type_named(words[list ? 3 : 1]);
    if (!type) return wrong(fmt::format("unknown type “{}”", excerpt(words[list ? 3 : 1])));
    property.type = *type;
    if (list) {
      property.count = type_named(words[2]);
      if (!property.count || *property.count >= float32)
        return wrong(fmt::format("“{}” cannot be the type of a list length", excerpt(words[2])));
    }
    properties.push_back(std::move(property));
    return std::nullopt;
  }

  std::string_view rest_, line_end_;
  const Job& job_;
  PlyHeader header_;
  std::optional<PlyHeader::Encoding> encoding_;
};

}  // namespace

std::size_t bytes_of(PlyType type) {
  constexpr std::array<std::size_t, 10> bytes{1, 1, 2, 2, 4, 4, 8, 8, 4, 8};
  return bytes[static_cast<std::size_t>(type)];
}

int PlyElement::find(std::initializer_list<std::string_view> names) const {
  for (std::size_t i = 0; i < properties.size(); ++i)
    for (const std::string_view n : names)
      if (is_word(properties[i].name, n)) return static_cast<int>(i);
  return -1;
}

std::uint64_t PlyElement::fewest_bytes() const {
  std::uint64_t sum = 0;
  for (const PlyProperty& p : properties) sum += bytes_of(p.count ? *p.count : p.type);
  return sum;
}

Expected<PlyHeader> read_ply_header(ByteWindow& bytes, const Job& job) {
  bytes.want(ByteWindow::capacity);
  std::string_view text(bytes.cursor, bytes.have());
  const std::size_t mark = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  auto read = HeaderReader(text.substr(mark), job).read();
  if (!read) return read.error();
  bytes.skip(mark + read->second);
  return std::move(read->first);
}

}  // namespace pourwright::intake

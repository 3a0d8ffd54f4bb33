// SPDX-License-Identifier: GPL-3.0-or-later
// What AMF, X3D and COLLADA say about their unit, read before Assimp is asked, which leaves some of it out.
#include "geometry/intake/more_formats.hpp"

#include "geometry/intake/scalars.hpp"
#include "geometry/intake/text_reader.hpp"
#include "geometry/intake/xml_reader.hpp"

#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

struct DeclaredUnit {
  double millimetres = 1;
  std::string_view problem;
};

/// AMF: ISO/ASTM 52915, attribute of the root. X3D: ISO/IEC 19775-1, metres unless a UNIT statement says
/// otherwise. COLLADA: `unit` in the first `asset`, metres by default.
class UnitFinder {
 public:
  UnitFinder(std::span<const std::byte> bytes, MeshFormat format)
      : format_(format), window_(memory_source(bytes), bytes.size()), xml_(window_) {}

  /// Millimetres per unit, or nothing when what is declared makes no sense.
  std::optional<double> find() {
    if (format_ == MeshFormat::amf) return next_start() ? amf_unit() : std::optional<double>(1);
    while (next_start()) {
      const std::string_view name = xml_.name();
      if (format_ == MeshFormat::collada && is_word(name, "unit") && is_word(xml_.above(0), "asset") &&
          xml_.depth() == 3)
        return number("meter");
      if (format_ == MeshFormat::x3d && is_word(name, "unit") && attribute("category") == "length")
        return number("conversionFactor");
      if (is_word(name, "scene") || is_word(name, "library_geometries")) break;
    }
    return 1000;
  }

 private:
  bool next_start() {
    XmlReader::Event event = xml_.next();
    while (event == XmlReader::Event::end) event = xml_.next();
    return event == XmlReader::Event::start;
  }
  std::string attribute(std::string_view wanted) {
    std::string found;
    xml_.attributes([&](std::string_view name, std::string_view value) {
      if (name == wanted) found = value;
    });
    return found;
  }
  std::optional<double> amf_unit() {
    const std::string word = attribute("unit");
    if (word.empty() || is_word(word, "millimeter") || is_word(word, "mm")) return 1;
    if (is_word(word, "inch") || is_word(word, "in")) return 25.4;
    if (is_word(word, "feet") || is_word(word, "foot") || is_word(word, "ft")) return 304.8;
    if (is_word(word, "meter") || is_word(word, "m")) return 1000;
    if (is_word(word, "micron") || is_word(word, "micrometer")) return 0.001;
    return std::nullopt;
  }
  /// Metres to millimetres. The product is rounded to 12 digits, so that 0.0254 m gives 25.4 mm.
  std::optional<double> number(std::string_view wanted) {
    const std::string text = attribute(wanted);
    if (text.empty()) return 1000;
    const std::string padded = text + std::string(16, '\0');  // the parser looks a little ahead
    const char* p = padded.c_str();
    double metres = 0;
    if (parse_double(p, metres) != Parsed::ok || !(metres > 1e-12 && metres < 1e12)) return std::nullopt;
    double millimetres = 0;
    const std::string rounded = fmt::format("{:.12g}", metres * 1000);
    std::from_chars(rounded.data(), rounded.data() + rounded.size(), millimetres);
    return millimetres;
  }

  MeshFormat format_;
  ByteWindow window_;
  XmlReader xml_;
};

void set_unit(MeshFile& result, double millimetres) {
  result.unit_from = UnitFrom::file;
  using enum LengthUnit;
  for (const LengthUnit unit : {mm, cm, m, in, ft})
    if (millimetres_in(unit) == millimetres) {
      result.unit = unit;
      return;
    }
  note(result.notes, "unit-other",
       fmt::format("the file's unit is {} mm; lengths were converted", millimetres));
}

bool declares_z_up(std::span<const std::byte> bytes) {
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  return text.find("Z_UP") != std::string_view::npos;
}

void put_word(std::vector<std::byte>& out, std::size_t word) {
  for (int shift = 0; shift < 32; shift += 8) out.push_back(static_cast<std::byte>(word >> shift & 0xFF));
}

/// Chunks of a GLB file start at multiples of four bytes (glTF 2.0, section 4.4). Some exporters forget to
/// pad the text; such a file is put in order. Empty when there is nothing to do or no hope.
std::vector<std::byte> padded_glb(std::span<const std::byte> bytes) {
  constexpr std::size_t text_at = 20;
  const char* const data = reinterpret_cast<const char*>(bytes.data());
  if (bytes.size() < text_at) return {};
  const std::size_t text = load_scalar<std::uint32_t, std::endian::little>(data + 12);
  if (text % 4 == 0 || text > bytes.size() - text_at) return {};
  const std::size_t padding = 4 - text % 4;
  std::vector<std::byte> out;
  out.reserve(bytes.size() + padding);
  out.assign(bytes.begin(), bytes.begin() + 8);
  put_word(out, bytes.size() + padding);
  put_word(out, text + padding);
  const auto rest = bytes.begin() + static_cast<std::ptrdiff_t>(text_at + text);
  out.insert(out.end(), bytes.begin() + 16, rest);
  out.insert(out.end(), padding, std::byte{' '});
  out.insert(out.end(), rest, bytes.end());
  return out;
}

struct Choice {
  std::string_view importer, ending;
};
Choice choice_for(MeshFormat format) {
  switch (format) {
    case MeshFormat::gltf:
      return {"glTF2", ".gltf"};
    case MeshFormat::glb:
      return {"glTF2", ".glb"};
    case MeshFormat::amf:
      return {"AMF", ".amf"};
    case MeshFormat::x3d:
      return {"X3D", ".x3d"};
    default:
      return {"Collada", ".dae"};
  }
}

}  // namespace

Expected<MeshFile> read_more(std::span<const std::byte> bytes, MeshFormat format, const Job& job) {
  double millimetres = 1000;  // glTF 2.0, section 3.4: metres
  if (format != MeshFormat::gltf && format != MeshFormat::glb) {
    const auto declared = UnitFinder(bytes, format).find();
    if (!declared)
      return fail(Code::file_malformed,
                  fmt::format("{}: the unit that the file declares is not known", job.label),
                  "say the unit with --unit, or export the mesh again");
    millimetres = *declared;
  }
  double scale = job.unit ? job.scale() : millimetres;
  // Assimp has multiplied COLLADA by its unit in metres, in single precision; take that out again.
  if (format == MeshFormat::collada) scale /= static_cast<double>(static_cast<float>(millimetres / 1000));
  const Choice choice = choice_for(format);
  const std::vector<std::byte> mended =
      format == MeshFormat::glb ? padded_glb(bytes) : std::vector<std::byte>();
  Expected<MeshFile> result = read_with_assimp(mended.empty() ? bytes : std::span<const std::byte>(mended),
                                               choice.importer, choice.ending, job, scale);
  if (!result) return result;
  result->format = format;
  if (!job.unit) set_unit(*result, millimetres);
  const bool y_up = format != MeshFormat::amf && !(format == MeshFormat::collada && declares_z_up(bytes));
  if (y_up)
    note(result->notes, "y-up",
         fmt::format(
             "{} files have +y up unless they say otherwise; if the mold lies on its side, use --up +y",
             info_of(format).name));
  return result;
}

}  // namespace pourwright::intake

// SPDX-License-Identifier: GPL-3.0-or-later
// Molds measured for a production run.
#include <pourwright/cavity.hpp>
#include <pourwright/pipeline_run.hpp>

#include "pipeline/measure.hpp"

#include <algorithm>
#include <map>
#include <tuple>

namespace pourwright {
namespace {

using Reading = std::tuple<std::string, std::string, std::string, std::string, std::string>;

Reading reading(const MoldSource& s) {
  return {s.fill, s.fill_to, s.read_as, s.unit, s.up};
}

std::optional<Point> axis(const std::string& text) {
  static constexpr std::string_view axes = "xyz";
  const std::string sign_and_letter = text.size() == 1 ? "+" + text : text;
  if (sign_and_letter.size() != 2 || axes.find(sign_and_letter[1]) == std::string_view::npos)
    return std::nullopt;
  if (sign_and_letter[0] != '+' && sign_and_letter[0] != '-') return std::nullopt;
  Point p{0, 0, 0};
  p[axes.find(sign_and_letter[1])] = sign_and_letter[0] == '+' ? 1 : -1;
  return p;
}

Problem not_a(std::string_view key, const std::string& value, std::string hint) {
  return fail(Code::config_bad_value, "“" + value + "” is not a value of “" + std::string(key) + "”",
              std::move(hint));
}

/// The settings with what the mold says itself.
Expected<MeasureSettings> settings_for(const MoldSource& s, MeasureSettings m) {
  if (!s.fill.empty() && s.fill != "brim") m.fill = s.fill;
  if (!s.fill_to.empty()) {
    if (const auto parsed = parse_fill_to(s.fill_to); !parsed)
      return not_a("fill-to", s.fill_to, parsed.error().hint);
    m.fill_to = s.fill_to;
  }
  if (!s.read_as.empty()) {
    const std::map<std::string, ReadAs> known{
        {"mold", ReadAs::mold}, {"piece", ReadAs::piece}, {"scan", ReadAs::scan}};
    if (known.count(s.read_as) == 0) return not_a("read-as", s.read_as, "write mold, piece or scan");
    m.read_as = known.at(s.read_as);
  }
  if (!s.unit.empty()) {
    const auto unit = parse_length_unit(s.unit);
    if (!unit) return unit.error();
    m.unit = *unit;
  }
  if (!s.up.empty()) {
    const auto up = axis(s.up);
    if (!up) return not_a("up", s.up, "write +z, -y and the like");
    m.up = *up;
  }
  if (const auto problem = problem_with(m)) return *problem;
  return m;
}

/// A file of the piece, or a scan of the inside alone, does not show how large the mold is; nor does one that
/// stands askew.
std::optional<std::array<Length, 2>> stands(const MeasureRow& row) {
  if (!row.bounds || row.read_as != "mold") return std::nullopt;
  std::vector<Length> sides;
  for (std::size_t k = 0; k < 3; ++k)
    if (row.up[k] == 0) sides.push_back(millimetres((*row.bounds)[1][k] - (*row.bounds)[0][k]));
  if (sides.size() != 2 || !(std::min(sides[0], sides[1]) > Length())) return std::nullopt;
  return std::array<Length, 2>{sides[0], sides[1]};
}

Expected<MoldVolume> volume_of(const Measured& m) {
  if (m.row.error) return *m.row.error;
  if (!m.fill || !(m.fill->value > Volume()))
    return fail(Code::holds_nothing, "nothing in this mold holds liquid in the position given",
                "check up, or set read-as to piece when the file is the piece itself");
  return MoldVolume{*m.fill, std::max(1, static_cast<int>(m.cavities_filled)), m.row.notes, stands(m.row)};
}

}  // namespace

MeasureMolds measuring(const MeasureSettings& settings) {
  return [settings](const std::vector<MoldSource>& sources) {
    std::vector<Expected<MoldVolume>> out(sources.size(), Problem{});
    // Molds that are read alike are measured side by side.
    std::map<Reading, std::vector<std::size_t>> alike;
    for (std::size_t i = 0; i < sources.size(); ++i) alike[reading(sources[i])].push_back(i);
    for (const auto& [how, molds] : alike) {
      const auto own = settings_for(sources[molds.front()], settings);
      if (!own) {
        for (const std::size_t i : molds) out[i] = own.error();
        continue;
      }
      std::vector<FoundFile> files;
      for (const std::size_t i : molds) {
        std::vector<FoundFile> found = find_files({sources[i].file.string()});
        files.push_back(std::move(found.front()));
      }
      measure_all(files, *own,
                  [&, &molds = molds](std::size_t k, const Measured& m) { out[molds[k]] = volume_of(m); });
    }
    return out;
  };
}

Expected<RunReport> run_from_folder(const std::filesystem::path& folder, const RunSettings& settings,
                                    const MeasureMolds& measure) {
  std::vector<std::filesystem::path> molds;
  for (const FoundFile& f : find_files({folder.string()})) {
    if (f.problem) return *f.problem;
    molds.push_back(f.path);
  }
  return run_from_molds(molds, settings, measure);
}

}  // namespace pourwright

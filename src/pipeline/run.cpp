// SPDX-License-Identifier: GPL-3.0-or-later
// Molds measured for a production run.
#include <pourwright/pipeline_run.hpp>

#include "pipeline/measure.hpp"

#include <algorithm>
#include <map>

namespace pourwright {
namespace {

/// The settings with what the mold says itself.
MeasureSettings settings_for(const MoldReading& how, MeasureSettings m) {
  if (how.fill) m.fill = *how.fill;
  if (how.fill_to) m.fill_to = *how.fill_to;
  if (how.read_as) m.read_as = *how.read_as;
  if (!m.read_as) m.read_as = how.usual_reading;
  if (how.unit) m.unit = *how.unit;
  if (how.up) m.up = *how.up, m.up_given = true, m.find_up = m.level_rim = false;
  return m;
}

/// A file of the piece, or a scan of the inside alone, does not show how large the mold is; nor does one that
/// stands askew.
std::optional<std::array<Length, 2>> stands(const MeasureRow& row) {
  if (!row.bounds || !row.read_as(Reading::mold)) return std::nullopt;
  std::vector<Length> sides;
  for (std::size_t k = 0; k < 3; ++k)
    if (row.up[k] == 0) sides.push_back(millimetres((*row.bounds)[1][k] - (*row.bounds)[0][k]));
  if (sides.size() != 2 || !(std::min(sides[0], sides[1]) > Length())) return std::nullopt;
  return std::array<Length, 2>{sides[0], sides[1]};
}

Expected<MoldVolume> volume_of(const Measured& m) {
  if (m.row.error) return *m.row.error;
  if (auto problem = holds_nothing(m.row)) return *problem;
  if (auto problem = in_doubt(m.row)) return *problem;
  return MoldVolume{*m.row.fill, std::max(1, static_cast<int>(m.cavities_filled)), m.row.notes,
                    stands(m.row)};
}

}  // namespace

MeasureMolds measuring(const MeasureSettings& settings) {
  return [settings](const std::vector<MoldSource>& sources) {
    std::vector<Expected<MoldVolume>> out(sources.size(), Problem{});
    // Molds that are read alike are measured side by side.
    std::map<MoldReading, std::vector<std::size_t>> alike;
    for (std::size_t i = 0; i < sources.size(); ++i) alike[sources[i].how].push_back(i);
    for (const auto& [how, molds] : alike) {
      std::vector<FoundFile> files;
      for (const std::size_t i : molds) {
        std::vector<FoundFile> found = find_files({sources[i].file.string()});
        files.push_back(std::move(found.front()));
      }
      measure_all(files, settings_for(how, settings),
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

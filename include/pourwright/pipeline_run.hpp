// SPDX-License-Identifier: GPL-3.0-or-later
// Production runs and price lists as one call each.
#pragma once

#include <pourwright/pipeline.hpp>
#include <pourwright/report_run.hpp>

#include <array>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

struct RunSettings {
  MixSettings mix;
  std::optional<Mass> mixer_max;  ///< overrides the bucket of a run file
  int copies = 1;                 ///< of every mold of a folder: owned and wanted
};

/// How a mold's mesh is to be read; nothing means the usual.
struct MoldReading {
  std::optional<FillLevel> fill;
  std::optional<FillTo> fill_to;
  std::optional<Reading> read_as;
  std::optional<Reading> usual_reading;  ///< the workshop's, where neither this nor the settings say one
  std::optional<LengthUnit> unit;
  std::optional<Point> up;
  auto operator<=>(const MoldReading&) const = default;
};
struct MoldSource {
  std::filesystem::path file;
  MoldReading how;
};
/// What one pour of it takes.
struct MoldVolume {
  Interval<Volume> fill;
  int cavities = 1;
  Notes notes;
  /// Width and depth of what stands on the shelf, when the file shows the mold itself.
  std::optional<std::array<Length, 2>> stands = {};
  bool by_name = false;  ///< there is no file: known by its water fills
};
/// Measures meshes; in the same order. Who has no geometry wing answers with problems.
using MeasureMolds = std::function<std::vector<Expected<MoldVolume>>(const std::vector<MoldSource>&)>;

/// A table of pieces and their grams, packed into batches of at most settings.mixer_max. The grams are taken
/// as they are; an allowance is added when settings.mix gives one.
Expected<RunReport> run_pieces(const std::filesystem::path& csv, const RunSettings& settings);

/// Everything a run file asks for. A mold that cannot be measured is an entry in `errors`.
Expected<RunReport> run_from_file(const std::filesystem::path& file, const RunSettings& settings,
                                  const MeasureMolds& measure);
/// Molds by themselves, each wanted and owned `settings.copies` times. Without a mixer_max a batch is what
/// the largest scale of the workshop carries.
Expected<RunReport> run_from_molds(const std::vector<std::filesystem::path>& molds,
                                   const RunSettings& settings, const MeasureMolds& measure);

/// The price list of a run file. Changes are "NAME.price=1.30" for a supply (also powder and liquid) or one
/// of the keys of [price], like "labour=30" or "margin=45%".
Expected<PriceReport> prices_from_file(const std::filesystem::path& file, const RunSettings& settings,
                                       const std::vector<std::string>& changes, const MeasureMolds& measure);

/// Whole or not at all. An existing file is replaced only when `overwrite` says so; one that holds the text
/// already is left as it is.
std::optional<Problem> write_file(const std::filesystem::path& path, std::string_view text, bool overwrite);

// ---- with the geometry wing ----------------------------------------------------------------------------

/// Measures with these settings, but for what a mold says itself.
MeasureMolds measuring(const MeasureSettings& settings);
/// A folder's molds, or those of a run file's.
Expected<RunReport> run_from_folder(const std::filesystem::path& folder, const RunSettings& settings,
                                    const MeasureMolds& measure);

}  // namespace pourwright

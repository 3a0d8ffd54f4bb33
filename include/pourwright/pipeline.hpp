// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job as one call each: what to do goes in as settings, a report comes out. The shells call only
// this.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/report.hpp>

#include <array>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

// ---- the workshop's side: always there -----------------------------------------------------------------

/// How the workshop of a command was found. What was only found gives way to one that a run or plan file
/// names.
enum class WorkshopFrom : std::uint8_t {
  named,       ///< by the command, or not at all
  beside,      ///< it lies where the file lies
  remembered,  ///< by `setup`
  left,        ///< expressly none
};

/// How a mix is chosen and weighed.
struct MixSettings {
  std::filesystem::path workshop;  ///< folder of *.toml catalogues; empty: built-in only
  WorkshopFrom workshop_from = WorkshopFrom::named;
  std::string material;  ///< name or key; empty: the catalogue's default
  std::optional<Ratio> ratio;
  std::optional<Density> density;
  std::optional<Ratio> allowance;
  std::optional<Mass> scale_step;
  std::vector<PigmentDose> pigments;
  std::filesystem::path ledger;     ///< the workshop's records; empty or missing: nothing is learned
  Ratio risk = Ratio::percent(1);   ///< stated chance of running short, when no allowance is given
  int cups = 1;                     ///< the batch is mixed in
  std::optional<Temperature> room;  ///< nothing: the workshop's usual one, else that of the catalogue's times
  std::optional<Mass> cup;          ///< what the mixing cup weighs
  std::optional<Mass> residue;      ///< what stays in every cup that is poured from
  std::optional<Mass> liquid;       ///< already in the cup: of a card
  double max_uncertainty = 0.1;     ///< records that leave a larger half width than this share are no answer
};

/// With the workshop that a run or plan file names, unless the command named one or expressly none. Records
/// are that workshop's then.
MixSettings with_workshop_of_file(MixSettings settings, const std::filesystem::path& workshop);

/// The catalogue's mix with the settings' overrides applied. Notes say what was overridden.
struct ChosenMix {
  Mix mix;  ///< as it behaves in the room
  Mass scale_step;
  std::optional<Ratio> allowance;  ///< that the user has fixed; nothing: the forecast's
  Notes notes;
  Notes room_notes;               ///< those of `notes` about what the room does to times
  bool density_given = false;     ///< by density or ratio on the command line: not to be overruled
  std::string scale;              ///< the one of `scale_step`; empty: not known by name
  std::vector<Scale> scales;      ///< the workshop's own; empty when it names none, or a step was given
  std::vector<Pigment> pigments;  ///< that are known
  std::vector<LeftoverMold> leftovers;
  std::vector<SupplyPrice> supplies;
  Habits habits;
  std::optional<Temperature> room;  ///< nothing: not said
};
Expected<ChosenMix> choose_mix(const MixSettings& settings);

struct MixRequest {  ///< exactly one of the three
  std::optional<Volume> volume;
  std::optional<Mass> total;
  std::optional<Mass> liquid;
};
struct MixResult {
  ChosenMix chosen;
  MixReport report;
};
Expected<MixResult> mix(const MixRequest& request, const MixSettings& settings);

// ---- with the geometry wing ----------------------------------------------------------------------------

enum class Only : std::uint8_t { all, solid, cavities };

/// What one file may take. Each is measured in a child process, so that no file can end the run.
struct FileLimits {
  /// Of the processor; ten times as much by the clock. Zero: ten minutes.
  Duration time;
  std::int64_t memory = 0;  ///< bytes of address space; zero: no limit
};

/// Walls and release, when they are asked for.
struct Inspection {
  Length limit = millimetres(3);  ///< thinner than this is thin
  bool of_mold = false;           ///< the mold's own walls instead of the piece's
  std::optional<Point> pull;      ///< nothing: out of the opening
  double stretch = 0.5;           ///< a flexible mold bears to be widened by this share
  bool in_short =
      false;  ///< for a card: few samples, no search for better pulls, and no mesh above 200,000 triangles
};

struct MeasureSettings {
  std::optional<LengthUnit> unit;
  /// What the workshop's molds take, least and most: what lies far outside is read in the wrong unit.
  std::optional<std::array<Volume, 2>> usual;
  bool more_formats = false;
  std::optional<Reading> read_as;  ///< nothing: the evidence decides
  Point up{0, 0, 1};
  bool up_given = false;           ///< then no other way is looked at
  bool find_up = false;            ///< --up auto
  bool level_rim = false;          ///< --up rim: stood so that the plane of its rim is level
  std::optional<KnownSize> known;  ///< for scans without a scale
  std::vector<double> tilts;       ///< bench tilts in degrees to try
  bool find_lean = false;          ///< look for the lean that lets caught air out
  std::size_t tilt_limit = 0;      ///< only for meshes of at most so many triangles; 0: any
  FillLevel fill;
  FillTo fill_to;
  bool dips = false;  ///< lists dips too small to be cavities too
  Only only = Only::all;
  CloseHoles close_holes;
  std::optional<Length> gap;  ///< bodies nearer than this are joined; zero: those that touch; nothing: decide
  double max_uncertainty = 0.1;  ///< a half width above this share of a volume is no answer
  bool keep_mesh = false;        ///< keeps the mesh as measured, and the cast pieces, for writing
  bool without_air = false;      ///< cast pieces lack what caught air keeps out
  bool without_film = false;     ///< and the film over a level rim, as an inspection's do
  std::optional<Inspection> inspection;
  bool quick = false;  ///< leaves out the self-overlap proof and says so
  int jobs = 0;        ///< files at once; 0: one per core

  // How it is done; none of it changes what is measured.
  std::filesystem::path cache;  ///< folder where measured files are remembered; empty: nowhere
  std::string program;          ///< which build measures; another build's entries are not read
  FileLimits limits;            ///< of one file
  std::function<void(std::size_t done, std::size_t all)> progress;
};

struct CardSettings {
  MeasureSettings measure;
  MixSettings mix;
  int copies = 1;
  bool fill_table = false;  ///< level, volume and free surface of every filled cavity
  bool may_ask = false;     ///< somebody can answer: a file in doubt is a question, not an error
};

/// Files named on a command line, folders walked in sorted order; names as terminals drop them (quotes,
/// file://, a trailing blank) are understood. A name that does not exist, or a folder without meshes, is an
/// entry with a Problem, so that it does not keep the others from being measured.
struct FoundFile {
  std::filesystem::path path;
  int copies = 0;  ///< from "mold.stl:6"; 0: not said
  std::optional<Problem> problem = {};
  bool by_name = false;  ///< there is no file: `path` is the name under which water fills are recorded
};
std::vector<FoundFile> find_files(const std::vector<std::string>& arguments);

/// Measures every file; one that fails is a row with an error. Rows come in the order of `files` for any
/// `jobs`.
MeasureReport measure_files(const std::vector<FoundFile>& files, const MeasureSettings& settings);

/// What `mend` did.
struct MendResult {
  MeasureRow row;                    ///< of the file as it was read
  std::vector<std::string> written;  ///< names of the files made
};

/// Writes the mesh as it was measured, closed and united, or with `piece` the body cast in each filled
/// cavity, as STL, PLY or OBJ by the name's ending. Several pieces get -1, -2, … before the ending. Never
/// overwrites unless told to.
Expected<MendResult> mend(const FoundFile& file, const std::filesystem::path& out, bool piece, bool overwrite,
                          const MeasureSettings& settings);

/// Measures and weighs. Fails as a whole only when the mix or a setting is wrong.
Expected<CardReport> pour_card(const std::vector<FoundFile>& files, const CardSettings& settings);

}  // namespace pourwright
